/// \file
/// \brief All injections of a grid, sorted by row as the kernels want them.

#pragma once

#include <algorithm>
#include <array>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <stdexcept>
#include <utility>
#include <vector>

#include "solver/grid.hpp"
#include "solver/injection.hpp"
#include "solver/kernels/sweep_args.hpp"

namespace torsowave::solver {

/// Collects injections and samples them for a number of steps ahead.
class InjectionSchedule {
public:
  explicit InjectionSchedule(const geometry::Raster& raster)
      : rows_{raster.ny, raster.ny + 1, raster.ny},
        columns_{raster.nx, raster.nx, raster.nx + 1}
  {
  }

  /// \throws std::invalid_argument  A span leaves the grid.
  void add(std::shared_ptr<Injection> injection)
  {
    std::size_t at = amounts_;
    for (const InjectionSpan& span : injection->spans()) {
      const auto site = static_cast<std::size_t>(span.site);
      if (span.row < 0 || span.row >= rows_[site] || span.begin < 0 || span.count < 1 ||
          span.begin + span.count > columns_[site]) {
        throw std::invalid_argument("a source lies outside the grid");
      }
      sites_[site].placed.push_back(
          {span.row, {span.begin, span.count, static_cast<std::int32_t>(at)}});
      at += static_cast<std::size_t>(span.count);
    }
    amounts_ = at;
    injections_.push_back(std::move(injection));
    for (std::size_t site = 0; site < sites_.size(); ++site) {
      sort(sites_[site], rows_[site]);
    }
  }

  template <class Args>
  void point(Args& args) const
  {
    args.to_centres = sites_[0].view();
    args.to_x_edges = sites_[1].view();
    args.to_y_edges = sites_[2].view();
  }

  /// Amounts of a step.
  [[nodiscard]] std::size_t amounts() const noexcept { return amounts_; }

  /// What steps first .. first + steps - 1 add, (steps, amounts()).
  template <class Real>
  [[nodiscard]] std::vector<Real> sample(long first, int steps)
  {
    std::vector<Real> table;
    table.reserve(static_cast<std::size_t>(steps) * amounts_);
    std::vector<double> values(amounts_);
    for (int n = 0; n < steps; ++n) {
      std::span<double> rest(values);
      for (const std::shared_ptr<Injection>& injection : injections_) {
        std::size_t size = 0;
        for (const InjectionSpan& span : injection->spans()) {
          size += static_cast<std::size_t>(span.count);
        }
        injection->amounts(first + n, rest.first(size));
        rest = rest.subspan(size);
      }
      for (const double value : values) {
        table.push_back(static_cast<Real>(value));
      }
    }
    return table;
  }

  void save(StateWriter& out) const
  {
    for (const std::shared_ptr<Injection>& injection : injections_) {
      injection->save(out);
    }
  }
  void restore(StateReader& in)
  {
    for (const std::shared_ptr<Injection>& injection : injections_) {
      injection->restore(in);
    }
  }

private:
  struct Placed {
    int row;
    kernels::AddedSpan span;
  };
  struct SiteSpans {
    std::vector<Placed> placed;
    std::vector<kernels::AddedSpan> spans;
    std::vector<std::int32_t> rows;
    [[nodiscard]] kernels::AddedRows view() const
    {
      return {spans.data(), spans.empty() ? nullptr : rows.data()};
    }
  };

  static void sort(SiteSpans& site, int rows)
  {
    std::ranges::stable_sort(site.placed, {}, &Placed::row);
    site.spans.clear();
    site.rows.assign(static_cast<std::size_t>(rows) + 1, 0);
    for (const Placed& placed : site.placed) {
      site.spans.push_back(placed.span);
      ++site.rows[static_cast<std::size_t>(placed.row) + 1];
    }
    for (std::size_t r = 1; r < site.rows.size(); ++r) {
      site.rows[r] += site.rows[r - 1];
    }
  }

  std::array<int, 3> rows_;
  std::array<int, 3> columns_;
  std::array<SiteSpans, 3> sites_;
  std::size_t amounts_ = 0;
  std::vector<std::shared_ptr<Injection>> injections_;
};

}  // namespace torsowave::solver
