#include "app/field_guard.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <limits>
#include <span>

#include "materials/constants.hpp"

namespace torsowave::app {
namespace {

/// Energy over the lowest since the source is silent. Sampled half a step apart, electric
/// and magnetic energy beat by parts of themselves, never by this.
constexpr double impossible_growth = 10.0;
/// Energy over its peak below which growth is none: the absorber gives back what its
/// memory holds of the lowest frequencies (seen: thirtyfold, from 1e-13 to 4e-12 of the
/// peak).
constexpr double quiet = 1e-6;
/// A resonance that a cw source drives grows by less, from the second period on.
constexpr double steep_growth = 4.0;
constexpr int steep_periods = 4;
/// A plane wave is in the grid for as long as it takes through tissue: refractive index.
constexpr double slowest = 10.0;

/// x - x is 0 for numbers and NaN for all else.
template <class Real>
[[nodiscard]] bool all_finite(std::span<const Real> row)
{
  Real sum{};
  for (const Real value : row) {
    sum += value - value;
  }
  return sum == Real{};
}

/// Where the trouble is.
struct Trouble {
  Cell cell;  ///< the middle of what is no number, else the largest field
  bool no_number = false;
  double largest = 0.0;  ///< as stored
};

/// The middle of cells low to high out of 0 to last, which reach half as far to both
/// sides, unless the border cut them off.
[[nodiscard]] int middle(int low, int high, int half, int last)
{
  if (low <= 1 && high < last - 1) {
    return std::max(0, high - half);
  }
  if (high >= last - 1 && low > 1) {
    return std::min(last, low + half);
  }
  return (low + high) / 2;
}

template <class Real>
[[nodiscard]] Trouble find(const solver::YeeStepper<Real>& stepper)
{
  Trouble found;
  Cell low{std::numeric_limits<int>::max(), std::numeric_limits<int>::max()};
  Cell high{-1, -1};
  Cell strongest;
  for (int j = 0; j < stepper.grid().raster.ny; ++j) {
    const std::span<const Real> row = stepper.centre_row(j);
    for (int i = 0; i < static_cast<int>(row.size()); ++i) {
      const auto size = std::abs(static_cast<double>(row[static_cast<std::size_t>(i)]));
      if (!std::isfinite(size)) {
        low = {std::min(low.i, i), std::min(low.j, j)};
        high = {std::max(high.i, i), std::max(high.j, j)};
      } else if (size > found.largest) {
        found.largest = size;
        strongest = {i, j};
      }
    }
  }
  found.no_number = high.i >= 0;
  const geometry::Raster& raster = stepper.grid().raster;
  const int half = std::max(high.i - low.i, high.j - low.j) / 2;
  found.cell = found.no_number ? Cell{middle(low.i, high.i, half, raster.nx - 1),
                                      middle(low.j, high.j, half, raster.ny - 1)}
                               : strongest;
  return found;
}

[[nodiscard]] bool in_absorber(const RunPlan& plan, Cell cell)
{
  const geometry::Raster& raster = plan.grid.raster;
  const int thick = plan.grid.absorbing_cells;
  const auto outside = [&](int at, int cells) {
    return at < thick || at >= cells - thick;
  };
  return outside(cell.i, raster.nx) || (raster.ny > 1 && outside(cell.j, raster.ny));
}

}  // namespace

FieldGuard::FieldGuard(const RunPlan& plan) : plan_(plan), silent_from_(plan.waveform.end)
{
  if (plan.scenario.incident) {
    const geometry::Raster& raster = plan.grid.raster;
    silent_from_ += slowest * std::hypot(raster.nx, raster.ny) * raster.cell /
                    materials::speed_of_light;
  }
}

template <class Real>
void FieldGuard::look(const solver::YeeStepper<Real>& stepper)
{
  const int rows = stepper.grid().raster.ny;
  const int apart = std::max(1, plan_.interval);
  for (int j = std::min(apart, rows - 1) / 2; j < rows; j += apart) {
    if (!all_finite(stepper.centre_row(j))) {
      stop(stepper);
    }
  }
}

template <class Real>
void FieldGuard::weigh(const solver::YeeStepper<Real>& stepper,
                       const postproc::EnergyTrace& energy)
{
  for (; seen_ < energy.total.size(); ++seen_) {
    if (grows(energy.time[seen_], energy.total[seen_])) {
      stop(stepper);
    }
  }
}

bool FieldGuard::grows(double time, double energy)
{
  if (!std::isfinite(energy)) {
    return true;
  }
  peak_ = std::max(peak_, energy);
  if (plan_.period_steps > 0) {
    const bool steep = time > plan_.scenario.waveform.ramp && lowest_ > 0.0 &&
                       energy > steep_growth * lowest_;
    steep_ = steep ? steep_ + 1 : 0;
    lowest_ = energy;
    return steep_ >= steep_periods;
  }
  if (!(time > silent_from_)) {
    return false;
  }
  lowest_ = lowest_ > 0.0 ? std::min(lowest_, energy) : energy;
  return energy > impossible_growth * lowest_ && energy > quiet * peak_;
}

std::string FieldGuard::place(Cell cell) const
{
  const geometry::Raster& raster = plan_.grid.raster;
  std::string tissues;
  for (const geometry::Share& share :
       plan_.map.palette[plan_.map.cells[raster.at(cell.i, cell.j)]]) {
    tissues += (tissues.empty() ? "" : " and ") + plan_.map.tissues[share.tissue];
  }
  return fmt::format(
      "in cell ({}, {}) at x = {:.4g} mm{}, {}{}", cell.i, cell.j, 1e3 * raster.x(cell.i),
      raster.ny > 1 ? fmt::format(", y = {:.4g} mm", 1e3 * raster.y(cell.j)) : "",
      tissues, in_absorber(plan_, cell) ? " in the absorbing layer" : "");
}

std::string FieldGuard::cause(Cell cell, bool no_number, double largest) const
{
  const bool single =
      plan_.scenario.grid.precision == scenarios::Precision::single_precision;
  const double range = single ? 1e30 : 1e150;  // its square is summed
  const bool at_source = plan_.scenario.implant &&
                         std::abs(cell.i - plan_.source_i) <= 1 &&
                         std::abs(cell.j - plan_.source_j) <= 1;
  if (largest > range || peak_ > range || (no_number && at_source)) {
    return fmt::format("numbers beyond what {} precision holds; weaken the source{}",
                       single ? "single" : "double",
                       single ? " or set grid.precision: double" : "");
  }
  if (in_absorber(plan_, cell)) {
    return "what runs through the absorbing layer; leave a wider margin of air "
           "(grid.margin) or raise grid.absorbing_cells, and report the scenario";
  }
  return "the medium there or the time step; lower grid.courant, and report the scenario";
}

template <class Real>
void FieldGuard::stop(const solver::YeeStepper<Real>& stepper) const
{
  const Trouble trouble = find(stepper);
  throw UnstableFields(fmt::format(
      "the fields {} at step {} ({:.4g} ns), {}; probable cause: {}; nothing was written",
      trouble.no_number ? "are no finite numbers any more" : "grow without a source",
      stepper.step(), stepper.grid().time(stepper.step()) * 1e9, place(trouble.cell),
      cause(trouble.cell, trouble.no_number, trouble.largest)));
}

template void FieldGuard::look(const solver::YeeStepper<float>&);
template void FieldGuard::look(const solver::YeeStepper<double>&);
template void FieldGuard::weigh(const solver::YeeStepper<float>&,
                                const postproc::EnergyTrace&);
template void FieldGuard::weigh(const solver::YeeStepper<double>&,
                                const postproc::EnergyTrace&);

}  // namespace torsowave::app
