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

}  // namespace

MaterialsSpec read_materials(const Value& value, std::vector<std::string>& names)
{
  MaterialsSpec spec;
  Section section(value);
  read_fit(section.get("fit"), spec);
  spec.custom = read_custom(section.get("custom"), names);
  section.reject_others();
  return spec;
}

}  // namespace torsowave::scenarios
