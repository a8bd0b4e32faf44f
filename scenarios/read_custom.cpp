#include <fmt/format.h>

#include <algorithm>

#include "scenarios/message_text.hpp"
#include "scenarios/sections.hpp"

namespace torsowave::scenarios {
namespace {

constexpr std::size_t max_custom_poles = 16;
constexpr Range any_permittivity{1.0, 1e9, false, "a bare number from 1 to 1e9"};
constexpr Range any_strength{0.0, 1e9, false, "a bare number from 0 to 1e9"};
constexpr Range any_conductivity{0.0, 1e9, false, "from 0 to 1e9 S/m"};
constexpr Range any_density{0.0, 1e6, true, "greater than 0 and at most 1e6 kg/m3"};

bool is_name(const std::string& text)
{
  const auto is_lower = [](char c) { return c >= 'a' && c <= 'z'; };
  const auto is_rest = [&](char c) {
    return is_lower(c) || (c >= '0' && c <= '9') || c == '_';
  };
  return !text.empty() && text.size() <= 64 && is_lower(text.front()) &&
         std::ranges::all_of(text, is_rest);
}

std::optional<materials::DebyePole> read_pole(const Value& value)
{
  Section section(value);
  const auto delta = section.require("delta", "70").number(any_strength);
  const auto tau =
      section.require("tau", "8.3 ps").quantity(Dimension::time, positive_time);
  section.reject_others();
  if (!delta || !tau) {
    return std::nullopt;
  }
  return materials::DebyePole{*delta, *tau};
}

std::optional<std::vector<materials::DebyePole>> read_pole_list(const Value& value)
{
  const auto items = value.items(
      "a list of 1 to 16 poles, e.g. [{delta: 70, tau: 8.3 ps}]", 1, max_custom_poles);
  if (!items) {
    return std::nullopt;
  }
  std::vector<materials::DebyePole> poles;
  for (const Value& item : *items) {
    if (const auto pole = read_pole(item)) {
      poles.push_back(*pole);
    }
  }
  return poles.size() == items->size() ? std::optional{poles} : std::nullopt;
}

/// The density stands beside the model or, for a Debye medium, within it.
void read_density(Section& section, materials::Tissue& tissue)
{
  const Value value = section.get("density");
  if (!value) {
    return;
  }
  if (tissue.density) {
    value.fault("the density is given twice; keep one of them");
    return;
  }
  tissue.density = value.quantity(Dimension::density, any_density);
  if (tissue.density) {
    tissue.density_source = "scenario";
  }
}

bool read_debye(const Value& value, materials::Tissue& tissue)
{
  Section section(value);
  const auto eps_inf =
      section.require("permittivity_infinity", "5").number(any_permittivity);
  const Value sigma_value = section.get("conductivity");
  const auto sigma = sigma_value.quantity(Dimension::conductivity, any_conductivity);
  const auto poles =
      read_pole_list(section.require("poles", "[{delta: 70, tau: 8.3 ps}]"));
  read_density(section, tissue);
  section.reject_others();
  if (!eps_inf || !poles || (sigma_value && !sigma)) {
    return false;
  }
  tissue.model = materials::DebyeMedium(*eps_inf, sigma.value_or(0.0), *poles);
  return true;
}

bool read_flat(Section& section, materials::Tissue& tissue)
{
  const auto eps = section.require("permittivity", "52.7").number(any_permittivity);
  const Value sigma_value = section.get("conductivity");
  const auto sigma = sigma_value.quantity(Dimension::conductivity, any_conductivity);
  if (!eps || (sigma_value && !sigma)) {
    return false;
  }
  tissue.model = materials::DebyeMedium(*eps, sigma.value_or(0.0), {});
  return true;
}

bool read_conductor(const Value& value, materials::Tissue& tissue)
{
  tissue.model = materials::PerfectConductor{};
  return value.word({"perfect"}).has_value();
}

/// Which of the three descriptions a material has decides which keys it accepts.
std::optional<materials::Tissue> read_tissue(const std::string& name, const Value& value)
{
  materials::Tissue tissue;
  tissue.name = name;
  tissue.display_name = name;
  tissue.source = "scenario";
  Section section(value);
  if (!section) {
    return std::nullopt;
  }
  const Value kind = section.exactly_one({"permittivity", "debye", "conductor"});
  if (!kind) {
    return std::nullopt;
  }
  bool sound = false;
  if (kind.path() == section.path_of("debye")) {
    sound = read_debye(kind, tissue);
  } else if (kind.path() == section.path_of("conductor")) {
    sound = read_conductor(kind, tissue);
  } else {
    sound = read_flat(section, tissue);
  }
  read_density(section, tissue);
  section.reject_others();
  return sound ? std::optional{tissue} : std::nullopt;
}

void check_name(const std::string& name, const Value& value)
{
  if (!is_name(name)) {
    value.fault(
        fmt::format("{} is not a name for a material; write small letters, digits "
                    "and _, a letter first, at most 64",
                    in_quotes(name)));
  } else if (materials::find_tissue(name) != nullptr) {
    value.fault(
        fmt::format("the library has a tissue {}; choose another name", in_quotes(name)));
  }
}

}  // namespace

std::vector<materials::Tissue> read_custom(const Value& value,
                                           std::vector<std::string>& names)
{
  std::vector<materials::Tissue> tissues;
  Section section(value);
  for (const auto& [name, item] : section.all()) {
    check_name(name, item);
    names.push_back(name);
    if (auto tissue = read_tissue(name, item)) {
      tissues.push_back(std::move(*tissue));
    }
  }
  return tissues;
}

}  // namespace torsowave::scenarios
