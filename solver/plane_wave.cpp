#include "solver/plane_wave.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numbers>
#include <stdexcept>
#include <tuple>
#include <utility>

#include "materials/constants.hpp"
#include "solver/phasor_recorder.hpp"

namespace torsowave::solver {
namespace {

[[nodiscard]] int sign(int x)
{
  return (x > 0 ? 1 : 0) - (x < 0 ? 1 : 0);
}

/// One axis of the box: cells first .. last of 0 .. n - 1.
struct Extent {
  int first = 0;
  int last = 0;
  int n = 0;

  [[nodiscard]] bool low_face() const { return first > 0; }
  [[nodiscard]] bool high_face() const { return last < n - 1; }
};

/// \param travel  sign of the direction along this axis
/// \param open    whether the box may run to the wall where the wave leaves
void check(const Extent& extent, int absorbing_cells, int travel, bool open)
{
  if (extent.first < 0 || extent.first > extent.last || extent.last >= extent.n) {
    throw std::invalid_argument("the total-field box does not fit into the grid");
  }
  const bool low =
      extent.first > absorbing_cells || (open && travel < 0 && !extent.low_face());
  const bool high = extent.last < extent.n - 1 - absorbing_cells ||
                    (open && travel > 0 && !extent.high_face());
  if (!low || !high) {
    throw std::invalid_argument(
        "the total-field box needs a cell of scattered field between itself and the "
        "absorber");
  }
}

[[nodiscard]] WaveDirection direction_on(const Grid& grid, double angle)
{
  const WaveDirection direction = nearest_direction(angle);
  if (grid.raster.ny > 1) {
    return direction;
  }
  if (std::abs(std::sin(angle)) > 1e-9) {
    throw std::invalid_argument("in one dimension a plane wave travels at 0 or 180 deg");
  }
  return {sign(direction.x), 0};
}

[[nodiscard]] bool is_vacuum(const MediumEntry& entry)
{
  return !entry.conductor && entry.eps_inf == 1.0 && entry.conductivity == 0.0 &&
         !entry.has_poles();
}

void check(const Grid& grid, const PlaneWaveSpec& spec, WaveDirection direction)
{
  if (!spec.waveform) {
    throw std::invalid_argument("a plane wave needs a waveform");
  }
  if (spec.polarisation == Polarisation::tez && !is_vacuum(spec.medium.entry)) {
    throw std::invalid_argument("in TEz a plane wave must arrive through vacuum");
  }
  const bool one_row = grid.raster.ny == 1;
  check({spec.box.first_i, spec.box.last_i, grid.raster.nx}, grid.absorbing_cells,
        sign(direction.x), one_row);
  if (one_row && (spec.box.first_j != 0 || spec.box.last_j != 0)) {
    throw std::invalid_argument("the total-field box does not fit into the grid");
  }
  if (!one_row) {
    check({spec.box.first_j, spec.box.last_j, grid.raster.ny}, grid.absorbing_cells,
          sign(direction.y), false);
  }
}

/// A sample on the rim that takes something from the line.
struct Place {
  Site site;
  int row;
  int column;

  [[nodiscard]] auto key() const { return std::tuple(site, row, column); }
  bool operator==(const Place& other) const { return key() == other.key(); }
  bool operator<(const Place& other) const { return key() < other.key(); }
};

[[nodiscard]] std::vector<InjectionSpan> spans_of(const std::vector<Place>& sorted)
{
  std::vector<InjectionSpan> spans;
  for (const Place& place : sorted) {
    if (!spans.empty() && spans.back().site == place.site &&
        spans.back().row == place.row &&
        spans.back().begin + spans.back().count == place.column) {
      ++spans.back().count;
    } else {
      spans.push_back({place.site, place.row, place.column, 1});
    }
  }
  return spans;
}

}  // namespace

/// The four faces of the box, cell by cell.
///
/// Edges on the rim hold scattered field. Their update takes a difference between a cell
/// inside (total) and one outside (scattered): the incident part of the cell inside is
/// taken out. Cells inside take their curl from such an edge, whose incident part is
/// added. With side = -1 on a low and +1 on a high face, u and g those of PlaneWaveLine:
///   upright edge   += side kappa u(inside)        cell inside  += side Cb sign(x) gx
///   level edge     -= side kappa u(inside)        cell inside  += side Cb sign(y) gy
/// and kappa = 1 in TMz, -Cb in TEz.
struct PlaneWave::Builder {
  struct Entry {
    Place place;
    int at;
    double weight;
  };
  std::vector<Entry> from_centres, from_x, from_y;

  void upright_face(const PlaneWave& wave, int side, double kappa)
  {
    const int inside = side < 0 ? wave.box_.first_i : wave.box_.last_i;
    const int turn = sign(wave.direction_.x);
    for (int j = wave.box_.first_j; j <= wave.box_.last_j; ++j) {
      const int at = wave.line_index(inside, j);
      const int edge = std::max(at, wave.line_index(inside + side, j));
      from_centres.push_back(
          {{Site::y_edge, j, std::max(inside, inside + side)}, at, side * kappa});
      if (turn != 0) {
        from_x.push_back(
            {{Site::centre, j, inside}, edge, side * turn * wave.line_->curl()});
      }
    }
  }

  void level_face(const PlaneWave& wave, int side, double kappa)
  {
    const int inside = side < 0 ? wave.box_.first_j : wave.box_.last_j;
    const int turn = sign(wave.direction_.y);
    for (int i = wave.box_.first_i; i <= wave.box_.last_i; ++i) {
      const int at = wave.line_index(i, inside);
      const int edge = std::max(at, wave.line_index(i, inside + side));
      from_centres.push_back(
          {{Site::x_edge, std::max(inside, inside + side), i}, at, -side * kappa});
      if (turn != 0) {
        from_y.push_back(
            {{Site::centre, inside, i}, edge, side * turn * wave.line_->curl()});
      }
    }
  }

  [[nodiscard]] std::vector<Place> places() const
  {
    std::vector<Place> all;
    for (const std::vector<Entry>* entries : {&from_centres, &from_x, &from_y}) {
      for (const Entry& entry : *entries) {
        all.push_back(entry.place);
      }
    }
    std::ranges::sort(all, {}, &Place::key);
    all.erase(std::unique(all.begin(), all.end()), all.end());
    return all;
  }
};

PlaneWave::PlaneWave(const Grid& grid, PlaneWaveSpec spec)
    : polarisation_(spec.polarisation),
      box_(spec.box),
      direction_(direction_on(grid, spec.angle)),
      // eta0 dt/(mu0 dx): Hz is stored over dt/(mu0 dx), and E = eta0 H.
      to_electric_(spec.polarisation == Polarisation::tmz
                       ? 1.0
                       : materials::speed_of_light * grid.time_step / grid.raster.cell)
{
  check(grid, spec, direction_);
  const bool along_x = std::abs(direction_.x) >= std::abs(direction_.y);
  reference_i_ = (direction_.x >= 0 ? box_.first_i : box_.last_i) -
                 (along_x ? sign(direction_.x) : 0);
  reference_j_ = (direction_.y >= 0 ? box_.first_j : box_.last_j) -
                 (along_x ? 0 : sign(direction_.y));
  const int last = line_index(direction_.x >= 0 ? box_.last_i : box_.first_i,
                              direction_.y >= 0 ? box_.last_j : box_.first_j);
  line_ = std::make_unique<PlaneWaveLine>(
      grid, direction_, last + direction_.major() + 1,
      [waveform = std::move(spec.waveform), scale = to_electric_](double t) {
        return waveform(t) / scale;
      },
      spec.medium);
  place_terms(grid);
}

int PlaneWave::line_index(int i, int j) const noexcept
{
  return direction_.x * (i - reference_i_) + direction_.y * (j - reference_j_);
}

void PlaneWave::place_terms(const Grid& grid)
{
  const double kappa = polarisation_ == Polarisation::tmz ? 1.0 : -line_->curl();
  Builder builder;
  for (const int side : {-1, 1}) {
    const Extent columns{box_.first_i, box_.last_i, grid.raster.nx};
    if (side < 0 ? columns.low_face() : columns.high_face()) {
      builder.upright_face(*this, side, kappa);
    }
    if (grid.raster.ny > 1) {
      builder.level_face(*this, side, kappa);
    }
  }
  const std::vector<Place> places = builder.places();
  spans_ = spans_of(places);
  const auto terms_of = [&](const std::vector<Builder::Entry>& entries) {
    std::vector<Term> terms;
    for (const Builder::Entry& entry : entries) {
      const auto slot =
          std::ranges::lower_bound(places, entry.place.key(), {}, &Place::key) -
          places.begin();
      terms.push_back({static_cast<std::size_t>(slot), entry.at, entry.weight});
    }
    return terms;
  };
  from_centres_ = terms_of(builder.from_centres);
  from_x_ = terms_of(builder.from_x);
  from_y_ = terms_of(builder.from_y);
}

void PlaneWave::amounts(long step, std::span<double> values)
{
  if (step != step_) {
    throw std::logic_error("a plane wave is asked for its steps one after another");
  }
  std::ranges::fill(values, 0.0);
  for (const Term& term : from_centres_) {
    values[term.slot] += term.weight * line_->centre(term.at);
  }
  line_->advance_edges();
  for (const Term& term : from_x_) {
    values[term.slot] += term.weight * line_->along_x(term.at);
  }
  for (const Term& term : from_y_) {
    values[term.slot] += term.weight * line_->along_y(term.at);
  }
  line_->advance_centres();
  ++step_;
}

void PlaneWave::save(StateWriter& out) const
{
  out.write_value("wave_step", step_);
  line_->save(out);
}

void PlaneWave::restore(StateReader& in)
{
  in.read_value("wave_step", step_);
  line_->restore(in);
}

double PlaneWave::incident(int i, int j) const
{
  const bool in_box =
      i >= box_.first_i && i <= box_.last_i && j >= box_.first_j && j <= box_.last_j;
  if (!in_box && (i != reference_i_ || j != reference_j_)) {
    throw std::out_of_range("the incident field is known in the total-field box alone");
  }
  return to_electric_ * line_->centre(line_index(i, j));
}

IncidentRecorder::IncidentRecorder(const Grid& grid,
                                   std::shared_ptr<const PlaneWave> wave, int i, int j,
                                   std::vector<double> frequencies)
    : grid_(grid),
      wave_(std::move(wave)),
      i_(i),
      j_(j),
      frequencies_(std::move(frequencies)),
      sums_(frequencies_.size())
{
  static_cast<void>(wave_->incident(i, j));  // throws if the cell is not known
}

void IncidentRecorder::sample(double weight)
{
  const std::vector<std::complex<double>> phases = sampling_phases(
      frequencies_, grid_.time(wave_->step()), weight * wave_->incident(i_, j_));
  for (std::size_t f = 0; f < phases.size(); ++f) {
    sums_[f] += phases[f];
  }
}

void IncidentRecorder::restart()
{
  std::ranges::fill(sums_, std::complex<double>());
}

}  // namespace torsowave::solver
