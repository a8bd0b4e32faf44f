#include <fmt/format.h>

#include <cmath>
#include <nlohmann/json.hpp>
#include <optional>
#include <vector>

#include "app/compare_report.hpp"
#include "app/text_table.hpp"
#include "postproc/result.hpp"

namespace torsowave::app {
namespace {

using Json = nlohmann::ordered_json;
using postproc::ComparedQuantity;
using postproc::CompareResult;
using postproc::Difference;

[[nodiscard]] std::vector<std::string> heads_of(const CompareResult& result)
{
  std::vector<std::string> heads{"quantity", "unit", "frequency [Hz]", "angle [deg]"};
  heads.insert(heads.end(), result.models.begin(), result.models.end());
  heads.insert(heads.end(), {"level [dB]", "counts", "run minus cole-cole [dB]"});
  for (const std::string& part : result.parts) {
    heads.push_back(part + " [dB]");
  }
  for (const std::string& model : result.models) {
    heads.push_back("phase of " + model + " [deg]");
  }
  heads.emplace_back("phase of run minus cole-cole [deg]");
  return heads;
}

[[nodiscard]] std::vector<std::string> cells_of(const CompareResult& result,
                                                std::size_t q, std::size_t sample)
{
  const ComparedQuantity& quantity = result.quantities[q];
  const Difference d = difference_at(result, q, sample);
  const auto angle = angle_deg_of(result, d);
  std::vector<std::string> cells{quantity.key, quantity.unit,
                                 csv_number(result.frequencies[frequency_of(result, d)]),
                                 angle ? csv_number(*angle) : ""};
  for (const std::vector<double>& values : quantity.values) {
    cells.push_back(csv_number(values[sample]));
  }
  cells.push_back(csv_number(d.level_db));
  cells.emplace_back(d.counts ? "1" : "0");
  cells.push_back(csv_number(d.total_db));
  for (const double part : d.parts_db) {
    cells.push_back(csv_number(part));
  }
  for (std::size_t m = 0; m < result.models.size(); ++m) {
    cells.push_back(
        quantity.phases_deg.empty() ? "" : csv_number(quantity.phases_deg[m][sample]));
  }
  cells.push_back(d.phase_deg ? csv_number(*d.phase_deg) : "");
  return cells;
}

/// An object with a number for each name.
[[nodiscard]] Json by_name(const std::vector<std::string>& names,
                           const std::vector<double>& values)
{
  Json object = Json::object();
  for (std::size_t n = 0; n < names.size() && n < values.size(); ++n) {
    object[names[n]] = values[n];  // written as null where it is not finite
  }
  return object;
}

[[nodiscard]] Json difference_json(const CompareResult& result, const Difference& d)
{
  const auto angle = angle_deg_of(result, d);
  Json item{{"frequency_hz", result.frequencies[frequency_of(result, d)]}};
  if (angle) {
    item["angle_deg"] = *angle;
  }
  item["level_db"] = d.level_db;
  item["counts"] = d.counts;
  item["difference_db"] = d.total_db;
  item["parts_db"] = by_name(result.parts, d.parts_db);
  if (d.phase_deg) {
    item["phase_difference_deg"] = *d.phase_deg;
    item["phase_parts_deg"] = by_name(result.parts, d.phase_parts);
  }
  return item;
}

[[nodiscard]] Json sample_json(const CompareResult& result, std::size_t q,
                               std::size_t sample)
{
  const ComparedQuantity& quantity = result.quantities[q];
  Json item = difference_json(result, difference_at(result, q, sample));
  std::vector<double> values;
  std::vector<double> phases;
  for (std::size_t m = 0; m < result.models.size(); ++m) {
    values.push_back(quantity.values[m][sample]);
    if (!quantity.phases_deg.empty()) {
      phases.push_back(quantity.phases_deg[m][sample]);
    }
  }
  item["values"] = by_name(result.models, values);
  if (!phases.empty()) {
    item["phases_deg"] = by_name(result.models, phases);
  }
  return item;
}

[[nodiscard]] Json quantity_json(const CompareResult& result, std::size_t q)
{
  const ComparedQuantity& quantity = result.quantities[q];
  Json item{{"key", quantity.key},
            {"name", quantity.name},
            {"unit", quantity.unit},
            {"counts_above_db", quantity.counts_above_db}};
  const std::optional<Difference> largest = largest_difference(result, q);
  item["largest"] = largest ? difference_json(result, *largest) : Json(nullptr);
  item["samples"] = Json::array();
  for (std::size_t s = 0; s < samples(quantity); ++s) {
    item["samples"].push_back(sample_json(result, q, s));
  }
  return item;
}

[[nodiscard]] Json verdict_json(const CompareResult& result)
{
  const std::optional<Difference> d = largest_difference(result);
  if (!d) {
    return nullptr;
  }
  Json verdict{{"quantity", result.quantities[d->quantity].key}};
  verdict.update(difference_json(result, *d));
  verdict["cause"] = result.parts[d->cause()];
  verdict["text"] = verdict_text(result);
  return verdict;
}

}  // namespace

std::string compare_csv(const CompareResult& result)
{
  std::string text = csv_record(heads_of(result));
  for (std::size_t q = 0; q < result.quantities.size(); ++q) {
    for (std::size_t s = 0; s < samples(result.quantities[q]); ++s) {
      text += csv_record(cells_of(result, q, s));
    }
  }
  return text;
}

std::string compare_json(const CompareResult& result)
{
  Json json;
  json["caution"] = postproc::caution;
  json["title"] = result.title;
  json["scenario_sha256"] = result.scenario_sha256;
  json["mode"] = result.mode;
  json["source"] = {{"kind", result.source.kind}, {"unit", result.source.unit}};
  json["exact"] = result.exact;
  json["body"] = result.bodies;
  json["models"] = result.models;
  json["parts"] = result.parts;
  json["grid"] = {{"nx", result.grid.nx},
                  {"ny", result.grid.ny},
                  {"cell_m", result.grid.cell},
                  {"dt_s", result.grid.time_step},
                  {"steps", result.grid.steps}};
  json["run"] = {{"wall_s", result.run.wall_seconds},
                 {"threads", result.run.threads},
                 {"stopped_because", result.run.stopped_because},
                 {"end_error_db", result.end_error_db}};
  json["fit_max_relative_error"] = result.fit_max_relative_error;
  if (!result.angles_deg.empty()) {
    json["circle_radius_m"] = result.circle_radius;
  }
  json["verdict"] = verdict_json(result);
  json["quantities"] = Json::array();
  for (std::size_t q = 0; q < result.quantities.size(); ++q) {
    json["quantities"].push_back(quantity_json(result, q));
  }
  json["left_out"] = result.left_out;
  return json.dump(2) + '\n';
}

}  // namespace torsowave::app
