/// \file
/// \brief Advances rows several time steps while they are in cache.
///
/// Row j at step n, written R(j, n), updates the edges above row j, its upright edges and
/// its centres. It needs R(j - 1, n) for the edges below, and R(j + 1, n - 1) for the
/// centres above. Along a diagonal j + n = s, in order of n, both are done: one pass over
/// the rows advances them T steps, with T + 2 rows in cache at a time.
///
/// Threads own bands of rows. In a pass thread p first does what needs no neighbour, a
/// trapezoid that loses a row at each inner side with each step:
///
///     n   rows of p - 1   |   rows of p           the missing triangle at the lower side
///     2   . . x x . . . . | . . . . x x           is done by p after both trapezoids;
///     1   . x x x x . . . | . . . x x x           p - 1 goes on with the next pass from
///     0   x x x x x x x x | x x x x x x           its far side meanwhile.
///
/// The order of operations on any one number is the same for every T and every number of
/// threads, and so are the fields, to the last bit.

#pragma once

#include <algorithm>
#include <cstddef>
#include <span>
#include <vector>

#include <omp.h>

#include "solver/milestone_internal.hpp"
#include "solver/row_team_internal.hpp"

namespace torsowave::solver {

/// A trapezoid in rows and steps: rows [low + low_slope n, high + high_slope n) at the
/// steps first <= n < last of a pass.
struct TimeTile {
  int first = 0;
  int last = 0;
  int low = 0;
  int high = 0;
  int low_slope = 0;
  int high_slope = 0;
  int edges_below_from = 0;  ///< the edge below the lowest row is its own from this step
  int edges_above_from = 0;  ///< and the edge above the highest row from this one

  [[nodiscard]] int low_at(int n) const noexcept { return low + low_slope * n; }
  [[nodiscard]] int high_at(int n) const noexcept { return high + high_slope * n; }
  [[nodiscard]] int begin() const noexcept { return low_at(first) + first; }
  [[nodiscard]] int end() const noexcept
  {
    return std::max(high_at(first) + first, high_at(last - 1) + last - 1);
  }
};

/// Steps rows by passes. `Args` and `Kernel` as in kernels/: `kernel.edge(args, e)`
/// updates the edges of row e, `kernel.row(args, j, above)` the edges above row j if
/// `above`, and the rest of row j.
template <class Args, class Kernel>
class TimeTiles {
public:
  /// \param row_costs  time that each row takes, in any unit: bands take equal times
  /// \param steps_per_pass  T
  TimeTiles(std::span<const double> row_costs, int threads, int steps_per_pass)
      : rows_(static_cast<int>(row_costs.size())),
        threads_(threads),
        steps_per_pass_(steps_per_pass),
        cost_below_(row_costs.size() + 1, 0.0)
  {
    for (std::size_t j = 0; j < row_costs.size(); ++j) {
      cost_below_[j + 1] = cost_below_[j] + row_costs[j];
    }
  }

  /// Advances `steps` steps; step n adds `amounts` + n `amounts_each`.
  void advance(const Args& args, const Kernel& kernel, int steps,
               decltype(Args::amounts) amounts, std::size_t amounts_each) const
  {
    std::vector<Milestone> begun(static_cast<std::size_t>(threads_));
    std::vector<Milestone> done(static_cast<std::size_t>(threads_));
#pragma omp parallel num_threads(threads_)
    {
      const FlushDenormals flush;
      // A smaller team than asked for takes wider bands.
      Worker worker{args,
                    kernel,
                    omp_get_thread_num(),
                    omp_get_num_threads() - 1,
                    bands(omp_get_num_threads()),
                    begun.data(),
                    done.data()};
      const int passes = worker.passes(steps, steps_per_pass_);
      for (int pass = 0; pass < passes; ++pass) {
        const Band range = band_of(pass, passes, steps);
        worker.pass(pass, range.end - range.begin,
                    {amounts + static_cast<std::size_t>(range.begin) * amounts_each,
                     amounts_each});
      }
    }
  }

private:
  struct Amounts {
    decltype(Args::amounts) first;
    std::size_t each;
  };

  /// One thread of the team.
  struct Worker {
    Args args;
    const Kernel& kernel;
    int self;
    int last;
    std::vector<int> cuts;
    Milestone* begun;
    Milestone* done;

    /// No more steps in a pass than leave the triangles of a band apart.
    [[nodiscard]] int passes(int steps, int steps_per_pass) const
    {
      int most = steps_per_pass;
      for (int p = 0; last > 0 && p <= last; ++p) {
        const auto at = static_cast<std::size_t>(p);
        most = std::min(most, (cuts[at + 1] - cuts[at]) / 2);
      }
      most = std::max(most, 1);
      return (steps + most - 1) / most;
    }

    void pass(int number, int steps, const Amounts& amounts)
    {
      const auto at = static_cast<std::size_t>(self);
      const int low = cuts[at];
      const int high = cuts[at + 1];
      const bool lowest = self == 0;
      const bool highest = self == last;
      if (!lowest) {
        args.amounts = amounts.first;
        kernel.edge(args, low);
        begun[self].reach(number + 1);
      }
      const TimeTile tile{0,
                          steps,
                          low,
                          high,
                          lowest ? 0 : 1,
                          highest ? 0 : -1,
                          lowest ? 0 : 1,
                          highest ? 0 : 1};
      if (highest) {
        sweep(tile, tile.begin(), tile.end(), amounts);
      } else {
        // The triangle of the pass before reaches this far down.
        const int gate = std::max(tile.begin(), high - steps - 1);
        sweep(tile, tile.begin(), std::min(gate, tile.end()), amounts);
        begun[self + 1].wait_for(number + 1);
        sweep(tile, gate, tile.end(), amounts);
        done[self].reach(number + 1);
      }
      if (!lowest) {
        done[self - 1].wait_for(number + 1);
        const TimeTile triangle{1, steps, low, low, -1, 1, steps, steps};
        if (steps > 1) {
          sweep(triangle, triangle.begin(), triangle.end(), amounts);
        }
      }
    }

    /// The diagonals [begin, end) of a tile.
    void sweep(const TimeTile& tile, int begin, int end, const Amounts& amounts)
    {
      for (int s = begin; s < end; ++s) {
        for (int n = tile.first; n < tile.last; ++n) {
          const int j = s - n;
          const int low = tile.low_at(n);
          const int high = tile.high_at(n);
          if (j < low || j >= high) {
            continue;
          }
          args.amounts = amounts.first + static_cast<std::size_t>(n) * amounts.each;
          if (j == low && n >= tile.edges_below_from) {
            kernel.edge(args, j);
          }
          kernel.row(args, j, j + 1 < high || n >= tile.edges_above_from);
        }
      }
    }
  };

  /// Where the bands of a team begin, and the end of the last: equal costs, but for the
  /// outer bands, which have half a triangle less and half a triangle more to do.
  [[nodiscard]] std::vector<int> bands(int team) const
  {
    std::vector<int> cuts{0};
    const double shift = 0.5 * (steps_per_pass_ - 1);
    for (int p = 1; p < team; ++p) {
      const double wanted = cost_below_.back() * p / team;
      const auto at = std::ranges::lower_bound(cost_below_, wanted);
      const double row = static_cast<double>(at - cost_below_.begin()) + shift;
      // Every band keeps a row.
      cuts.push_back(
          std::clamp(static_cast<int>(row), cuts.back() + 1, rows_ - (team - p)));
    }
    cuts.push_back(rows_);
    return cuts;
  }

  int rows_;
  int threads_;
  int steps_per_pass_;
  std::vector<double> cost_below_;
};

}  // namespace torsowave::solver
