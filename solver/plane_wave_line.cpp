#include "solver/plane_wave_line.hpp"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <stdexcept>
#include <utility>

#include "materials/constants.hpp"
#include "solver/plane_wave_drive_internal.hpp"
#include "solver/update_table.hpp"

namespace torsowave::solver {
namespace {

/// The matched layer: damping rate gamma with gamma dt = steepest depth^order. Chosen by
/// measurement (docs/validation.md).
constexpr double layer_cells = 120.0;
constexpr double layer_order = 5.0;
constexpr double layer_steepest = 0.6;

void check(WaveDirection direction, const HomogeneousMedium& medium)
{
  if (medium.entry.conductor) {
    throw std::invalid_argument("a plane wave cannot travel in a perfect conductor");
  }
  if (medium.entry.strengths.size() != medium.relaxation_times.size()) {
    throw std::invalid_argument(
        "the medium of a plane wave needs one strength for each relaxation time");
  }
  const bool vacuum = medium.entry.eps_inf == 1.0 && medium.entry.conductivity == 0.0 &&
                      !medium.entry.has_poles();
  if (!vacuum && !direction.on_axis()) {
    throw std::invalid_argument(
        "a plane wave at an angle to the axes must arrive through vacuum");
  }
}

}  // namespace

PlaneWaveLine::PlaneWaveLine(const Grid& grid, WaveDirection direction, int length,
                             std::function<double(double)> waveform,
                             const HomogeneousMedium& medium)
    : length_(std::max(length, direction.major())),
      cells_per_sample_(1.0 / direction.length()),
      driven_(direction.major())
{
  check(direction, medium);
  drive_ = std::make_unique<PlaneWaveDrive>(grid, direction, std::move(waveform));
  set_medium(grid, medium);
  const auto layer_samples =
      static_cast<std::size_t>(std::ceil(layer_cells / cells_per_sample_));
  const std::size_t size = index(length_) + layer_samples;
  u_.assign(size, 0.0);
  q_.assign(pole_.size(), u_);
  layer_ = layer(0.0);
  x_.stride = std::abs(direction.x);
  y_.stride = std::abs(direction.y);
  for (Axis* axis : {&x_, &y_}) {
    axis->g.assign(size + index(axis->stride), 0.0);
    axis->layer = layer(-0.5 * axis->stride);
  }
  for (int r = 0; r < driven_; ++r) {
    u_[index(r)] = drive_->sample(r);
  }
}

PlaneWaveLine::~PlaneWaveLine() = default;
PlaneWaveLine::PlaneWaveLine(PlaneWaveLine&&) noexcept = default;
PlaneWaveLine& PlaneWaveLine::operator=(PlaneWaveLine&&) noexcept = default;

void PlaneWaveLine::save(StateWriter& out) const
{
  drive_->save(out);
  out.write("u", u_);
  for (const std::vector<double>& q : q_) {
    out.write("q", q);
  }
  for (const Axis* axis : {&x_, &y_}) {
    out.write("g", axis->g);
    out.write("psi", axis->layer.psi);
  }
  out.write("psi", layer_.psi);
}

void PlaneWaveLine::restore(StateReader& in)
{
  drive_->restore(in);
  in.read("u", u_);
  for (std::vector<double>& q : q_) {
    in.read("q", q);
  }
  for (Axis* axis : {&x_, &y_}) {
    in.read("g", axis->g);
    in.read("psi", axis->layer.psi);
  }
  in.read("psi", layer_.psi);
}

void PlaneWaveLine::set_medium(const Grid& grid, const HomogeneousMedium& medium)
{
  const double dt = grid.time_step;
  const MediumEntry& entry = medium.entry;
  double s = entry.conductivity * dt / (2.0 * materials::vacuum_permittivity);
  for (std::size_t k = 0; k < entry.strengths.size(); ++k) {
    pole_gain_.push_back(pole_gain(medium.relaxation_times[k], dt));
    s += entry.strengths[k] * pole_gain_[k];
  }
  const double n = entry.eps_inf + s;
  const double courant = materials::speed_of_light * dt / grid.raster.cell;
  curl_ = courant * courant / n;
  loss_ = 2.0 * s / n;
  for (std::size_t k = 0; k < entry.strengths.size(); ++k) {
    pole_.push_back(2.0 * entry.strengths[k] * pole_gain_[k] / n);
  }
}

/// In the layer E and H decay alike on top of their plain motion, by exp(-gamma dt) in a
/// step: a curl c becomes c sinh(j w dt/2)/sinh((j w + gamma) dt/2) in both equations, so
/// that for constant gamma the ratio of E and H is that of the plain line at every
/// frequency and in every medium. What comes back is due to the growth of gamma alone.
/// Derived in docs/numerics.md, section 14.
PlaneWaveLine::Layer PlaneWaveLine::layer(double offset) const
{
  Layer layer;
  for (std::size_t p = 0; p < u_.size() - index(length_); ++p) {
    const double depth =
        (static_cast<double>(p) + offset) * cells_per_sample_ / layer_cells;
    const double decay =
        layer_steepest * std::pow(std::max(0.0, depth), layer_order);  // gamma dt
    layer.shrink.push_back(std::exp(-0.5 * decay));
    layer.b.push_back(std::exp(-decay));
    layer.psi.push_back(0.0);
  }
  return layer;
}

double PlaneWaveLine::Layer::damp(std::size_t p, double d)
{
  const double damped = shrink[p] * d + psi[p];
  psi[p] = b[p] * psi[p] - shrink[p] * (1.0 - b[p]) * d;
  return damped;
}

void PlaneWaveLine::advance_edges()
{
  advance_edges(x_);
  advance_edges(y_);
}

void PlaneWaveLine::advance_edges(Axis& axis)
{
  if (axis.stride == 0) {
    return;
  }
  const double* const u = u_.data();
  double* const g = axis.g.data();
#pragma omp simd
  for (int r = axis.stride; r < length_; ++r) {
    g[r] += u[r] - u[r - axis.stride];
  }
  for (std::size_t r = index(length_); r < u_.size(); ++r) {
    g[r] += axis.layer.damp(r - index(length_), u[r] - u[r - index(axis.stride)]);
  }
}

void PlaneWaveLine::update_centre(std::size_t r, double curl)
{
  const double before = u_[r];
  double change = curl_ * curl - loss_ * before;
  for (std::size_t k = 0; k < q_.size(); ++k) {
    change += pole_[k] * q_[k][r];
  }
  u_[r] = before + change;
  for (std::size_t k = 0; k < q_.size(); ++k) {
    q_[k][r] += pole_gain_[k] * (2.0 * before + change - 2.0 * q_[k][r]);
  }
}

void PlaneWaveLine::advance_centres()
{
  drive_->advance();
  for (int r = 0; r < driven_; ++r) {
    u_[index(r)] = drive_->sample(r);
  }
  if (loss_ == 0.0) {
    double* const u = u_.data();
    const double* const gx = x_.g.data();
    const double* const gy = y_.g.data();
#pragma omp simd
    for (int r = driven_; r < length_; ++r) {
      u[r] += curl_ * ((gx[r + x_.stride] - gx[r]) + (gy[r + y_.stride] - gy[r]));
    }
  } else {
    for (std::size_t r = index(driven_); r < index(length_); ++r) {
      update_centre(r, curl_at(r));
    }
  }
  for (std::size_t r = index(length_); r < u_.size(); ++r) {
    update_centre(r, layer_.damp(r - index(length_), curl_at(r)));
  }
}

}  // namespace torsowave::solver
