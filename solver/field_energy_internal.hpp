/// \file
/// \brief Energy of a field with relaxations in one row, run by run of one medium.

#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "solver/instruction_set.hpp"
#include "solver/medium.hpp"
#include "solver/update_table.hpp"

namespace torsowave::solver {

/// A row of a field and of its relaxations.
template <class Real>
struct PolarRow {
  const Real* field;
  std::vector<const Real*> q;
};

/// sum of eps_inf f^2 + sum_k delta_k q_k^2 over row j, twice the energy per eps0 and
/// area: the energy of Debye media that loses tau_k delta_k (dq_k/dt)^2.
///
/// \param entries  palette index of each sample of the row
template <class Real>
[[nodiscard]] double polar_energy(const PolarRow<Real>& row, int j,
                                  const RunTable<Real>& table,
                                  std::span<const std::uint16_t> entries,
                                  const std::vector<MediumEntry>& palette)
{
  const auto squares = observe_kernel<Real>(best_instruction_set()).sum_of_squares;
  const auto stretch = [&](const MediumEntry& entry, int begin, int end) {
    double sum = entry.eps_inf * squares(row.field + begin, end - begin);
    for (std::size_t k = 0; k < row.q.size() && entry.has_poles(); ++k) {
      sum += entry.strengths[k] * squares(row.q[k] + begin, end - begin);
    }
    return sum;
  };
  const auto square = [](Real value) {
    return static_cast<double>(value) * static_cast<double>(value);
  };
  const auto at = static_cast<std::size_t>(j);
  double sum = 0.0;
  for (int n = table.row_runs[at]; n < table.row_runs[at + 1]; ++n) {
    const kernels::Run& run = table.runs[static_cast<std::size_t>(n)];
    if (run.kind != kernels::RunKind::mixed) {
      sum += stretch(palette[static_cast<std::size_t>(run.at)], run.begin, run.end);
      continue;
    }
    for (int i = run.begin; i < run.end; ++i) {
      const MediumEntry& entry = palette[entries[static_cast<std::size_t>(i)]];
      sum += entry.eps_inf * square(row.field[i]);
      for (std::size_t k = 0; k < entry.strengths.size(); ++k) {
        sum += entry.strengths[k] * square(row.q[k][i]);
      }
    }
  }
  return sum;
}

}  // namespace torsowave::solver
