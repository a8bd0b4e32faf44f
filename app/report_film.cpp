#include "app/report_film.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <nlohmann/json.hpp>
#include <string>

#include "app/film_scene.hpp"
#include "app/report_parts.hpp"
#include "app/run_plan.hpp"
#include "postproc/figure_frame.hpp"
#include "postproc/figure_raster.hpp"
#include "postproc/figure_scale.hpp"

namespace torsowave::app {
namespace {

using Json = nlohmann::ordered_json;
using postproc::Result;
using postproc::Snapshot;

constexpr std::size_t most_moments = 60;
constexpr double living_db = 40.0;
constexpr double level_span = 60.0;                   // as in films [dB]
constexpr std::size_t most_film_values = 12'000'000;  // of all frames: a few MB packed
constexpr std::size_t most_values_in_frame = 250'000;

/// Every how many samples of a frame are shown, so that the page stays small.
[[nodiscard]] int thinning(std::size_t values, std::size_t frames)
{
  int every = 1;
  while (values / static_cast<std::size_t>(every * every) > most_values_in_frame ||
         values / static_cast<std::size_t>(every * every) * frames > most_film_values) {
    ++every;
  }
  return every;
}

/// The level of a value between `top` and level_span below it, as one byte: 127 steps on
/// the side of 128 that its sign says.
[[nodiscard]] char level_byte(float value, double top)
{
  const double size = std::abs(static_cast<double>(value));
  if (!(size > 0.0) || !std::isfinite(size)) {
    return static_cast<char>(128);
  }
  const double share = 1.0 + 20.0 * std::log10(size / top) / level_span;
  const double step = std::round(127.0 * std::clamp(share, 0.0, 1.0));
  return static_cast<char>(
      static_cast<unsigned char>(value < 0.0F ? 128.0 - step : 128.0 + step));
}

/// 256 colours of the levels, "rrggbb" one after the other.
[[nodiscard]] std::string level_colors(bool on_dark)
{
  std::string text;
  for (int n = 0; n < 256; ++n) {
    text += color_text(postproc::diverging_color((n - 128) / 127.0, on_dark)).substr(1);
  }
  return text;
}

[[nodiscard]] std::string label_bytes(const Result& result)
{
  std::string bytes;
  bytes.reserve(2 * result.labels.size());
  for (const std::uint16_t label : result.labels) {
    bytes += static_cast<char>(label & 0xFFU);
    bytes += static_cast<char>(label >> 8U);
  }
  return packed(bytes);
}

void add_map(Json& film, const FilmSide& side, Scene& scene,
             const std::vector<double>& moments)
{
  const Result& result = side.result;
  const postproc::GridInfo& grid = result.grid;
  const int stride = scene.plan().stride;
  const int nx = postproc::kept(grid.nx, stride);
  const int ny = postproc::kept(grid.ny, stride);
  const auto values = static_cast<std::size_t>(nx) * static_cast<std::size_t>(ny);
  const int every = thinning(values, moments.size());
  const double top = level_top(scene.usual_range());
  std::string bytes;
  for (const double moment : moments) {
    const Snapshot snapshot = scene.moment(moment);
    for (int j = 0; j < ny; j += every) {
      const std::size_t row = static_cast<std::size_t>(j) * static_cast<std::size_t>(nx);
      for (int i = 0; i < nx; i += every) {
        bytes += level_byte(snapshot.values.at(row + static_cast<std::size_t>(i)), top);
      }
    }
  }
  film["kind"] = "map";
  film["nx"] = postproc::kept(nx, every);
  film["ny"] = postproc::kept(ny, every);
  film["step"] = stride * every;
  film["cells"] = {{"nx", grid.nx}, {"ny", grid.ny}, {"mm", 1e3 * grid.cell}};
  film["origin_mm"] = {1e3 * grid.x.front(), 1e3 * grid.y.front()};
  film["top"] = top;
  film["span"] = level_span;
  film["frames"] = packed(bytes);
  film["colors"] = {level_colors(false), level_colors(true)};
  film["labels"] = label_bytes(result);
  film["tissues"] = result.tissue_titles;
  film["implant_mm"] =
      result.implant ? Json{1e3 * result.implant->x, 1e3 * result.implant->y} : Json();
}

/// A number with as many digits as a curve shows.
[[nodiscard]] Json short_number(double value)
{
  return std::isfinite(value) ? Json(std::stod(fmt::format("{:.4g}", value))) : Json();
}

void add_row(Json& film, const FilmSide& side, Scene& scene,
             const std::vector<double>& moments)
{
  const Result& result = side.result;
  const auto stride = static_cast<std::size_t>(scene.plan().stride);
  film["kind"] = "row";
  film["x"] = Json::array();
  for (std::size_t i = 0; i < result.grid.x.size(); i += stride) {
    film["x"].push_back(short_number(1e3 * result.grid.x[i]));
  }
  film["top"] = postproc::round_up(scene.usual_range());
  film["frames"] = Json::array();
  for (const double moment : moments) {
    Json curve = Json::array();
    for (const float value : scene.moment(moment).values) {
      curve.push_back(short_number(static_cast<double>(value)));
    }
    film["frames"].push_back(curve);
  }
  film["layers"] = Json::array();
  for (const postproc::LayerInfo& layer : result.layers) {
    film["layers"].push_back({{"tissue", layer.tissue},
                              {"from", 1e3 * layer.from},  // null: without end
                              {"to", 1e3 * layer.to}});
  }
}

/// Moments of a steady oscillation, in turns.
[[nodiscard]] std::vector<double> turns()
{
  constexpr int count = 24;
  std::vector<double> moments;
  moments.reserve(count);
  for (int n = 0; n < count; ++n) {
    moments.push_back(n / static_cast<double>(count));
  }
  return moments;
}

/// The moments of the film, with their labels and what is said of them.
[[nodiscard]] std::vector<double> film_times(Json& film, const FilmSide& side,
                                             bool steady)
{
  std::vector<double> moments;
  film["times"] = Json::array();
  if (steady) {
    moments = turns();
    for (const double turn : moments) {
      film["times"].push_back(fmt::format("{:.0f}°", 360.0 * turn));
    }
    film["note"] =
        fmt::format("The run took no snapshots: this is the steady oscillation at {}.",
                    postproc::frequency_text(side.result.frequencies.front().frequency));
    return moments;
  }
  const std::vector<double>& times = side.snapshots.times();
  for (const std::size_t n : living_moments(side.result.energy, times, most_moments)) {
    moments.push_back(times[n]);
    film["times"].push_back(fmt::format("{:.3f} ns", 1e9 * times[n]));
  }
  film["note"] = fmt::format(
      "{} of {} stored moments, from {:.3g} to {:.3g} ns of {:.3g} ns: those while the "
      "energy in the grid is within {:g} dB of its peak.",
      moments.size(), times.size(), 1e9 * moments.front(), 1e9 * moments.back(),
      1e9 * times.back(), living_db);
  return moments;
}

}  // namespace

std::vector<std::size_t> living_moments(const postproc::EnergyTrace& energy,
                                        const std::vector<double>& times,
                                        std::size_t most)
{
  double from = times.front();
  double to = times.back();
  if (!energy.total.empty()) {
    const double least =
        *std::ranges::max_element(energy.total) * std::pow(10.0, -0.1 * living_db);
    const auto lives = [least](double total) { return total >= least; };
    const auto first = std::ranges::find_if(energy.total, lives);
    const auto last = std::find_if(energy.total.rbegin(), energy.total.rend(), lives);
    from = energy.time.at(static_cast<std::size_t>(first - energy.total.begin()));
    to = energy.time.at(static_cast<std::size_t>(energy.total.rend() - last) - 1);
  }
  std::vector<std::size_t> living;
  for (std::size_t n = 0; n < times.size(); ++n) {
    if (times[n] >= from && times[n] <= to) {
      living.push_back(n);
    }
  }
  if (living.empty()) {
    living.push_back(0);
  }
  const std::size_t count = std::min(most, living.size());
  std::vector<std::size_t> chosen;
  for (std::size_t k = 0; k < count; ++k) {
    chosen.push_back(living[count > 1 ? k * (living.size() - 1) / (count - 1) : 0]);
  }
  return chosen;
}

std::optional<Json> film_part(const FilmSide& side)
{
  if (side.snapshots.count() == 0 && side.result.phasors.empty()) {
    return std::nullopt;
  }
  const std::string quantity = usual_quantity(side);
  const double frequency =
      side.result.frequencies.empty() ? 0.0 : side.result.frequencies.front().frequency;
  const auto scene = scene_of(side, quantity, frequency);
  Json film;
  const std::vector<double> moments = film_times(film, side, is_field_name(quantity));
  film["field"] = scene->plan().field;
  film["units"] = scene->plan().units;
  if (side.result.mode == "1D") {
    add_row(film, side, *scene, moments);
  } else {
    add_map(film, side, *scene, moments);
  }
  return film;
}

}  // namespace torsowave::app
