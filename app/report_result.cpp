#include "app/report_result.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <optional>

#include "app/link_case.hpp"
#include "app/render_options.hpp"
#include "app/report_answer.hpp"
#include "app/report_charts.hpp"
#include "app/report_film.hpp"
#include "app/report_parts.hpp"
#include "app/report_pictures.hpp"
#include "app/run_report.hpp"
#include "app/sar_report.hpp"
#include "postproc/sar_limits.hpp"
#include "postproc/stored_result.hpp"
#include "postproc/summary_values.hpp"
#include "scenarios/input_error.hpp"
#include "scenarios/reader.hpp"

namespace torsowave::app {
namespace {

namespace fs = std::filesystem;
using Json = nlohmann::ordered_json;
using postproc::Result;

/// Which program made the result.
[[nodiscard]] postproc::SummaryValues summary_of(const fs::path& folder)
{
  const fs::path path = folder / "summary.json";
  std::ifstream file(path, std::ios::binary);
  if (!file) {
    throw postproc::ReadError(fmt::format(
        "{}: cannot be read, and is the last file that a run writes: run the scenario "
        "again with \"torsowave run {} -o {} --force\"",
        path.string(), (folder / "scenario.yaml").string(), folder.string()));
  }
  try {
    return postproc::read_summary_values(
        std::string{std::istreambuf_iterator<char>(file), {}});
  } catch (const postproc::SummaryError& error) {
    throw postproc::ReadError(
        fmt::format("{} {}; run the scenario again", path.string(), error.what()));
  }
}

/// The link that the scenario asks for; or why there is none, where it asks for one.
struct LinkOfResult {
  std::optional<LinkStudy> study;
  std::string obstacle;
};

[[nodiscard]] LinkOfResult link_of(const fs::path& folder, const Result& result)
{
  const scenarios::Scenario scenario =
      scenarios::parse_link_alone(result.scenario_yaml, folder / "scenario.yaml");
  if (!scenario.locations.contains("link")) {
    return {};
  }
  LinkOptions options;
  options.input = folder.string();
  try {
    return {study_of(options, link_case(options)), ""};
  } catch (const scenarios::InputError& error) {
    return {std::nullopt, error.what()};
  }
}

/// What the sections are made of.
struct Material {
  FilmSide side;
  Moments moments;
  LinkOfResult link;
  postproc::SummaryValues summary;
};

[[nodiscard]] bool of_wave(const Result& result)
{
  return result.source.kind == "plane wave";
}

void add_pictures(Json& section, const ReportPictures& pictures,
                  const std::string& quantity)
{
  Json drawn = pictures.of(quantity);
  if (!drawn.empty()) {
    section["pictures"].push_back({{"name", quantity}, {"choices", std::move(drawn)}});
  }
}

void add_table(Json& section, const std::optional<TextTable>& table,
               const std::string& caption)
{
  if (table) {
    section["tables"].push_back(table_part(*table, caption));
  }
}

[[nodiscard]] Json body_section(const Material& of, const ReportPictures& pictures)
{
  const bool row = of.side.result.mode == "1D";
  Json section =
      section_part(row ? "layers" : "slice", row ? "The layers" : "The slice",
                   {row ? "From left to right, with the outer media."
                        : "Seen from below: the patient's left is at the right, "
                          "the front is up. The outlines are those of the cells "
                          "that the run stepped."});
  add_pictures(section, pictures, "tissue");
  return section;
}

[[nodiscard]] Json film_section(const Material& of, Json film)
{
  Json section = section_part("wave", "How the wave moves", {});
  section["text"].push_back(
      of.side.result.mode == "1D"
          ? "The field over the layers, moment by moment."
          : "The field over the slice, moment by moment. Colour tells the sign, its "
            "strength the level; point at the map to read it.");
  section["film"] = std::move(film);
  return section;
}

[[nodiscard]] Json field_section(const Material& of, const ReportPictures& pictures)
{
  const Result& result = of.side.result;
  Json section = section_part("fields", "The fields",
                              {fmt::format("Time-harmonic, for 1 {} of {}.",
                                           result.source.unit, result.source.kind)});
  for (const postproc::PhasorField& field : result.phasors) {
    add_pictures(section, pictures, field.name);
  }
  for (const char* quantity : {"power_flow", "spacetime"}) {
    add_pictures(section, pictures, quantity);
  }
  if (pictures.left_out() > 0) {
    section["text"].push_back(
        fmt::format("{} more frequencies are left out; \"torsowave render\" draws them.",
                    pictures.left_out()));
  }
  return section;
}

[[nodiscard]] Json power_section(const Result& result)
{
  Json section = section_part(
      "powers", "Where the power goes",
      {fmt::format("Powers per {} for 1 {} of {}; levels are relative to the power {}.",
                   result.layers.empty() ? "metre of slice" : "area", result.source.unit,
                   result.source.kind,
                   of_wave(result) ? "taken from the wave" : "delivered")});
  section["charts"].push_back(power_chart(result));
  section["tables"].push_back(
      result.layers.empty() ? table_part(power_table(result), "Power balance")
                            : table_part(layer_table(result), "Shares of the power"));
  return section;
}

[[nodiscard]] Json surface_section(const ReportPictures& pictures, Json chart)
{
  Json section = section_part(
      "surface", "Out of the body",
      {"Power through the body's surface by direction from the body's middle, for each "
       "sector. 0° is the patient's left, 90° the front."});
  section["charts"].push_back(std::move(chart));
  add_pictures(section, pictures, "surface_ring");
  return section;
}

[[nodiscard]] Json far_section(const Result& result, Json chart)
{
  Json section = section_part("far-field", "Far field", {far_field_head(result) + "."});
  section["charts"].push_back(std::move(chart));
  add_table(section, far_field_table(result), "Strongest directions");
  if (const auto gains = antenna_gain_table(result)) {
    section["text"].push_back(std::string(antenna_gain_head) + ".");
    add_table(section, gains, "The implant's gain in three dimensions");
  }
  return section;
}

[[nodiscard]] Json link_section(const LinkOfResult& link)
{
  Json section = section_part("link", "The link", {});
  section["caution"] = true;
  if (!link.study) {
    section["text"].push_back("The link could not be worked out: " + link.obstacle);
    return section;
  }
  section["text"] = {link_head(*link.study) + ".", link_verdict(*link.study)};
  section["charts"].push_back(margin_chart(*link.study));
  add_table(section, link_budget_table(*link.study), "Budget, implant to reader");
  add_table(section, link_limits_table(*link.study),
            "Radiated power beside published limits");
  section["remarks"] = Json::array();
  for (const std::string& remark : link_remarks(*link.study)) {
    section["remarks"].push_back({"", remark});
  }
  return section;
}

[[nodiscard]] Json sar_section(const Result& result, const ReportPictures& pictures)
{
  Json section = section_part("sar", "Specific absorption rate", {});
  section["caution"] = true;
  add_pictures(section, pictures, "sar");
  if (const auto peaks = sar_peak_table(result)) {
    section["text"].push_back(sar_peak_head(result) + ".");
    add_table(section, peaks, "Largest values");
    if (const auto limits = sar_limit_table(result)) {
      section["text"].push_back(std::string(sar_limit_head) + ".");
      add_table(section, limits, "Published exposure figures");
      section["remarks"] = Json::array();
      for (const std::string_view note : postproc::sar_limit_notes()) {
        section["remarks"].push_back({"", note});
      }
    }
  }
  return section;
}

[[nodiscard]] TextTable material_table(const Result& result)
{
  TextTable table({{"tissue", "", Align::left},
                   {"share of the slice", "%"},
                   {"relaxations", "1"},
                   {"largest error of the fit", "%"}});
  double whole = 0.0;
  for (const postproc::MaterialInfo& material : result.materials) {
    whole += material.area;
  }
  for (const postproc::MaterialInfo& material : result.materials) {
    table.add_row(
        {material.tissue,
         whole > 0.0 ? fmt::format("{:.2f}", 100.0 * material.area / whole) : "-",
         fmt::format("{}", material.poles),
         fmt::format("{:.3f}", 100.0 * material.fit_max_relative_error)});
  }
  return table;
}

[[nodiscard]] Json material_section(const Result& result)
{
  Json section = section_part(
      "materials", "Materials",
      {"Each tissue is stepped as a Debye medium that is fitted to its published "
       "Cole-Cole "
       "data over the band; the error is that of the complex permittivity."});
  section["tables"].push_back(table_part(material_table(result), "Fit of the materials"));
  return section;
}

[[nodiscard]] Json uncertainty_section(const Result& result)
{
  Json section = section_part("uncertainty", "Uncertainty", {});
  const bool any = std::ranges::any_of(
      result.frequencies, [](const auto& f) { return !f.uncertainty_db.empty(); });
  if (any) {
    section["text"].push_back("What each cause may change in the power that leaves.");
    section["charts"].push_back(uncertainty_chart(result));
  }
  section["remarks"] = Json::array();
  for (const auto& [label, text] : run_remarks(result)) {
    section["remarks"].push_back({label, text});
  }
  return section;
}

[[nodiscard]] Json provenance_section(const Material& of)
{
  const Result& result = of.side.result;
  TextTable table({{"", "", Align::left}, {"", "", Align::left}});
  const auto add = [&table](const char* label, std::string text) {
    table.add_row({label, std::move(text)});
  };
  add("program of the run",
      fmt::format("torsowave {}, revision {}", of.summary.tool_version,
                  of.summary.tool_revision));
  add("time of the run", result.created);
  add("mode", result.mode);
  add("grid",
      result.layers.empty()
          ? fmt::format("{} x {} cells of {:.4g} mm", result.grid.nx, result.grid.ny,
                        1e3 * result.grid.cell)
          : fmt::format("{} cells of {:.4g} mm", result.grid.nx, 1e3 * result.grid.cell));
  add("steps",
      fmt::format("{} of {:.4g} ps", result.grid.steps, 1e12 * result.grid.time_step));
  add("stopped", result.run.stopped_because);
  add("speed",
      fmt::format("{:.1f} s, {:.0f} million cell updates a second ({}, {} threads)",
                  result.run.wall_seconds, 1e-6 * result.run.cell_updates_per_second,
                  result.run.instruction_set, result.run.threads));
  add("SHA-256 of the scenario", result.scenario_sha256);
  Json section = section_part("provenance", "Provenance", {});
  section["tables"].push_back(table_part(table, "Where the figures come from"));
  section["tables"].back()["pairs"] = true;
  return section;
}

[[nodiscard]] Json scenario_section(const Result& result)
{
  Json section =
      section_part("scenario", "Scenario",
                   {"The exact input: saved as a file, it gives this result again."});
  section["listing"] = result.scenario_yaml;
  return section;
}

[[nodiscard]] Json sections_of(const Material& of, int picture_width)
{
  const Result& result = of.side.result;
  const ReportPictures pictures(result, of.moments, picture_width);
  Json sections = Json::array();
  const auto add = [&sections](Json section) {
    const bool shows = !section["pictures"].empty() || !section["charts"].empty() ||
                       !section["tables"].empty() || section.contains("film") ||
                       section.contains("listing") || section.contains("remarks") ||
                       section.contains("caution");
    if (shows) {
      sections.push_back(std::move(section));
    }
  };
  add(body_section(of, pictures));
  if (auto film = film_part(of.side)) {
    add(film_section(of, *std::move(film)));
  }
  add(field_section(of, pictures));
  add(power_section(result));
  if (auto chart = surface_chart(result)) {
    add(surface_section(pictures, *std::move(chart)));
  }
  if (auto chart = far_field_chart(result)) {
    add(far_section(result, *std::move(chart)));
  }
  if (of.link.study || !of.link.obstacle.empty()) {
    add(link_section(of.link));
  }
  if (sar_peak_table(result) || !result.sar.empty()) {
    add(sar_section(result, pictures));
  }
  add(material_section(result));
  add(uncertainty_section(result));
  add(scenario_section(result));
  add(provenance_section(of));
  return sections;
}

}  // namespace

Json result_page(const fs::path& folder, int picture_width)
{
  const fs::path file = result_file_of(folder.string());
  Material of{{postproc::read_result(file), postproc::StoredSnapshots(file)},
              {},
              {},
              summary_of(folder)};
  const Result& result = of.side.result;
  if (result.frequencies.empty()) {
    throw postproc::ReadError(
        fmt::format("{}: holds no frequency; run the scenario again", file.string()));
  }
  of.moments = moments_of({}, result, of.side.snapshots);
  of.link = link_of(folder, result);
  Json page = answer_part(result, of.link.study ? &*of.link.study : nullptr);
  page["title"] = result.title.empty() ? folder.filename().string() : result.title;
  page["subtitle"] = fmt::format("{}, {}, run on {}", result.mode, result.source.kind,
                                 result.created.substr(0, 10));
  page["sections"] = sections_of(of, picture_width);
  return page;
}

}  // namespace torsowave::app
