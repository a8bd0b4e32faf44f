#include "solver/update_table.hpp"

#include <algorithm>

#include "materials/constants.hpp"
#include "solver/tez_medium.hpp"

namespace torsowave::solver {
namespace {

using kernels::CellCoefficients;
using kernels::Run;
using kernels::RunKind;

/// Runs begin at multiples of this: whole vectors of any instruction set, aligned.
constexpr int lanes = 16;

template <class Real>
[[nodiscard]] CellCoefficients<Real> coefficients(const MediumEntry& entry,
                                                  const std::vector<double>& times,
                                                  double dt, double courant_squared)
{
  CellCoefficients<Real> result{};
  if (entry.conductor) {
    result.loss = Real(1);
    return result;
  }
  double s = entry.conductivity * dt / (2.0 * materials::vacuum_permittivity);
  for (std::size_t k = 0; k < times.size(); ++k) {
    s += entry.strengths[k] * pole_gain(times[k], dt);
  }
  const double n = entry.eps_inf + s;
  result.curl = static_cast<Real>(courant_squared / n);
  result.loss = static_cast<Real>(2.0 * s / n);
  for (std::size_t k = 0; k < times.size(); ++k) {
    result.pole[k] =
        static_cast<Real>(entry.strengths[k] * 2.0 * pole_gain(times[k], dt) / n);
  }
  return result;
}

template <class Real>
class RunBuilder {
public:
  RunBuilder(std::span<const MediumEntry> palette,
             const std::vector<CellCoefficients<Real>>& coefficients,
             RunTable<Real>& table)
      : coefficients_(coefficients), table_(table)
  {
    for (const MediumEntry& entry : palette) {
      has_poles_.push_back(entry.has_poles());
    }
  }

  /// Splits the row `cells[0 .. nx)` into runs.
  /// \param averaged  of the row, or empty
  void add_row(const std::uint16_t* cells, int nx, std::span<const std::uint8_t> averaged)
  {
    std::vector<Run> vectors;
    for (int begin = 0; begin < nx; begin += lanes) {
      vectors.push_back(vector_at(cells, begin, nx, averaged));
    }
    mix_short_runs(vectors);
    row_begins_ = true;
    for (Run& run : vectors) {
      if (run.kind == RunKind::mixed) {
        run.at = static_cast<std::int32_t>(table_.mixed_curl.size());
        append_coefficients(cells + run.begin, cells + run.end);
        if (!averaged.empty()) {
          append_neighbours(averaged, run.begin);
        }
      }
      append(run);
      row_begins_ = false;
    }
  }

private:
  /// The vector of cells that begins in column `begin`; where it is mixed, `at` is open.
  [[nodiscard]] Run vector_at(const std::uint16_t* cells, int begin, int nx,
                              std::span<const std::uint8_t> averaged) const
  {
    const int end = std::min(begin + lanes, nx);
    // The last vector of a row may reach beyond it: there, it finds conductors.
    const bool one_medium = end - begin == lanes &&
                            std::all_of(cells + begin, cells + end,
                                        [&](auto cell) { return cell == cells[begin]; });
    // With the pair beyond its end, if there is one.
    const int pairs = std::min(end + 1, nx) - begin;
    const auto count =
        averaged.empty()
            ? 0
            : std::ranges::count(averaged.subspan(static_cast<std::size_t>(begin),
                                                  static_cast<std::size_t>(pairs)),
                                 std::uint8_t{1});
    const std::int32_t is_averaged = count == 0 ? 0 : 1;
    if (one_medium && (count == 0 || count == lanes + 1)) {
      return {begin, end, has_poles_[cells[begin]] ? RunKind::uniform : RunKind::plain,
              cells[begin], is_averaged};
    }
    return {begin, end, RunKind::mixed, 0, is_averaged};
  }

  /// Whether `next`, which begins where `last` ends, is more of the same.
  [[nodiscard]] static bool goes_on(const Run& last, const Run& next)
  {
    return last.kind == next.kind && last.averaged == next.averaged &&
           (next.kind == RunKind::mixed || last.at == next.at);
  }

  /// Takes a short run of one medium between two mixed ones into them, which is faster
  /// than three runs (measured: docs/performance.md). The arithmetic is the same.
  static void mix_short_runs(std::vector<Run>& vectors)
  {
    constexpr std::size_t longest = 2;
    std::size_t begin = 0;
    while (begin < vectors.size()) {
      std::size_t end = begin + 1;
      while (end < vectors.size() && goes_on(vectors[begin], vectors[end])) {
        ++end;
      }
      const auto joins = [&](const Run& beside) {
        return beside.kind == RunKind::mixed &&
               beside.averaged == vectors[begin].averaged;
      };
      if (vectors[begin].kind == RunKind::uniform && end - begin <= longest &&
          begin > 0 && end < vectors.size() && joins(vectors[begin - 1]) &&
          joins(vectors[end])) {
        for (std::size_t v = begin; v < end; ++v) {
          vectors[v].kind = RunKind::mixed;
        }
      }
      begin = end;
    }
  }

  /// Begins a run or goes on with the last one.
  void append(const Run& run)
  {
    if (!row_begins_) {
      Run& last = table_.runs.back();
      if (goes_on(last, run)) {
        last.end = run.end;
        return;
      }
    }
    table_.runs.push_back(run);
  }

  void append_neighbours(std::span<const std::uint8_t> averaged, int begin)
  {
    const auto part = [&](int pair) {
      const auto at = static_cast<std::size_t>(pair);
      return at < averaged.size() && averaged[at] != 0 ? static_cast<Real>(averaged_part)
                                                       : Real(0);
    };
    for (int i = begin; i < begin + lanes; ++i) {
      table_.mixed_left.push_back(part(i));
      table_.mixed_right.push_back(part(i + 1));
    }
  }

  void append_coefficients(const std::uint16_t* begin, const std::uint16_t* end)
  {
    const CellCoefficients<Real> conductor{Real(0), Real(1), {}};
    for (const std::uint16_t* cell = begin; cell != begin + lanes; ++cell) {
      const CellCoefficients<Real>& at = cell < end ? coefficients_[*cell] : conductor;
      table_.mixed_curl.push_back(at.curl);
      table_.mixed_loss.push_back(at.loss);
      for (std::size_t k = 0; k < table_.mixed_pole.size(); ++k) {
        table_.mixed_pole[k].push_back(at.pole[k]);
      }
    }
  }

  const std::vector<CellCoefficients<Real>>& coefficients_;
  RunTable<Real>& table_;
  std::vector<bool> has_poles_;
  bool row_begins_ = true;
};

}  // namespace

double pole_gain(double relaxation_time, double dt) noexcept
{
  return dt / (2.0 * relaxation_time + dt);
}

template <class Real>
std::vector<CellCoefficients<Real>> update_coefficients(
    const Grid& grid, std::span<const MediumEntry> palette,
    const std::vector<double>& relaxation_times)
{
  const double courant = materials::speed_of_light * grid.time_step / grid.raster.cell;
  std::vector<CellCoefficients<Real>> result;
  for (const MediumEntry& entry : palette) {
    result.push_back(
        coefficients<Real>(entry, relaxation_times, grid.time_step, courant * courant));
  }
  return result;
}

template <class Real>
RunTable<Real> run_table(std::span<const std::uint16_t> entries, int columns,
                         std::span<const MediumEntry> palette,
                         const std::vector<CellCoefficients<Real>>& coefficients,
                         std::span<const std::uint8_t> averaged)
{
  RunTable<Real> table;
  std::size_t poles = 0;
  for (const MediumEntry& entry : palette) {
    poles = std::max(poles, entry.strengths.size());
  }
  table.mixed_pole.resize(poles);
  RunBuilder<Real> builder(palette, coefficients, table);
  const auto width = static_cast<std::size_t>(columns);
  for (std::size_t at = 0; at < entries.size(); at += width) {
    table.row_runs.push_back(static_cast<std::int32_t>(table.runs.size()));
    builder.add_row(entries.data() + at, columns,
                    averaged.empty() ? averaged : averaged.subspan(at, width));
  }
  table.row_runs.push_back(static_cast<std::int32_t>(table.runs.size()));
  return table;
}

template <class Real>
kernels::MediumRows<Real> RunTable<Real>::view() const
{
  kernels::MediumRows<Real> rows{runs.data(),
                                 row_runs.data(),
                                 mixed_curl.data(),
                                 mixed_loss.data(),
                                 {},
                                 mixed_left.data(),
                                 mixed_right.data(),
                                 static_cast<Real>(averaged_part)};
  for (std::size_t k = 0; k < mixed_pole.size(); ++k) {
    rows.mixed_pole[k] = mixed_pole[k].data();
  }
  return rows;
}

template <class Real>
std::vector<double> RunTable<Real>::row_costs() const
{
  const auto poles = static_cast<double>(mixed_pole.size());
  std::vector<double> costs;
  for (std::size_t row = 0; row + 1 < row_runs.size(); ++row) {
    double cost = 0.0;
    for (auto r = static_cast<std::size_t>(row_runs[row]);
         r < static_cast<std::size_t>(row_runs[row + 1]); ++r) {
      const double cells = runs[r].end - runs[r].begin;
      cost += cells * (runs[r].kind == RunKind::plain ? 1.0 : 1.0 + poles / 3.0);
    }
    costs.push_back(cost);
  }
  return costs;
}

template struct RunTable<float>;
template struct RunTable<double>;
template std::vector<CellCoefficients<float>> update_coefficients<float>(
    const Grid&, std::span<const MediumEntry>, const std::vector<double>&);
template std::vector<CellCoefficients<double>> update_coefficients<double>(
    const Grid&, std::span<const MediumEntry>, const std::vector<double>&);
template RunTable<float> run_table<float>(std::span<const std::uint16_t>, int,
                                          std::span<const MediumEntry>,
                                          const std::vector<CellCoefficients<float>>&,
                                          std::span<const std::uint8_t>);
template RunTable<double> run_table<double>(std::span<const std::uint16_t>, int,
                                            std::span<const MediumEntry>,
                                            const std::vector<CellCoefficients<double>>&,
                                            std::span<const std::uint8_t>);

}  // namespace torsowave::solver
