#include "solver/tez_stepper.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <utility>
#include <vector>

#include "materials/constants.hpp"
#include "solver/absorber_strips_internal.hpp"
#include "solver/field_array_internal.hpp"
#include "solver/field_energy_internal.hpp"
#include "solver/injection_schedule_internal.hpp"
#include "solver/pass_length.hpp"
#include "solver/row_team_internal.hpp"
#include "solver/sample_source_internal.hpp"
#include "solver/tensor_terms_internal.hpp"
#include "solver/time_tiles_internal.hpp"
#include "solver/update_table.hpp"

namespace torsowave::solver {
namespace {

using materials::vacuum_permeability;
using materials::vacuum_permittivity;

void check(const Grid& grid, const TezMedium& medium, const AbsorberSpec& absorber)
{
  const auto nx = static_cast<std::size_t>(grid.raster.nx);
  const auto ny = static_cast<std::size_t>(grid.raster.ny);
  if (medium.x_edges.size() != nx * (ny + 1) || medium.y_edges.size() != (nx + 1) * ny) {
    throw std::invalid_argument("the medium does not cover the grid");
  }
  if (!medium.x_averaged.empty() && medium.x_averaged.size() != medium.x_edges.size()) {
    throw std::invalid_argument("averaged edges that do not cover the grid");
  }
  if (medium.relaxation_times.size() > static_cast<std::size_t>(kernels::max_poles)) {
    throw std::invalid_argument("at most 4 shared relaxation times");
  }
  if (absorber.cells < 0 ||
      2 * absorber.cells >= std::min(grid.raster.nx, grid.raster.ny)) {
    throw std::invalid_argument("the absorber leaves no room in the grid");
  }
}

/// A medium at the cells, from the edges below them: what the absorber is graded by.
[[nodiscard]] Medium at_cells(const Grid& grid, const TezMedium& medium)
{
  return {medium.relaxation_times,
          medium.palette,
          {medium.x_edges.begin(),
           medium.x_edges.begin() + static_cast<std::ptrdiff_t>(grid.raster.size())}};
}

/// Ex or Ey with its relaxations.
template <class Real>
struct PolarArrays {
  PolarArrays(int rows, std::ptrdiff_t stride, std::size_t poles, int slot)
      : field(0, rows, stride, slot)
  {
    for (std::size_t k = 0; k < poles; ++k) {
      q.emplace_back(0, rows, stride, ++slot);
    }
  }

  void clear_row(int j) const
  {
    field.clear_row(j);
    for (const FieldArray<Real>& pole : q) {
      pole.clear_row(j);
    }
  }

  [[nodiscard]] kernels::PolarField<Real> view() const
  {
    kernels::PolarField<Real> result{field.origin(), {}};
    for (std::size_t k = 0; k < q.size(); ++k) {
      result.q[k] = q[k].origin();
    }
    return result;
  }

  [[nodiscard]] PolarRow<Real> row(int j) const
  {
    PolarRow<Real> result{field.row(j), {}};
    for (const FieldArray<Real>& pole : q) {
      result.q.push_back(pole.row(j));
    }
    return result;
  }

  void save(StateWriter& out) const
  {
    out.write("e", field.values());
    for (const FieldArray<Real>& pole : q) {
      out.write("q", pole.values());
    }
  }
  void restore(StateReader& in) const
  {
    in.read("e", field.values());
    for (const FieldArray<Real>& pole : q) {
      in.read("q", pole.values());
    }
  }

  FieldArray<Real> field;
  std::vector<FieldArray<Real>> q;
};

}  // namespace

template <class Real>
struct TezStepper<Real>::State {
  State(const Grid& g, const TezMedium& m, const AbsorberSpec& absorber,
        const StepperOptions& options)
      : grid(g),
        medium(m),
        palette(update_coefficients<Real>(g, m.palette, m.relaxation_times)),
        x_table(
            run_table<Real>(m.x_edges, g.raster.nx, m.palette, palette, m.x_averaged)),
        y_table(run_table<Real>(m.y_edges, g.raster.nx + 1, m.palette, palette)),
        stride(row_stride<Real>(g.raster.nx)),
        strips(absorber, g, at_cells(g, m), m, palette, stride),
        tensors(m, g.raster.ny),
        threads(std::clamp(options.threads, 1, g.raster.ny)),
        kernel(tez_kernel<Real>(options.instructions,
                                static_cast<int>(m.relaxation_times.size()))),
        hz(-1, g.raster.ny + 2, stride, 0),
        ex(g.raster.ny + 1, stride, m.relaxation_times.size(), 1),
        ey(g.raster.ny, stride, m.relaxation_times.size(), 6),
        schedule(g.raster),
        tiles(y_table.row_costs(), threads,
              steps_per_pass(options.steps_per_pass,
                             static_cast<std::size_t>(stride) * sizeof(Real) *
                                 (3 + 2 * m.relaxation_times.size())))
  {
    clear();
    point();
  }

  void clear()
  {
    for_bands(threads, grid.raster.ny, [this](int begin, int end) {
      for (int j = begin; j < end; ++j) {
        hz.clear_row(j);
        ex.clear_row(j);
        ey.clear_row(j);
      }
      if (begin == 0) {
        hz.clear_row(-1);
      }
      if (end == grid.raster.ny) {
        hz.clear_row(end);
        ex.clear_row(end);
      }
    });
  }

  void point()
  {
    args.nx = grid.raster.nx;
    args.ny = grid.raster.ny;
    args.stride = stride;
    args.hz = hz.origin();
    args.ex = ex.view();
    args.ey = ey.view();
    for (std::size_t k = 0; k < medium.relaxation_times.size(); ++k) {
      args.pole_gain[k] =
          static_cast<Real>(pole_gain(medium.relaxation_times[k], grid.time_step));
    }
    args.palette = palette.data();
    args.x_media = x_table.view();
    args.y_media = y_table.view();
    args.tensors = tensors.view();
    strips.point(args);
  }

  [[nodiscard]] std::span<const std::uint16_t> x_entries(int e) const
  {
    const auto nx = static_cast<std::size_t>(grid.raster.nx);
    return std::span(medium.x_edges).subspan(static_cast<std::size_t>(e) * nx, nx);
  }
  [[nodiscard]] std::span<const std::uint16_t> y_entries(int j) const
  {
    const auto width = static_cast<std::size_t>(grid.raster.nx) + 1;
    return std::span(medium.y_edges).subspan(static_cast<std::size_t>(j) * width, width);
  }

  /// Energy per area [J/m^3], summed over row j: its centres, the edges below, its
  /// upright ones.
  [[nodiscard]] double row_energy(int j) const
  {
    const double scale = grid.time_step / (vacuum_permeability * grid.raster.cell);
    const auto squares = observe_kernel<Real>(best_instruction_set()).sum_of_squares;
    return 0.5 * vacuum_permeability * scale * scale *
               squares(hz.row(j), grid.raster.nx) +
           0.5 * vacuum_permittivity *
               (polar_energy(ex.row(j), j, x_table, x_entries(j), medium.palette) +
                polar_energy(ey.row(j), j, y_table, y_entries(j), medium.palette));
  }

  [[nodiscard]] bool holds(int i, int j) const
  {
    return i >= 0 && i < grid.raster.nx && j >= 0 && j < grid.raster.ny;
  }

  /// What one A m per m on an edge adds to E in a step: -(dt/eps0)/(N dx^2), halved, for
  /// two edges share it.
  [[nodiscard]] double dipole_weight(std::uint16_t entry) const
  {
    if (medium.palette[entry].conductor) {
      throw std::invalid_argument("the dipole lies in a perfect conductor");
    }
    return -0.5 * static_cast<double>(palette[entry].curl) * vacuum_permeability /
           grid.time_step;
  }

  Grid grid;
  TezMedium medium;
  std::vector<kernels::CellCoefficients<Real>> palette;
  RunTable<Real> x_table, y_table;
  std::ptrdiff_t stride;
  TezAbsorberStrips<Real> strips;
  TensorArrays<Real> tensors;
  int threads;
  kernels::TezKernel<Real> kernel;
  FieldArray<Real> hz;
  PolarArrays<Real> ex, ey;
  kernels::TezArgs<Real> args{};
  InjectionSchedule schedule;
  TimeTiles<kernels::TezArgs<Real>, kernels::TezKernel<Real>> tiles;
  long step = 0;
};

template <class Real>
TezStepper<Real>::TezStepper(const Grid& grid, const TezMedium& medium,
                             const AbsorberSpec& absorber, const StepperOptions& options)
{
  check(grid, medium, absorber);
  state_ = std::make_unique<State>(grid, medium, absorber, options);
}

template <class Real>
TezStepper<Real>::~TezStepper() = default;
template <class Real>
TezStepper<Real>::TezStepper(TezStepper&&) noexcept = default;
template <class Real>
TezStepper<Real>& TezStepper<Real>::operator=(TezStepper&&) noexcept = default;

template <class Real>
void TezStepper<Real>::add_source(MagneticLine source)
{
  const State& s = *state_;
  if (!s.holds(source.i, source.j)) {
    throw std::invalid_argument("the source lies outside the grid");
  }
  // mu0 dHz/dt = ... - k/dx^2; stored Hz mu0 dx/dt takes -k/dx of it.
  const double weight = -1.0 / s.grid.raster.cell;
  add_injection(std::make_shared<SampleSource>(
      std::vector<SampleSource::Sample>{{Site::centre, source.j, source.i, weight}},
      std::move(source.current), s.grid.time_step, 0.5));
}

template <class Real>
void TezStepper<Real>::add_source(LineDipole source)
{
  const State& s = *state_;
  if (!s.holds(source.i, source.j)) {
    throw std::invalid_argument("the source lies outside the grid");
  }
  const double x = std::cos(source.direction);
  const double y = std::sin(source.direction);
  std::vector<SampleSource::Sample> samples;
  for (int side = 0; side < 2; ++side) {
    const int e = source.j + side;
    const int c = source.i + side;
    const auto is_here = [&](bool along_x, const TensorEdge& edge) {
      return along_x ? edge.i == source.i && edge.j == e
                     : edge.i == c && edge.j == source.j;
    };
    if (std::ranges::any_of(s.medium.x_tensor_edges,
                            [&](const TensorEdge& t) { return is_here(true, t); }) ||
        std::ranges::any_of(s.medium.y_tensor_edges,
                            [&](const TensorEdge& t) { return is_here(false, t); })) {
      throw std::invalid_argument("the dipole lies on an interface");
    }
    // The current is averaged as the curl is: E answers to their difference.
    const double weight =
        x * s.dipole_weight(s.x_entries(e)[static_cast<std::size_t>(source.i)]);
    const double left = s.medium.averaged_with_left(source.i, e, s.grid.raster.nx);
    const double right = s.medium.averaged_with_left(source.i + 1, e, s.grid.raster.nx);
    samples.push_back({Site::x_edge, e, source.i, weight * (1.0 - left - right)});
    if (left != 0.0) {
      samples.push_back({Site::x_edge, e, source.i - 1, weight * left});
    }
    if (right != 0.0) {
      samples.push_back({Site::x_edge, e, source.i + 1, weight * right});
    }
    samples.push_back(
        {Site::y_edge, source.j, c,
         y * s.dipole_weight(s.y_entries(source.j)[static_cast<std::size_t>(c)])});
  }
  // E goes from (n - 1/2) dt to (n + 1/2) dt: the moment is taken at n dt.
  add_injection(std::make_shared<SampleSource>(
      std::move(samples), std::move(source.moment), s.grid.time_step, 0.0));
}

template <class Real>
void TezStepper<Real>::add_injection(std::shared_ptr<Injection> injection)
{
  state_->schedule.add(std::move(injection));
  state_->schedule.point(state_->args);
}

template <class Real>
void TezStepper<Real>::advance(int steps)
{
  State& s = *state_;
  const std::vector<Real> amounts = s.schedule.template sample<Real>(s.step, steps);
  s.tiles.advance(s.args, s.kernel, steps, amounts.data(), s.schedule.amounts());
  s.step += steps;
}

template <class Real>
long TezStepper<Real>::step() const noexcept
{
  return state_->step;
}

template <class Real>
const Grid& TezStepper<Real>::grid() const noexcept
{
  return state_->grid;
}

template <class Real>
std::span<const Real> TezStepper<Real>::centre_row(int j) const noexcept
{
  return {state_->hz.row(j), static_cast<std::size_t>(state_->grid.raster.nx)};
}

template <class Real>
std::span<const Real> TezStepper<Real>::x_edge_row(int e) const noexcept
{
  return {state_->ex.field.row(e), static_cast<std::size_t>(state_->grid.raster.nx)};
}

template <class Real>
std::span<const Real> TezStepper<Real>::y_edge_row(int j) const noexcept
{
  return {state_->ey.field.row(j), static_cast<std::size_t>(state_->grid.raster.nx + 1)};
}

template <class Real>
double TezStepper<Real>::centre_scale() const noexcept
{
  return state_->grid.time_step / (vacuum_permeability * state_->grid.raster.cell);
}

template <class Real>
double TezStepper<Real>::energy() const
{
  const State& s = *state_;
  const geometry::Raster& raster = s.grid.raster;
  std::vector<double> row_energy(static_cast<std::size_t>(raster.ny), 0.0);
  for_row_bands([&](int begin, int end) {
    for (int j = begin; j < end; ++j) {
      row_energy[static_cast<std::size_t>(j)] = s.row_energy(j);
    }
  });
  double total = 0.0;
  for (const double row : row_energy) {
    total += row;
  }
  return total * raster.cell * raster.cell;
}

template <class Real>
void TezStepper<Real>::save(StateWriter& out) const
{
  const State& s = *state_;
  out.write_value("step", s.step);
  out.write("hz", s.hz.values());
  s.ex.save(out);
  s.ey.save(out);
  s.strips.save(out);
  s.tensors.save(out);
  s.schedule.save(out);
}

template <class Real>
void TezStepper<Real>::restore(StateReader& in)
{
  State& s = *state_;
  in.read_value("step", s.step);
  in.read("hz", s.hz.values());
  s.ex.restore(in);
  s.ey.restore(in);
  s.strips.restore(in);
  s.tensors.restore(in);
  s.schedule.restore(in);
}

template <class Real>
void TezStepper<Real>::for_row_bands(const std::function<void(int, int)>& body) const
{
  for_bands(state_->threads, state_->grid.raster.ny, body);
}

template <class Real>
std::uint64_t TezStepper<Real>::memory_bytes(int nx, int ny, int poles) noexcept
{
  const auto row = static_cast<std::uint64_t>(row_stride<Real>(nx)) * sizeof(Real);
  const auto rows = static_cast<std::uint64_t>(ny);
  return row * (rows * static_cast<std::uint64_t>(3 + 2 * poles) + 4) +
         rows * static_cast<std::uint64_t>(nx) * (2 * sizeof(std::uint16_t) + 1);
}

template class TezStepper<float>;
template class TezStepper<double>;

}  // namespace torsowave::solver
