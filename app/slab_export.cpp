#include <fmt/format.h>

#include <cmath>
#include <nlohmann/json.hpp>
#include <numbers>
#include <vector>

#include "app/slab_report.hpp"
#include "app/text_table.hpp"
#include "postproc/result.hpp"

namespace torsowave::app {
namespace {

using Json = nlohmann::ordered_json;
using postproc::SlabCase;
using postproc::SlabResult;
using postproc::SlabSource;

[[nodiscard]] double degrees(std::complex<double> value)
{
  return std::arg(value) * 180.0 / std::numbers::pi;
}

/// A number of a case: its name in JSON, its head in comma-separated values.
struct Quantity {
  const char* key;
  const char* head;
  double (*value)(const SlabCase&);
};

[[nodiscard]] std::vector<Quantity> quantities(const SlabResult& result)
{
  if (result.source == SlabSource::current_sheet) {
    return {{"delivered_w_per_m2", "delivered [W/m^2]",
             [](const SlabCase& c) { return c.source_flux; }},
            {"into_first", "into the first medium [1]",
             [](const SlabCase& c) { return c.reflectance; }},
            {"into_last", "into the last medium [1]",
             [](const SlabCase& c) { return c.transmittance; }}};
  }
  return {
      {"reflectance", "reflectance [1]", [](const SlabCase& c) { return c.reflectance; }},
      {"reflection_phase_deg", "reflection phase [deg]",
       [](const SlabCase& c) { return degrees(c.reflection); }},
      {"entering", "entering [1]", [](const SlabCase& c) { return c.entering; }},
      {"transmittance", "transmittance [1]",
       [](const SlabCase& c) { return c.transmittance; }},
      {"transmission_magnitude", "transmission magnitude [1]",
       [](const SlabCase& c) { return std::abs(c.transmission); }},
      {"transmission_phase_deg", "transmission phase [deg]",
       [](const SlabCase& c) { return degrees(c.transmission); }},
      {"incident_flux_w_per_m2", "incident flux at 1 V/m peak [W/m^2]",
       [](const SlabCase& c) { return c.source_flux; }}};
}

/// Calls `visit` for each case with the names of where it stands.
template <class Visit>
void for_each_case(const SlabResult& result, Visit visit)
{
  std::size_t n = 0;
  for (const std::string& media : result.media) {
    for (const std::string& polarisation : result.polarisations) {
      for (const double angle : result.angles_deg) {
        for (const double frequency : result.frequencies) {
          visit(media, polarisation, angle, frequency, result.cases.at(n++));
        }
      }
    }
  }
}

[[nodiscard]] Json layers_json(const SlabResult& result)
{
  Json layers = Json::array();
  for (const postproc::SlabLayer& layer : result.layers) {
    layers.push_back(
        {{"tissue", layer.tissue}, {"from_m", layer.from}, {"to_m", layer.to}});
  }
  return layers;
}

}  // namespace

std::string slab_csv(const SlabResult& result)
{
  const bool wave = result.source == SlabSource::plane_wave;
  std::vector<std::string> heads{"media", "frequency [Hz]"};
  if (wave) {
    heads.insert(heads.begin() + 1, {"polarisation", "angle [deg]"});
  }
  for (const Quantity& quantity : quantities(result)) {
    heads.emplace_back(quantity.head);
  }
  for (std::size_t i = 0; i < result.layers.size(); ++i) {
    heads.push_back(
        fmt::format("absorbed in layer {} {} [1]", i + 1, result.layers[i].tissue));
  }
  if (result.loss_db) {
    heads.push_back(fmt::format("depth of {} dB [m]", *result.loss_db));
  }
  std::string text = csv_record(heads);
  for_each_case(result, [&](const std::string& media, const std::string& polarisation,
                            double angle, double frequency, const SlabCase& at) {
    std::vector<std::string> cells{media};
    if (wave) {
      cells.insert(cells.end(), {polarisation, csv_number(angle)});
    }
    cells.push_back(csv_number(frequency));
    for (const Quantity& quantity : quantities(result)) {
      cells.push_back(csv_number(quantity.value(at)));
    }
    for (const double share : at.absorbed) {
      cells.push_back(csv_number(share));
    }
    if (result.loss_db) {
      cells.push_back(at.loss_depth ? csv_number(*at.loss_depth) : "");
    }
    text += csv_record(cells);
  });
  return text;
}

std::string slab_json(const SlabResult& result, double fit_error)
{
  const bool wave = result.source == SlabSource::plane_wave;
  Json json;
  json["caution"] = postproc::caution;
  json["title"] = result.title;
  json["scenario_sha256"] = result.scenario_sha256;
  json["source"] = wave ? "plane_wave" : "current_sheet";
  if (wave) {
    json["travels"] = result.from_right ? "-x" : "+x";
    json["lossy_incidence"] = result.lossy_incidence;
  } else {
    json["sheet_x_m"] = result.sheet_x;
  }
  json["first_medium"] = result.first;
  json["layers"] = layers_json(result);
  json["last_medium"] = result.last;
  if (fit_error > 0.0) {
    json["fit_max_relative_error"] = fit_error;
  }
  if (result.loss_db) {
    json["loss_db"] = *result.loss_db;
  }
  json["cases"] = Json::array();
  for_each_case(result, [&](const std::string& media, const std::string& polarisation,
                            double angle, double frequency, const SlabCase& at) {
    Json one;
    one["media"] = media;
    if (wave) {
      one["polarisation"] = polarisation;
      one["angle_deg"] = angle;
    }
    one["frequency_hz"] = frequency;
    for (const Quantity& quantity : quantities(result)) {
      one[quantity.key] = quantity.value(at);  // written as null where it is none
    }
    one["absorbed_by_layer"] = at.absorbed;
    if (result.loss_db) {
      one["loss_depth_m"] = at.loss_depth ? Json(*at.loss_depth) : Json(nullptr);
    }
    json["cases"].push_back(std::move(one));
  });
  return json.dump(2) + '\n';
}

}  // namespace torsowave::app
