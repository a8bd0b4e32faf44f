#include "app/tissue_report.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>
#include <string_view>
#include <utility>

#include "app/text_table.hpp"
#include "materials/tissue_table.hpp"
#include "materials/wave_quantities.hpp"

namespace torsowave::app {
namespace {

using Json = nlohmann::ordered_json;
using materials::Tissue;
using materials::WaveQuantities;

constexpr std::string_view caution =
    "a planning and teaching estimate, not a compliance or clinical result. Published "
    "values of one tissue differ by the order of 10 %, those of blood, fat and bone by "
    "20 % "
    "(a judgement, no published source): carry that spread into whatever you compute "
    "from "
    "these.";

/// One column of the tables: a quantity and its units.
struct WaveColumn {
  const char* head;
  const char* unit;    ///< of tables and comma-separated values
  double units_in_si;  ///< how many of them make one SI unit
  const char* key;     ///< in JSON, in SI units
  double (*value)(const WaveQuantities&);
};

constexpr auto wave_columns = std::to_array<WaveColumn>({
    {"permittivity", "1", 1.0, "permittivity",
     [](const WaveQuantities& w) { return w.permittivity; }},
    {"conductivity", "S/m", 1.0, "conductivity_s_per_m",
     [](const WaveQuantities& w) { return w.conductivity; }},
    {"loss\ntangent", "1", 1.0, "loss_tangent",
     [](const WaveQuantities& w) { return w.loss_tangent; }},
    {"attenuation", "dB/cm", 0.01, "attenuation_db_per_m",
     [](const WaveQuantities& w) { return w.attenuation_db_per_m; }},
    {"phase\nconstant", "rad/m", 1.0, "phase_constant_rad_per_m",
     [](const WaveQuantities& w) { return w.phase_constant; }},
    {"wavelength", "mm", 1e3, "wavelength_m",
     [](const WaveQuantities& w) { return w.wavelength; }},
    {"penetration\ndepth", "mm", 1e3, "penetration_depth_m",
     [](const WaveQuantities& w) { return w.penetration_depth; }},
    {"wave\nimpedance\n(real)", "ohm", 1.0, "wave_impedance_real_ohm",
     [](const WaveQuantities& w) { return w.impedance.real(); }},
    {"wave\nimpedance\n(imaginary)", "ohm", 1.0, "wave_impedance_imaginary_ohm",
     [](const WaveQuantities& w) { return w.impedance.imag(); }},
    {"phase\nvelocity", "m/s", 1.0, "phase_velocity_m_per_s",
     [](const WaveQuantities& w) { return w.phase_velocity; }},
});

WaveQuantities waves_in(const Tissue& tissue, double frequency)
{
  return materials::wave_quantities(materials::relative_permittivity(tissue, frequency),
                                    frequency);
}

/// Where the parameters come from, in a few words.
std::string basis_of(const Tissue& tissue)
{
  for (const materials::PublishedRow& row : materials::published_rows()) {
    if (row.name == tissue.name) {
      return "own row of the report";
    }
  }
  for (const materials::SharedRow& row : materials::shared_rows()) {
    if (row.name == tissue.name) {
      const bool remark = row.basis == materials::SameAs::report_remark;
      return fmt::format("as {}, by {}", row.model,
                         remark ? "the report" : "the tabulation");
    }
  }
  return tissue.source.substr(0, tissue.source.find_first_of(";:,"));
}

constexpr std::string_view basis_note =
    "Basis: the report is C. Gabriel, AL/OE-TR-1996-0037, 1996, Appendix C. A tissue "
    "\"as\" "
    "another has no measurements of its own: the report says so, or the tabulation of D. "
    "Andreuccetti, R. Fossi, C. Petrucci (Florence, 1997) has the same numbers for both. "
    "Values of air and capsule materials are typical ones, from memory. --json gives the "
    "sources in full, of densities too.";

std::vector<std::string> library_cells(const Tissue& tissue)
{
  return {tissue.name, tissue.display_name, basis_of(tissue),
          tissue.density ? fmt::format("{}", *tissue.density) : ""};
}

std::vector<Column> library_columns()
{
  return {{"name", "", Align::left},
          {"tissue or material", "", Align::left},
          {"basis", "", Align::left},
          {"density", "kg/m^3"}};
}

/// A tissue's source in two parts: the publication, and what is said of this tissue.
std::pair<std::string, std::string> split_source(const Tissue& tissue)
{
  for (const std::string_view begin : {"; own row", "; same parameters"}) {
    const std::size_t at = tissue.source.find(begin);
    if (at != std::string::npos) {
      return {tissue.source.substr(0, at), tissue.source.substr(at + 2)};
    }
  }
  return {"", tissue.source};
}

std::string csv_head(std::span<const Column> columns)
{
  std::vector<std::string> heads;
  for (const Column& column : columns) {
    heads.push_back(head_line(column));
  }
  return csv_record(heads);
}

std::string json_text(const Json& json)
{
  return json.dump(2) + '\n';
}

Json origin_json(const Tissue& tissue)
{
  Json json;
  json["name"] = tissue.name;
  json["display_name"] = tissue.display_name;
  json["density_kg_per_m3"] = tissue.density ? Json(*tissue.density) : Json(nullptr);
  json["source"] = tissue.source;
  json["density_source"] = tissue.density_source;
  return json;
}

Json wave_json(const Tissue& tissue, const NamedFrequency& frequency)
{
  const WaveQuantities wave = waves_in(tissue, frequency.value);
  Json json;
  json["frequency_hz"] = frequency.value;
  for (const WaveColumn& column : wave_columns) {
    json[column.key] = column.value(wave);  // written as null where infinite
  }
  return json;
}

TextTable wave_table(const Tissues& tissues, double frequency)
{
  std::vector<Column> columns{{"tissue", "", Align::left}};
  for (const WaveColumn& column : wave_columns) {
    columns.push_back({column.head, column.unit});
  }
  TextTable table(std::move(columns));
  for (const Tissue* tissue : tissues) {
    const WaveQuantities wave = waves_in(*tissue, frequency);
    std::vector<std::string> cells{tissue->name};
    for (const WaveColumn& column : wave_columns) {
      cells.push_back(fmt::format("{:.4g}", column.value(wave) * column.units_in_si));
    }
    table.add_row(std::move(cells));
  }
  return table;
}

}  // namespace

std::string library_text(std::size_t most_columns)
{
  TextTable table(library_columns());
  for (const Tissue& tissue : materials::tissue_library()) {
    table.add_row(library_cells(tissue));
  }
  return table.text(most_columns);
}

std::string library_notes(std::size_t most_columns)
{
  return wrapped(basis_note, 0, most_columns);
}

std::string library_csv()
{
  std::string text = csv_head(library_columns());
  for (const Tissue& tissue : materials::tissue_library()) {
    text += csv_record(library_cells(tissue));
  }
  return text;
}

std::string library_json()
{
  Json list = Json::array();
  for (const Tissue& tissue : materials::tissue_library()) {
    Json json = origin_json(tissue);
    json["basis"] = basis_of(tissue);
    list.push_back(std::move(json));
  }
  return json_text({{"tissues", std::move(list)}});
}

std::string waves_text(const Tissues& tissues,
                       std::span<const NamedFrequency> frequencies,
                       std::size_t most_columns)
{
  std::string text;
  for (const NamedFrequency& frequency : frequencies) {
    text += text.empty() ? "" : "\n";
    text +=
        frequency.name + "\n\n" + wave_table(tissues, frequency.value).text(most_columns);
  }
  return text;
}

std::string waves_notes(const Tissues& tissues, std::size_t most_columns)
{
  std::string text = "Sources\n";
  std::vector<std::pair<std::string, std::string>> publications;  // and their tissues
  for (const Tissue* tissue : tissues) {
    const auto [publication, detail] = split_source(*tissue);
    auto at = std::ranges::find(publications, publication,
                                &std::pair<std::string, std::string>::first);
    if (at == publications.end()) {
      at = publications.emplace(at, publication, "");
    }
    const std::string line =
        wrapped(fmt::format("{}: {}", tissue->name, detail), 4, most_columns);
    if (at->second.find(line) == std::string::npos) {  // a tissue may be named twice
      at->second += line;
    }
  }
  for (const auto& [publication, details] : publications) {
    text +=
        wrapped(publication.empty() ? "Other materials" : publication, 2, most_columns) +
        details;
  }
  return text + "\n" + wrapped(fmt::format("Caution: {}", caution), 0, most_columns);
}

std::string waves_csv(const Tissues& tissues, std::span<const NamedFrequency> frequencies)
{
  std::vector<Column> columns{{"tissue", ""}, {"frequency", "Hz"}};
  for (const WaveColumn& column : wave_columns) {
    columns.push_back({column.head, column.unit});
  }
  std::string text = csv_head(columns);
  for (const Tissue* tissue : tissues) {
    for (const NamedFrequency& frequency : frequencies) {
      const WaveQuantities wave = waves_in(*tissue, frequency.value);
      std::vector<std::string> cells{tissue->name, fmt::format("{}", frequency.value)};
      for (const WaveColumn& column : wave_columns) {
        cells.push_back(fmt::format("{}", column.value(wave) * column.units_in_si));
      }
      text += csv_record(cells);
    }
  }
  return text;
}

std::string waves_json(const Tissues& tissues,
                       std::span<const NamedFrequency> frequencies)
{
  Json list = Json::array();
  for (const Tissue* tissue : tissues) {
    Json json = origin_json(*tissue);
    json["frequencies"] = Json::array();
    for (const NamedFrequency& frequency : frequencies) {
      json["frequencies"].push_back(wave_json(*tissue, frequency));
    }
    list.push_back(std::move(json));
  }
  return json_text({{"caution", caution}, {"tissues", std::move(list)}});
}

}  // namespace torsowave::app
