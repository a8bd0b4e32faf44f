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

const materials::Tissue* TissueNames::find(const std::string& name) const
{
  const auto own = std::ranges::find(custom_, name, &materials::Tissue::name);
  return own != custom_.end() ? &*own : materials::find_tissue(name);
}

bool TissueNames::is_conductor(const std::string& name) const
{
  const materials::Tissue* tissue = find(name);
  return tissue != nullptr && materials::is_conductor(*tissue);
}

bool TissueNames::is_lossless(const std::string& name) const
{
  const materials::Tissue* tissue = find(name);
  const auto* medium =
      tissue == nullptr ? nullptr : std::get_if<materials::DebyeMedium>(&tissue->model);
  return medium != nullptr && medium->conductivity() == 0.0 &&
         std::ranges::all_of(medium->poles(), [](const materials::DebyePole& pole) {
           return pole.strength == 0.0;
         });
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

std::string_view mode_name(Mode mode)
{
  return mode == Mode::one_d ? "1D" : mode == Mode::tmz ? "TMz" : "TEz";
}

const std::vector<std::string>& field_names(Mode mode)
{
  static const std::vector<std::string> one_d{"Ez", "Hy"};
  static const std::vector<std::string> tmz{"Ez", "Hx", "Hy"};
  static const std::vector<std::string> tez{"Hz", "Ex", "Ey"};
  return mode == Mode::one_d ? one_d : mode == Mode::tmz ? tmz : tez;
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

std::optional<geometry::Point> read_position(const Value& value, Mode mode)
{
  if (mode != Mode::one_d) {
    return read_point(value);
  }
  std::optional<double> x;
  if (value && value.kind() == Node::Kind::sequence) {
    const auto items =
        value.items("one length in mode 1D, the x, e.g. 12 mm or [12 mm]", 1, 1);
    x = items ? items->front().quantity(Dimension::length, any_length) : std::nullopt;
  } else {
    x = value.quantity(Dimension::length, any_length);
  }
  return x ? std::optional{geometry::Point{*x, 0.0}} : std::nullopt;
}

}  // namespace torsowave::scenarios
