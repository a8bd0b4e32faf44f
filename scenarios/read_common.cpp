#include <fmt/format.h>

#include <algorithm>
#include <iterator>

#include "scenarios/message_text.hpp"
#include "scenarios/sections.hpp"

namespace torsowave::scenarios {

TissueNames::TissueNames(std::vector<materials::Tissue> custom,
                         std::vector<std::string> names)
    : custom_(std::move(custom))
{
  for (const materials::Tissue& tissue : materials::tissue_library()) {
    names_.push_back(tissue.name);
  }
  std::ranges::move(names, std::back_inserter(names_));
}

bool TissueNames::is_known(const std::string& name) const
{
  return std::ranges::find(names_, name) != names_.end();
}

bool TissueNames::is_conductor(const std::string& name) const
{
  const auto own = std::ranges::find(custom_, name, &materials::Tissue::name);
  if (own != custom_.end()) {
    return materials::is_conductor(*own);
  }
  const materials::Tissue* tissue = materials::find_tissue(name);
  return tissue != nullptr && materials::is_conductor(*tissue);
}

std::optional<std::string> TissueNames::read(const Value& value) const
{
  std::optional<std::string> name = value.text("the name of a tissue");
  if (!name || is_known(*name)) {
    return name;
  }
  value.fault(
      fmt::format("unknown tissue {}{}; accepted: the names that `torsowave tissue` "
                  "lists and those under materials.custom",
                  in_quotes(*name), hint(*name, names_)));
  return std::nullopt;
}

std::optional<geometry::Point> read_point(const Value& value)
{
  const auto items =
      value.items("a list of two lengths [x, y], e.g. [12 mm, -38 mm]", 2, 2);
  if (!items) {
    return std::nullopt;
  }
  const auto x = (*items)[0].quantity(Dimension::length, any_length);
  const auto y = (*items)[1].quantity(Dimension::length, any_length);
  if (!x || !y) {
    return std::nullopt;
  }
  return geometry::Point{*x, *y};
}

void not_in_this_version(const Value& value, std::string_view what,
                         std::string_view instead)
{
  value.fault(
      fmt::format("{} not available in this version; available: {}", what, instead));
}

}  // namespace torsowave::scenarios
