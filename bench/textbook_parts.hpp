/// \file
/// \brief Coefficients of the textbook stepper.

#pragma once

#include <array>
#include <cstddef>
#include <vector>

#include "materials/constants.hpp"
#include "solver/absorber.hpp"
#include "solver/medium.hpp"

namespace torsowave::bench {

/// One end of the absorber along one axis, and its memory.
template <class Real>
struct AbsorberEnd {
  int first = 0;                  ///< its lowest position
  std::vector<Real> b, c, extra;  ///< (depth) by position; extra: 1/kappa - 1
  std::vector<Real> psi;          ///< (along, depth) or (depth, along)
};

/// Low and high end. \param along  positions across the axis
template <class Real>
[[nodiscard]] std::array<AbsorberEnd<Real>, 2> absorber_ends(
    const solver::AbsorberProfile::Line& line, int depth, int along)
{
  std::array<AbsorberEnd<Real>, 2> both;
  both[1].first = static_cast<int>(line.b.size()) - depth;
  for (AbsorberEnd<Real>& end : both) {
    for (int d = 0; d < depth; ++d) {
      const auto p = static_cast<std::size_t>(end.first) + static_cast<std::size_t>(d);
      end.b.push_back(static_cast<Real>(line.b[p]));
      end.c.push_back(static_cast<Real>(line.c[p]));
      end.extra.push_back(static_cast<Real>(line.inverse_kappa[p] - 1.0));
    }
    end.psi.assign(end.b.size() * static_cast<std::size_t>(along), Real(0));
  }
  return both;
}

/// Update of E in one medium: Ca, Cb = dt/(eps0 N dx) and Cq_k (docs/numerics.md).
struct MediumCoefficients {
  double ca = 0.0;
  double cb = 0.0;
  std::vector<double> cq;
};

/// \param gain  b_k of the relaxation times
[[nodiscard]] inline MediumCoefficients medium_coefficients(
    const solver::MediumEntry& entry, const std::vector<double>& gain, double dt,
    double dx)
{
  MediumCoefficients result;
  result.cq.assign(gain.size(), 0.0);
  if (entry.conductor) {
    return result;
  }
  double s = entry.conductivity * dt / (2.0 * materials::vacuum_permittivity);
  for (std::size_t k = 0; k < gain.size(); ++k) {
    s += entry.strengths[k] * gain[k];
  }
  const double n = entry.eps_inf + s;
  result.ca = (entry.eps_inf - s) / n;
  result.cb = dt / (materials::vacuum_permittivity * n * dx);
  for (std::size_t k = 0; k < gain.size(); ++k) {
    result.cq[k] = entry.strengths[k] * 2.0 * gain[k] / n;
  }
  return result;
}

}  // namespace torsowave::bench
