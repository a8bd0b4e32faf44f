#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "scenarios/message_text.hpp"
#include "scenarios/sections.hpp"

namespace torsowave::scenarios {
namespace {

std::optional<std::array<double, 2>> read_band(const Value& value)
{
  const auto items =
      value.items("a list of two frequencies, e.g. [0.3 GHz, 6 GHz]", 2, 2);
  if (!items) {
    return std::nullopt;
  }
  const auto from = (*items)[0].quantity(Dimension::frequency, positive_frequency);
  const auto to = (*items)[1].quantity(Dimension::frequency, positive_frequency);
  if (!from || !to) {
    return std::nullopt;
  }
  if (*from >= *to) {
    value.fault("the band must rise; write the lower frequency first");
    return std::nullopt;
  }
  return std::array{*from, *to};
}

std::optional<int> read_poles(const Value& value)
{
  constexpr int automatic = -1;
  const auto poles = value.choice<int>(
      {{"auto", automatic}, {"0", 0}, {"1", 1}, {"2", 2}, {"3", 3}, {"4", 4}});
  return poles == automatic ? std::nullopt : poles;
}

void read_fit(const Value& value, MaterialsSpec& spec)
{
  Section fit(value);
  spec.fit_band = read_band(fit.get("band"));
  spec.fit_poles = read_poles(fit.get("poles"));
  assign(spec.fit_max_error,
         fit.get("max_error")
             .quantity(Dimension::fraction,
                       {0.0, 1.0, true, "greater than 0 and at most 100 %"}));
  fit.reject_others();
}

constexpr Range any_scale{0.01, 100.0, false, "a bare number from 0.01 to 100"};

/// The library's tissue or the scenario's own; null where there is none.
const materials::Tissue* find_material(const std::vector<materials::Tissue>& custom,
                                       const std::string& name)
{
  const auto own = std::ranges::find(custom, name, &materials::Tissue::name);
  return own != custom.end() ? &*own : materials::find_tissue(name);
}

std::vector<std::string> material_names(const std::vector<std::string>& custom)
{
  std::vector<std::string> all = custom;
  for (const materials::Tissue& tissue : materials::tissue_library()) {
    all.push_back(tissue.name);
  }
  return all;
}

void scale(const Value& value, materials::Tissue& tissue)
{
  Section section(value);
  if (materials::is_conductor(tissue)) {
    value.fault("is a perfect conductor: it has nothing to scale; remove it here");
    return;
  }
  assign(tissue.permittivity_scale, section.get("permittivity").number(any_scale));
  assign(tissue.conductivity_scale, section.get("conductivity").number(any_scale));
  section.reject_others();
}

/// Materials that differ from their data by factors. A scaled tissue of the library
/// becomes one of the scenario's own, under the same name: those come first.
/// \param names  of all custom materials, faulty ones included
void read_scale(const Value& value, const std::vector<std::string>& names,
                std::vector<materials::Tissue>& custom)
{
  Section section(value);
  for (const auto& [name, item] : section.all()) {
    if (const materials::Tissue* found = find_material(custom, name)) {
      materials::Tissue tissue = *found;
      scale(item, tissue);
      std::erase_if(custom, [&](const auto& own) { return own.name == tissue.name; });
      custom.push_back(std::move(tissue));
    } else if (std::ranges::find(names, name) == names.end()) {
      item.fault(
          fmt::format("unknown tissue {}{}; accepted: the names that `torsowave "
                      "tissue` lists and those under materials.custom",
                      in_quotes(name), hint(name, material_names(names))));
    }
  }
}

}  // namespace

MaterialsSpec read_materials(const Value& value, std::vector<std::string>& names)
{
  MaterialsSpec spec;
  Section section(value);
  read_fit(section.get("fit"), spec);
  spec.custom = read_custom(section.get("custom"), names);
  read_scale(section.get("scale"), names, spec.custom);
  section.reject_others();
  return spec;
}

}  // namespace torsowave::scenarios
