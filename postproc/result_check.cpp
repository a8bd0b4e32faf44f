#include "postproc/result_check.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "postproc/read_error.hpp"

namespace torsowave::postproc {
namespace {

// Far beyond what a run can have; later arithmetic stays finite.
constexpr double smallest_cell = 1e-9;      // [m]
constexpr double largest_cell = 100.0;      // [m]
constexpr double farthest = 1e9;            // [m]
constexpr double highest_frequency = 1e18;  // [Hz]
constexpr double largest_angle = 3600.0;    // [deg]

[[nodiscard]] bool within(double value, double bound)
{
  return value >= -bound && value <= bound;  // not NaN
}

/// Cell centres: one cell apart, to a thousandth.
void require_even(const std::vector<double>& centres, double cell, const char* name)
{
  for (std::size_t n = 0; n < centres.size(); ++n) {
    const double even = centres.front() + static_cast<double>(n) * cell;
    if (!within(centres[n], farthest) || !(std::abs(centres[n] - even) <= 1e-3 * cell)) {
      throw ReadError(
          fmt::format("{} has {:g} m for cell {}, where cells of {:g} m begin "
                      "with {:g} m",
                      name, centres[n], n, cell, centres.front()));
    }
  }
}

void check_grid(const GridInfo& grid)
{
  if (!(grid.cell >= smallest_cell && grid.cell <= largest_cell) ||
      !(grid.time_step > 0.0 && grid.time_step <= 1.0) || grid.steps < 0) {
    throw ReadError(
        fmt::format("/grid describes no run: cells of {:g} m, {} steps of {:g} s",
                    grid.cell, grid.steps, grid.time_step));
  }
  require_even(grid.x, grid.cell, "/grid/x");
  require_even(grid.y, grid.cell, "/grid/y");
}

void check_frequencies(const Result& result)
{
  for (const FrequencyResult& f : result.frequencies) {
    if (!(f.frequency > 0.0 && f.frequency <= highest_frequency)) {
      throw ReadError(fmt::format("/powers has the frequency {:g} Hz", f.frequency));
    }
    if (!std::isfinite(f.source_power) || !std::isfinite(f.absorbed_power) ||
        !std::isfinite(f.radiated_power)) {
      throw ReadError(fmt::format("/powers has {:g}, {:g} and {:g} {} at {:g} Hz",
                                  f.source_power, f.absorbed_power, f.radiated_power,
                                  result.source.power_unit, f.frequency));
    }
  }
}

/// From left to right; the outer media alone may have no end.
void check_faces(const std::vector<LayerInfo>& layers)
{
  for (std::size_t n = 0; n < layers.size(); ++n) {
    const auto& [tissue, from, to] = layers[n];
    const bool left = within(from, farthest) || (n == 0 && from < 0.0);
    const bool right = within(to, farthest) || (n + 1 == layers.size() && to > 0.0);
    if (!left || !right || from > to) {
      throw ReadError(
          fmt::format("/layers has {} from {:g} to {:g} m", tissue, from, to));
    }
  }
}

void check_layers(const Result& result)
{
  const bool row = result.mode == "1D";
  if (!row && result.mode != "TMz" && result.mode != "TEz") {
    throw ReadError("its mode is none of TMz, TEz and 1D");
  }
  const GridInfo& grid = result.grid;
  const bool shaped = row ? result.layers.size() >= 2 && grid.ny == 1
                          : result.layers.empty() && grid.nx > 1 && grid.ny > 1;
  if (!shaped) {
    throw ReadError(fmt::format("a result of mode {} with {} layers and {} x {} cells",
                                result.mode, result.layers.size(), grid.nx, grid.ny));
  }
  for (const FrequencyResult& f : result.frequencies) {
    if (f.slab.has_value() != row ||
        (row && f.slab->absorbed_by_layer.size() + 2 != result.layers.size())) {
      throw ReadError(
          fmt::format("a result of mode {} {} the powers of its layers at {:g} "
                      "Hz",
                      result.mode, row ? "without" : "with", f.frequency));
    }
  }
  check_faces(result.layers);
}

void require_angles(const std::vector<double>& angles, const char* name)
{
  for (const double angle : angles) {
    if (!within(angle, largest_angle)) {
      throw ReadError(fmt::format("{} has a direction of {:g} degrees", name, angle));
    }
  }
}

/// Levels of nothing at all are -infinity.
[[nodiscard]] bool all_below_infinity(const std::vector<double>& values)
{
  return std::ranges::all_of(values, [](double value) {
    return value < std::numeric_limits<double>::infinity();  // not NaN
  });
}

void check_directions(const Result& result)
{
  require_angles(result.sector_angle_deg, "/surface/angle");
  require_angles(result.far_angle_deg, "/far_field/angle");
  for (const FrequencyResult& f : result.frequencies) {
    if (f.far_field && (f.far_field->intensity.empty() || f.far_field->gain_db.empty())) {
      throw ReadError(
          fmt::format("/far_field has no intensity or no gain at {:g} Hz", f.frequency));
    }
    const bool sound = all_below_infinity(f.sector_power) &&
                       (!f.far_field || (all_below_infinity(f.far_field->intensity) &&
                                         all_below_infinity(f.far_field->gain_db))) &&
                       (!f.antenna_gain || all_below_infinity(f.antenna_gain->gain_dbi));
    if (!sound) {
      throw ReadError(fmt::format(
          "/surface, /far_field or /antenna_gain has what is no number at {:g} Hz",
          f.frequency));
    }
  }
}

void check_places(const Result& result)
{
  if (result.implant &&
      !(within(result.implant->x, farthest) && within(result.implant->y, farthest))) {
    throw ReadError(fmt::format("/run has the implant at ({:g}, {:g}) m",
                                result.implant->x, result.implant->y));
  }
  if (result.scattered_rim && !within(*result.scattered_rim, farthest)) {
    throw ReadError(fmt::format("/run has a rim at x = {:g} m", *result.scattered_rim));
  }
}

}  // namespace

void require_ascending(const std::vector<double>& times, const char* name)
{
  for (std::size_t n = 0; n < times.size(); ++n) {
    if (!std::isfinite(times[n]) || (n > 0 && !(times[n] >= times[n - 1]))) {
      throw ReadError(fmt::format("{} has {:g} s for moment {}: times have to ascend",
                                  name, times[n], n));
    }
  }
}

void require_possible(const Result& result)
{
  check_grid(result.grid);
  check_frequencies(result);
  check_layers(result);
  check_directions(result);
  check_places(result);
  require_ascending(result.energy.time, "/energy/time");
  for (const double energy : result.energy.total) {
    if (!(energy >= 0.0 && std::isfinite(energy))) {
      throw ReadError(fmt::format("/energy/total has {:g} J/m", energy));
    }
  }
}

}  // namespace torsowave::postproc
