#include "app/report_charts.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <nlohmann/json.hpp>
#include <set>

#include "app/report_parts.hpp"
#include "postproc/figure_frame.hpp"
#include "postproc/figure_scale.hpp"
#include "postproc/uncertainty.hpp"

namespace torsowave::app {
namespace {

using Json = nlohmann::ordered_json;
using postproc::FrequencyResult;
using postproc::Result;

constexpr postproc::Color color_of_rest{150, 155, 164};
constexpr postproc::Color color_of_leaving{28, 30, 36};
constexpr postproc::Color color_of_passing{38, 120, 160};

[[nodiscard]] Json chart_part(const char* type, const std::string& name,
                              const std::string& alt)
{
  return {{"type", type}, {"name", name}, {"alt", alt}, {"series", Json::array()}};
}

[[nodiscard]] Json frequency_names(const Result& result)
{
  Json names = Json::array();
  for (const FrequencyResult& f : result.frequencies) {
    names.push_back(postproc::frequency_text(f.frequency));
  }
  return names;
}

[[nodiscard]] Json decibel_or_gap(double value)
{
  return value > 0.0 ? Json(10.0 * std::log10(value)) : Json();
}

/// What goes neither into a tissue nor into a layer: its names and shares at a frequency.
[[nodiscard]] std::vector<std::pair<std::string, double>> leaving_shares(
    const Result& result, const FrequencyResult& f)
{
  const bool wave = result.source.kind == "plane wave";
  if (!f.slab) {
    return {{wave ? "scattered" : "leaves", f.radiated_power / f.source_power}};
  }
  return {
      {wave ? "reflected" : "into " + result.layers.front().tissue + " (left)",
       (wave ? f.slab->reflectance : f.slab->into_first).value_or(0.0)},
      {wave ? "into the last medium" : "into " + result.layers.back().tissue + " (right)",
       (wave ? f.slab->transmittance : f.slab->into_last).value_or(0.0)}};
}

/// Tissues by what they take, largest first: their largest share of all frequencies.
[[nodiscard]] std::vector<std::pair<double, std::string>> absorbers_of(
    const Result& result)
{
  std::map<std::string, double> largest;
  for (const FrequencyResult& f : result.frequencies) {
    for (const auto& [tissue, power] : f.absorbed_by_tissue) {
      double& share = largest[tissue];
      share = std::max(share, power / f.source_power);
    }
  }
  std::vector<std::pair<double, std::string>> order;
  order.reserve(largest.size());
  for (const auto& [tissue, share] : largest) {
    order.emplace_back(share, tissue);
  }
  std::sort(order.rbegin(), order.rend());
  return order;
}

/// In the tissue's colour of the map.
[[nodiscard]] postproc::Color color_of(const Result& result, const std::string& tissue)
{
  const auto found = std::ranges::find(result.tissues, tissue);
  return postproc::tissue_on(postproc::light_theme,
                             static_cast<std::size_t>(found - result.tissues.begin()));
}

[[nodiscard]] std::string title_of(const Result& result, const std::string& tissue)
{
  const auto found = std::ranges::find(result.tissues, tissue);
  const auto n = static_cast<std::size_t>(found - result.tissues.begin());
  return n < result.tissue_titles.size() ? result.tissue_titles[n] : tissue;
}

}  // namespace

Json power_chart(const Result& result)
{
  constexpr std::size_t most_tissues = 8;
  Json chart = chart_part("stack", "Where the power goes",
                          "Bars: the share of the power that each tissue takes, and what "
                          "becomes of the rest, at each frequency");
  chart["unit"] = "%";
  chart["categories"] = frequency_names(result);
  chart["total"] = 100.0;
  const auto order = absorbers_of(result);
  const std::size_t shown = std::min(order.size(), most_tissues);
  const auto add = [&](const std::string& name, Json color, const auto& share) {
    Json values = Json::array();
    for (const FrequencyResult& f : result.frequencies) {
      values.push_back(100.0 * share(f) / f.source_power);
    }
    chart["series"].push_back({{"name", name}, {"color", color}, {"values", values}});
  };
  for (std::size_t t = 0; t < shown; ++t) {
    const std::string& tissue = order[t].second;
    const std::string color = color_text(color_of(result, tissue));
    add(title_of(result, tissue), {color, color}, [&](const FrequencyResult& f) {
      const auto found = f.absorbed_by_tissue.find(tissue);
      return found == f.absorbed_by_tissue.end() ? 0.0 : found->second;
    });
  }
  if (order.size() > shown) {
    add(fmt::format("{} other tissues", order.size() - shown), color_part(color_of_rest),
        [&](const FrequencyResult& f) {
          double rest = 0.0;
          for (std::size_t t = shown; t < order.size(); ++t) {
            const auto found = f.absorbed_by_tissue.find(order[t].second);
            rest += found == f.absorbed_by_tissue.end() ? 0.0 : found->second;
          }
          return rest;
        });
  }
  constexpr std::array<postproc::Color, 2> colors{color_of_leaving, color_of_passing};
  const auto leaving = leaving_shares(result, result.frequencies.front());
  for (std::size_t n = 0; n < leaving.size(); ++n) {
    add(leaving[n].first, color_part(colors.at(n)), [&](const FrequencyResult& f) {
      return leaving_shares(result, f).at(n).second * f.source_power;
    });
  }
  return chart;
}

std::optional<Json> surface_chart(const Result& result)
{
  Json chart = chart_part("polar", "Power out of the body's surface",
                          "Polar curves: power out of the body by direction from its "
                          "middle, one for each frequency");
  chart["unit"] = "dB re 1 " + result.source.power_unit;
  chart["span"] = 60.0;
  const auto colors = curve_colors(result.frequencies.size());
  std::size_t inward = 0;
  for (std::size_t f = 0; f < result.frequencies.size(); ++f) {
    const FrequencyResult& at = result.frequencies[f];
    Json level = Json::array();
    for (const double power : at.sector_power) {
      level.push_back(decibel_or_gap(power));
      inward += power < 0.0 ? 1U : 0U;
    }
    if (!at.sector_power.empty()) {
      chart["series"].push_back({{"name", postproc::frequency_text(at.frequency)},
                                 {"color", color_part(colors[f])},
                                 {"angle", result.sector_angle_deg},
                                 {"level", level}});
    }
  }
  if (chart["series"].empty() || result.sector_angle_deg.empty()) {
    return std::nullopt;
  }
  if (inward > 0) {
    chart["note"] = fmt::format(
        "Gaps: into {} sectors power flows back, on balance, from the field around the "
        "body.",
        inward);
  }
  return chart;
}

std::optional<Json> far_field_chart(const Result& result)
{
  const bool wave = result.source.kind == "plane wave";
  const std::string what = wave ? "Scattering width" : "Gain in the far field";
  Json chart = chart_part("polar", what,
                          "Polar curves: " + what +
                              " by direction in the plane of the slice, one for each "
                              "frequency");
  chart["unit"] = wave ? "dB re 1 m" : "dB";
  chart["span"] = 60.0;
  const auto colors = curve_colors(result.frequencies.size());
  for (std::size_t f = 0; f < result.frequencies.size(); ++f) {
    const FrequencyResult& at = result.frequencies[f];
    if (!at.far_field) {
      continue;
    }
    Json level = at.far_field->gain_db;
    if (wave) {
      level = Json::array();
      for (const double width : at.far_field->scattering_width) {
        level.push_back(decibel_or_gap(width));
      }
    }
    chart["series"].push_back({{"name", postproc::frequency_text(at.frequency)},
                               {"color", color_part(colors[f])},
                               {"angle", result.far_angle_deg},
                               {"level", level}});
  }
  return chart["series"].empty() ? std::nullopt : std::optional(chart);
}

Json margin_chart(const LinkStudy& study)
{
  const postproc::PolarFigure figure = link_figure(study);
  Json chart = chart_part("polar", figure.title,
                          "Polar curves: margin of the link by direction of the reader, "
                          "one for each frequency; outside the heavy circle of 0 dB the "
                          "link closes");
  chart["unit"] = "dB";
  chart["span"] = figure.widest_span;
  chart["zero"] = figure.zero_name;
  const auto colors = curve_colors(figure.series.size());
  for (std::size_t n = 0; n < figure.series.size(); ++n) {
    chart["series"].push_back({{"name", figure.series[n].name},
                               {"color", color_part(colors[n])},
                               {"angle", study.angle_deg},
                               {"level", study.links[n].margin_db}});
  }
  return chart;
}

Json uncertainty_chart(const Result& result)
{
  Json chart = chart_part("groups", "Parts of the uncertainty",
                          "Bars: each part of the uncertainty of what leaves, in dB, at "
                          "each frequency, on a logarithmic scale");
  chart["unit"] = "dB";
  std::set<std::string> items;
  for (const FrequencyResult& f : result.frequencies) {
    for (const auto& [item, db] : f.uncertainty_db) {
      items.insert(item);
    }
  }
  chart["categories"] = Json::array();
  for (const std::string& item : items) {
    std::string name = item;
    std::ranges::replace(name, '_', ' ');
    chart["categories"].push_back(name);
  }
  const auto colors = curve_colors(result.frequencies.size());
  for (std::size_t f = 0; f < result.frequencies.size(); ++f) {
    const FrequencyResult& at = result.frequencies[f];
    Json values = Json::array();
    for (const std::string& item : items) {
      const auto found = at.uncertainty_db.find(item);
      values.push_back(found == at.uncertainty_db.end() ? Json() : Json(found->second));
    }
    chart["series"].push_back({{"name", postproc::frequency_text(at.frequency)},
                               {"color", color_part(colors[f])},
                               {"values", values}});
  }
  return chart;
}

}  // namespace torsowave::app
