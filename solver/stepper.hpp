/// \file
/// \brief Propagates the TMz fields: the product's stepper.

#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <span>
#include <vector>

#include "solver/absorber.hpp"
#include "solver/grid.hpp"
#include "solver/instruction_set.hpp"
#include "solver/medium.hpp"

namespace torsowave::solver {

/// A line current along z that fills cell (i, j): J = i(t)/dx^2.
struct LineCurrent {
  int i = 0;
  int j = 0;
  std::function<double(double)> current;  ///< [A] at time [s]; sampled at (n + 1/2) dt
};

/// How a stepper runs; none of it changes the physics.
struct StepperOptions {
  int threads = 1;
  InstructionSet instructions = best_instruction_set();
};

/// Leapfrog TMz stepper on Debye media with CPML, in `Real` = float or double.
///
/// Observers act between calls of advance(): all fields then stand at Ez^n and H^(n-1/2).
/// Fields are bitwise the same for any number of threads. Rows are spread over threads in
/// fixed bands and first touched by their owner.
template <class Real>
class Stepper {
public:
  /// \throws std::invalid_argument  Sizes disagree, or more than 4 relaxation times.
  /// \throws std::bad_alloc
  Stepper(const Grid& grid, const Medium& medium, const AbsorberSpec& absorber,
          const StepperOptions& options);
  ~Stepper();
  Stepper(Stepper&&) noexcept;
  Stepper& operator=(Stepper&&) noexcept;

  /// \throws std::invalid_argument  The cell is outside the grid or a conductor.
  void add_source(LineCurrent source);

  /// Advances `steps` time steps.
  void advance(int steps);

  /// Steps done so far: Ez stands at time step() dt.
  [[nodiscard]] long step() const noexcept;
  [[nodiscard]] const Grid& grid() const noexcept;

  /// Ez of row j [V/m], (nx). The view holds until the next advance().
  [[nodiscard]] std::span<const Real> ez_row(int j) const noexcept;
  /// Hx on edge e below row e, stored: times h_scale() it is in A/m; (nx), 0 <= e <= ny.
  [[nodiscard]] std::span<const Real> hx_row(int e) const noexcept;
  /// Hy of row j on the edges 0 .. nx, stored: times h_scale() it is in A/m; (nx + 1).
  [[nodiscard]] std::span<const Real> hy_row(int j) const noexcept;
  /// dt/(mu0 dx) [A/m per unit stored].
  [[nodiscard]] double h_scale() const noexcept;

  /// Energy in the grid [J/m]: 1/2 eps0 (eps_inf Ez^2 + sum_k delta_k Q_k^2) + 1/2 mu0
  /// H^2, the energy of Debye media that loses tau_k delta_k (dQ_k/dt)^2; H is half a
  /// step early.
  [[nodiscard]] double energy() const;

  /// Calls `body(begin, end)` for bands of rows, one for each thread, at the same time.
  void for_row_bands(const std::function<void(int begin, int end)>& body) const;

  /// Memory that a stepper of this size takes [bytes].
  [[nodiscard]] static std::uint64_t memory_bytes(int nx, int ny, int poles) noexcept;

private:
  struct State;
  std::unique_ptr<State> state_;
};

extern template class Stepper<float>;
extern template class Stepper<double>;

}  // namespace torsowave::solver
