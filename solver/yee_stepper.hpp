/// \file
/// \brief What a run sees of a stepper, whatever its mode.

#pragma once

#include <functional>
#include <span>

#include "solver/grid.hpp"
#include "solver/state_archive.hpp"

namespace torsowave::solver {

/// Which field stands alone at the cell centres.
enum class Polarisation {
  tmz,  ///< Ez at the centres; Hx, Hy on the edges. Mode 1D is one row of it.
  tez   ///< Hz at the centres; Ex, Ey on the edges
};

/// A leapfrog stepper on a Yee grid.
///
/// Both polarisations lie alike on the grid and in time: the field at the cell centres
/// stands at n dt, the fields along x on the horizontal edges and along y on the vertical
/// edges at (n - 1/2) dt. In TEz time is counted so that Hz has whole steps.
template <class Real>
class YeeStepper {
public:
  virtual ~YeeStepper() = default;

  /// Advances `steps` time steps.
  virtual void advance(int steps) = 0;

  /// Steps done so far: the centre field stands at time step() dt.
  [[nodiscard]] virtual long step() const noexcept = 0;
  [[nodiscard]] virtual const Grid& grid() const noexcept = 0;
  [[nodiscard]] virtual Polarisation polarisation() const noexcept = 0;

  /// Ez or Hz of row j as stored, (nx). A view holds until the next advance().
  [[nodiscard]] virtual std::span<const Real> centre_row(int j) const noexcept = 0;
  /// Hx or Ex on edge e below row e as stored, (nx), 0 <= e <= ny.
  [[nodiscard]] virtual std::span<const Real> x_edge_row(int e) const noexcept = 0;
  /// Hy or Ey of row j on the edges 0 .. nx as stored, (nx + 1).
  [[nodiscard]] virtual std::span<const Real> y_edge_row(int j) const noexcept = 0;

  /// [V/m or A/m per unit stored]; E is stored in V/m, H over dt/(mu0 dx).
  [[nodiscard]] virtual double centre_scale() const noexcept = 0;
  [[nodiscard]] virtual double edge_scale() const noexcept = 0;

  /// Energy in the grid [J/m] (1D: [J/m^2] times a cell); the edge fields are half a
  /// step early.
  [[nodiscard]] virtual double energy() const = 0;

  /// Writes all that advance() changes. A stepper that was built alike, with the same
  /// sources, and reads it goes on as if it were this one, to the last bit, whatever its
  /// threads and steps per pass. \throws StateError  It was not built alike.
  virtual void save(StateWriter& out) const = 0;
  virtual void restore(StateReader& in) = 0;

  /// Calls `body(begin, end)` for bands of rows, one for each thread, at the same time.
  virtual void for_row_bands(
      const std::function<void(int begin, int end)>& body) const = 0;

protected:
  YeeStepper() = default;
  YeeStepper(const YeeStepper&) = default;
  YeeStepper& operator=(const YeeStepper&) = default;
  YeeStepper(YeeStepper&&) noexcept = default;
  YeeStepper& operator=(YeeStepper&&) noexcept = default;
};

}  // namespace torsowave::solver
