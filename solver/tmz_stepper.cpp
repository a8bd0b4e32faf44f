#include "solver/tmz_stepper.hpp"

#include <algorithm>
#include <stdexcept>
#include <utility>

#include "materials/constants.hpp"
#include "solver/absorber_strips_internal.hpp"
#include "solver/field_array_internal.hpp"
#include "solver/field_energy_internal.hpp"
#include "solver/injection_schedule_internal.hpp"
#include "solver/pass_length.hpp"
#include "solver/row_team_internal.hpp"
#include "solver/sample_source_internal.hpp"
#include "solver/time_tiles_internal.hpp"
#include "solver/update_table.hpp"

namespace torsowave::solver {
namespace {

using materials::vacuum_permeability;
using materials::vacuum_permittivity;

void check(const Grid& grid, const Medium& medium, const AbsorberSpec& absorber)
{
  if (medium.cells.size() != grid.raster.size()) {
    throw std::invalid_argument("the medium does not cover the grid");
  }
  if (medium.relaxation_times.size() > static_cast<std::size_t>(kernels::max_poles)) {
    throw std::invalid_argument("at most 4 shared relaxation times");
  }
  for (const MediumEntry& entry : medium.palette) {
    if (!entry.conductor && entry.strengths.size() != medium.relaxation_times.size()) {
      throw std::invalid_argument("a medium needs one strength for each relaxation time");
    }
  }
  const bool one_row = grid.raster.ny == 1;
  if (absorber.cells < 0 || 2 * absorber.cells >= grid.raster.nx ||
      (!one_row && 2 * absorber.cells >= grid.raster.ny)) {
    throw std::invalid_argument("the absorber leaves no room in the grid");
  }
}

}  // namespace

template <class Real>
struct TmzStepper<Real>::State {
  State(const Grid& g, const Medium& m, const AbsorberSpec& absorber,
        const StepperOptions& options)
      : grid(g),
        medium(m),
        palette(update_coefficients<Real>(g, m.palette, m.relaxation_times)),
        table(run_table<Real>(m.cells, g.raster.nx, m.palette, palette)),
        stride(row_stride<Real>(g.raster.nx)),
        strips(absorber, g, m, palette, stride),
        threads(std::clamp(options.threads, 1, g.raster.ny)),
        kernel(sweep_kernel<Real>(options.instructions,
                                  static_cast<int>(m.relaxation_times.size()))),
        ez(-1, g.raster.ny + 2, stride, 0),
        hx(0, g.raster.ny + 1, stride, 1),
        hy(0, g.raster.ny, stride, 2),
        schedule(g.raster),
        tiles(table.row_costs(), threads,
              steps_per_pass(options.steps_per_pass, static_cast<std::size_t>(stride) *
                                                         sizeof(Real) *
                                                         (3 + m.relaxation_times.size())))
  {
    for (std::size_t k = 0; k < m.relaxation_times.size(); ++k) {
      q.emplace_back(0, g.raster.ny, stride, 3 + static_cast<int>(k));
    }
    clear();
    point();
  }

  [[nodiscard]] int poles() const { return static_cast<int>(q.size()); }

  void clear()
  {
    bands([this](int begin, int end) {
      const int ny = grid.raster.ny;
      for (int j = begin; j < end; ++j) {
        ez.clear_row(j);
        hx.clear_row(j);
        hy.clear_row(j);
        for (const FieldArray<Real>& pole : q) {
          pole.clear_row(j);
        }
      }
      if (begin == 0) {
        ez.clear_row(-1);
      }
      if (end == ny) {
        ez.clear_row(ny);
        hx.clear_row(ny);
      }
    });
  }

  void point()
  {
    args.nx = grid.raster.nx;
    args.ny = grid.raster.ny;
    args.stride = stride;
    args.ez.field = ez.origin();
    args.hx = hx.origin();
    args.hy = hy.origin();
    for (std::size_t k = 0; k < q.size(); ++k) {
      args.ez.q[k] = q[k].origin();
      args.pole_gain[k] =
          static_cast<Real>(pole_gain(medium.relaxation_times[k], grid.time_step));
    }
    args.palette = palette.data();
    args.media = table.view();
    strips.point(args);
  }

  void bands(const std::function<void(int, int)>& body) const
  {
    for_bands(threads, grid.raster.ny, body);
  }

  /// Energy per area [J/m^3], summed over the edges.
  [[nodiscard]] double magnetic_energy(std::span<const Real> stored) const
  {
    const double scale = grid.time_step / (vacuum_permeability * grid.raster.cell);
    const auto squares = observe_kernel<Real>(best_instruction_set()).sum_of_squares;
    return 0.5 * vacuum_permeability * scale * scale *
           squares(stored.data(), static_cast<std::int32_t>(stored.size()));
  }

  /// The same of row j, with the edges below it and all of its upright ones.
  [[nodiscard]] double row_energy(int j) const
  {
    const auto nx = static_cast<std::size_t>(grid.raster.nx);
    PolarRow<Real> row{ez.row(j), {}};
    for (const FieldArray<Real>& pole : q) {
      row.q.push_back(pole.row(j));
    }
    const std::span cells(medium.cells.data() + grid.raster.at(0, j), nx);
    return 0.5 * vacuum_permittivity *
               polar_energy(row, j, table, cells, medium.palette) +
           magnetic_energy({hx.row(j), nx}) + magnetic_energy({hy.row(j), nx + 1});
  }

  Grid grid;
  Medium medium;
  std::vector<kernels::CellCoefficients<Real>> palette;
  RunTable<Real> table;
  std::ptrdiff_t stride;
  AbsorberStrips<Real> strips;
  int threads;
  kernels::SweepKernel<Real> kernel;
  FieldArray<Real> ez, hx, hy;
  std::vector<FieldArray<Real>> q;
  kernels::SweepArgs<Real> args{};
  InjectionSchedule schedule;
  TimeTiles<kernels::SweepArgs<Real>, kernels::SweepKernel<Real>> tiles;
  long step = 0;
};

template <class Real>
TmzStepper<Real>::TmzStepper(const Grid& grid, const Medium& medium,
                             const AbsorberSpec& absorber, const StepperOptions& options)
{
  check(grid, medium, absorber);
  state_ = std::make_unique<State>(grid, medium, absorber, options);
}

template <class Real>
TmzStepper<Real>::~TmzStepper() = default;
template <class Real>
TmzStepper<Real>::TmzStepper(TmzStepper&&) noexcept = default;
template <class Real>
TmzStepper<Real>& TmzStepper<Real>::operator=(TmzStepper&&) noexcept = default;

template <class Real>
void TmzStepper<Real>::add_source(LineCurrent source)
{
  const State& s = *state_;
  const geometry::Raster& raster = s.grid.raster;
  if (source.i < 0 || source.i >= raster.nx || source.j < 0 || source.j >= raster.ny) {
    throw std::invalid_argument("the source lies outside the grid");
  }
  const std::uint16_t entry = s.medium.cells[raster.at(source.i, source.j)];
  if (s.medium.palette[entry].conductor) {
    throw std::invalid_argument("the source lies in a perfect conductor");
  }
  // -(dt/eps0)/(N dx^2) i, written with the scaled Cb = (c dt/dx)^2/N.
  const double weight = -static_cast<double>(s.palette[entry].curl) *
                        vacuum_permeability / s.grid.time_step;
  add_injection(std::make_shared<SampleSource>(
      std::vector<SampleSource::Sample>{{Site::centre, source.j, source.i, weight}},
      std::move(source.current), s.grid.time_step, 0.5));
}

template <class Real>
void TmzStepper<Real>::add_injection(std::shared_ptr<Injection> injection)
{
  state_->schedule.add(std::move(injection));
  state_->schedule.point(state_->args);
}

template <class Real>
void TmzStepper<Real>::advance(int steps)
{
  State& s = *state_;
  const std::vector<Real> amounts = s.schedule.template sample<Real>(s.step, steps);
  s.tiles.advance(s.args, s.kernel, steps, amounts.data(), s.schedule.amounts());
  s.step += steps;
}

template <class Real>
long TmzStepper<Real>::step() const noexcept
{
  return state_->step;
}

template <class Real>
const Grid& TmzStepper<Real>::grid() const noexcept
{
  return state_->grid;
}

template <class Real>
std::span<const Real> TmzStepper<Real>::centre_row(int j) const noexcept
{
  return {state_->ez.row(j), static_cast<std::size_t>(state_->grid.raster.nx)};
}

template <class Real>
std::span<const Real> TmzStepper<Real>::x_edge_row(int e) const noexcept
{
  return {state_->hx.row(e), static_cast<std::size_t>(state_->grid.raster.nx)};
}

template <class Real>
std::span<const Real> TmzStepper<Real>::y_edge_row(int j) const noexcept
{
  return {state_->hy.row(j), static_cast<std::size_t>(state_->grid.raster.nx + 1)};
}

template <class Real>
double TmzStepper<Real>::edge_scale() const noexcept
{
  return state_->grid.time_step / (vacuum_permeability * state_->grid.raster.cell);
}

template <class Real>
double TmzStepper<Real>::energy() const
{
  const State& s = *state_;
  const geometry::Raster& raster = s.grid.raster;
  // One entry more than there are rows: Hx has an edge above the last row.
  std::vector<double> row_energy(static_cast<std::size_t>(raster.ny) + 1, 0.0);
  s.bands([&](int begin, int end) {
    for (int j = begin; j < end; ++j) {
      row_energy[static_cast<std::size_t>(j)] = s.row_energy(j);
    }
  });
  row_energy.back() = s.magnetic_energy(x_edge_row(raster.ny));
  double total = 0.0;
  for (const double row : row_energy) {
    total += row;
  }
  return total * raster.cell * raster.cell;
}

template <class Real>
void TmzStepper<Real>::save(StateWriter& out) const
{
  const State& s = *state_;
  out.write_value("step", s.step);
  out.write("ez", s.ez.values());
  out.write("hx", s.hx.values());
  out.write("hy", s.hy.values());
  for (const FieldArray<Real>& pole : s.q) {
    out.write("q", pole.values());
  }
  s.strips.save(out);
  s.schedule.save(out);
}

template <class Real>
void TmzStepper<Real>::restore(StateReader& in)
{
  State& s = *state_;
  in.read_value("step", s.step);
  in.read("ez", s.ez.values());
  in.read("hx", s.hx.values());
  in.read("hy", s.hy.values());
  for (const FieldArray<Real>& pole : s.q) {
    in.read("q", pole.values());
  }
  s.strips.restore(in);
  s.schedule.restore(in);
}

template <class Real>
void TmzStepper<Real>::for_row_bands(const std::function<void(int, int)>& body) const
{
  state_->bands(body);
}

template <class Real>
std::uint64_t TmzStepper<Real>::memory_bytes(int nx, int ny, int poles) noexcept
{
  const auto row = static_cast<std::uint64_t>(row_stride<Real>(nx)) * sizeof(Real);
  const auto rows = static_cast<std::uint64_t>(ny);
  return row * (rows * static_cast<std::uint64_t>(3 + poles) + 3) +
         rows * static_cast<std::uint64_t>(nx) * sizeof(std::uint16_t);
}

template class TmzStepper<float>;
template class TmzStepper<double>;

}  // namespace torsowave::solver
