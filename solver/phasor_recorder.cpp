#include "solver/phasor_recorder.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "materials/constants.hpp"
#include "solver/instruction_set.hpp"

namespace torsowave::solver {
namespace {

using Complex = std::complex<double>;

[[nodiscard]] std::vector<std::vector<Complex>> zeros(std::size_t frequencies,
                                                      std::size_t size)
{
  return {frequencies, std::vector<Complex>(size)};
}

void clear(std::vector<std::vector<Complex>>& sums)
{
  for (std::vector<Complex>& sum : sums) {
    std::fill(sum.begin(), sum.end(), Complex());
  }
}

}  // namespace

std::vector<Complex> sampling_phases(std::span<const double> frequencies, double time,
                                     double weight)
{
  std::vector<Complex> phases;
  for (const double frequency : frequencies) {
    // The whole turns go first: cos and sin stay exact however late it is.
    const double turns = std::fmod(frequency * time, 1.0);
    phases.push_back(weight * std::polar(1.0, -materials::two_pi * turns));
  }
  return phases;
}

double fade_weight(double x) noexcept
{
  if (x <= 0.0 || x >= 1.0) {
    return x <= 0.0 ? 1.0 : 0.0;
  }
  constexpr double a0 = 0.35875;
  constexpr double a1 = 0.48829;
  constexpr double a2 = 0.14128;
  constexpr double a3 = 0.01168;
  const double turn = materials::two_pi * x;
  const double waves = a1 * std::sin(turn) - a2 * std::sin(2.0 * turn) / 2.0 +
                       a3 * std::sin(3.0 * turn) / 3.0;
  return 1.0 - x + waves / (materials::two_pi * a0);
}

PhasorRecorder::PhasorRecorder(const Grid& grid, std::vector<double> frequencies)
    : PhasorRecorder(grid, std::move(frequencies),
                     {0, grid.raster.nx - 1, 0, grid.raster.ny - 1})
{
}

PhasorRecorder::PhasorRecorder(const Grid& grid, std::vector<double> frequencies,
                               const CellBox& cells)
    : raster_(grid.raster),
      cells_(cells),
      frequencies_(std::move(frequencies)),
      sums_(zeros(frequencies_.size(), grid.raster.size()))
{
}

template <class Real>
void PhasorRecorder::sample(const YeeStepper<Real>& stepper, double weight)
{
  const std::vector<Complex> phases = sampling_phases(
      frequencies_, stepper.grid().time(stepper.step()), weight * stepper.centre_scale());
  const auto add = observe_kernel<Real>(best_instruction_set()).add_phasors;
  stepper.for_row_bands([&](int begin, int end) {
    const int columns = cells_.last_i - cells_.first_i + 1;
    for (int j = std::max(begin, cells_.first_j); j < std::min(end, cells_.last_j + 1);
         ++j) {
      const Real* const centre = stepper.centre_row(j).data() + cells_.first_i;
      for (std::size_t f = 0; f < phases.size(); ++f) {
        // A complex array is pairs of (re, im) by the standard,
        // [complex.numbers.general].
        add(centre, columns, phases[f].real(), phases[f].imag(),
            reinterpret_cast<double*>(sums_[f].data() + raster_.at(cells_.first_i, j)));
      }
    }
  });
}

void PhasorRecorder::restart()
{
  clear(sums_);
}

void PhasorRecorder::save(StateWriter& out) const
{
  const int columns = cells_.last_i - cells_.first_i + 1;
  for (const std::vector<Complex>& sums : sums_) {
    for (int j = cells_.first_j; j <= cells_.last_j; ++j) {
      out.write("sums", std::span(sums).subspan(raster_.at(cells_.first_i, j),
                                                static_cast<std::size_t>(columns)));
    }
  }
}

void PhasorRecorder::restore(StateReader& in)
{
  const int columns = cells_.last_i - cells_.first_i + 1;
  for (std::vector<Complex>& sums : sums_) {
    for (int j = cells_.first_j; j <= cells_.last_j; ++j) {
      in.read("sums", std::span(sums).subspan(raster_.at(cells_.first_i, j),
                                              static_cast<std::size_t>(columns)));
    }
  }
}

std::span<const Complex> PhasorRecorder::row(std::size_t f, int j) const
{
  return {sums_.at(f).data() + raster_.at(0, j), static_cast<std::size_t>(raster_.nx)};
}

std::uint64_t PhasorRecorder::memory_bytes(int nx, int ny, std::size_t frequencies)
{
  return static_cast<std::uint64_t>(nx) * static_cast<std::uint64_t>(ny) * frequencies *
         sizeof(Complex);
}

ContourRecorder::ContourRecorder(const Grid& grid, geometry::Contour contour,
                                 std::vector<double> frequencies)
    : contour_(std::move(contour)),
      cell_(grid.raster.cell),
      time_step_(grid.time_step),
      frequencies_(std::move(frequencies)),
      centre_(zeros(frequencies_.size(), contour_.edges.size())),
      edge_(zeros(frequencies_.size(), contour_.edges.size()))
{
}

template <class Real>
void ContourRecorder::sample(const YeeStepper<Real>& stepper, double weight)
{
  const double time = stepper.grid().time(stepper.step());
  sign_ = stepper.polarisation() == Polarisation::tmz ? 1.0 : -1.0;
  const std::vector<Complex> at_centre =
      sampling_phases(frequencies_, time, weight * stepper.centre_scale());
  const std::vector<Complex> at_edge = sampling_phases(
      frequencies_, time - 0.5 * time_step_, weight * stepper.edge_scale());
  for (std::size_t p = 0; p < contour_.edges.size(); ++p) {
    const geometry::ContourEdge& edge = contour_.edges[p];
    const auto value = [](std::span<const Real> row, int i) {
      return static_cast<double>(row[static_cast<std::size_t>(i)]);
    };
    const double centre =
        0.5 * (value(stepper.centre_row(edge.j), edge.i) +
               value(stepper.centre_row(edge.j + edge.dj), edge.i + edge.di));
    const double across =
        edge.di != 0 ? value(stepper.y_edge_row(edge.j), edge.i + (edge.di > 0 ? 1 : 0))
                     : value(stepper.x_edge_row(edge.j + (edge.dj > 0 ? 1 : 0)), edge.i);
    for (std::size_t f = 0; f < frequencies_.size(); ++f) {
      centre_[f][p] += centre * at_centre[f];
      edge_[f][p] += across * at_edge[f];
    }
  }
}

void ContourRecorder::restart()
{
  clear(centre_);
  clear(edge_);
}

void ContourRecorder::save(StateWriter& out) const
{
  out.write_value("sign", sign_);
  for (std::size_t f = 0; f < frequencies_.size(); ++f) {
    out.write("centre", centre_[f]);
    out.write("edge", edge_[f]);
  }
}

void ContourRecorder::restore(StateReader& in)
{
  in.read_value("sign", sign_);
  for (std::size_t f = 0; f < frequencies_.size(); ++f) {
    in.read("centre", centre_[f]);
    in.read("edge", edge_[f]);
  }
}

std::vector<double> ContourRecorder::edge_power(std::size_t f) const
{
  // S = 1/2 Re(E x H*): TMz S_x = -1/2 Re(Ez Hy*), S_y = 1/2 Re(Ez Hx*); TEz, where the
  // signs are the other way round, S_x = 1/2 Re(Ey Hz*), S_y = -1/2 Re(Ex Hz*).
  std::vector<double> power;
  for (std::size_t p = 0; p < contour_.edges.size(); ++p) {
    const geometry::ContourEdge& edge = contour_.edges[p];
    const double product =
        0.5 * (centre_.at(f)[p] * std::conj(edge_[f][p])).real() * cell_;
    power.push_back(sign_ * (edge.di != 0 ? -edge.di * product : edge.dj * product));
  }
  return power;
}

SourceRecorder::SourceRecorder(const Grid& grid, std::function<double(double)> current,
                               std::vector<double> frequencies, double early)
    : grid_(grid),
      current_(std::move(current)),
      frequencies_(std::move(frequencies)),
      early_(early),
      sums_(frequencies_.size())
{
}

void SourceRecorder::sample(long step, double weight)
{
  const double time = grid_.time(step) - early_ * grid_.time_step;
  const std::vector<Complex> phases = sampling_phases(frequencies_, time, weight);
  const double value = current_(time);
  for (std::size_t f = 0; f < sums_.size(); ++f) {
    sums_[f] += value * phases[f];
  }
}

void SourceRecorder::restart()
{
  std::fill(sums_.begin(), sums_.end(), Complex());
}

template void PhasorRecorder::sample<float>(const YeeStepper<float>&, double);
template void PhasorRecorder::sample<double>(const YeeStepper<double>&, double);
template void ContourRecorder::sample<float>(const YeeStepper<float>&, double);
template void ContourRecorder::sample<double>(const YeeStepper<double>&, double);

}  // namespace torsowave::solver
