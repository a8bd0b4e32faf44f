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
#include "solver/injection.hpp"
#include "solver/instruction_set.hpp"
#include "solver/medium.hpp"
#include "solver/yee_stepper.hpp"

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
  int steps_per_pass = 0;  ///< time steps that a pass over memory makes; 0: by the cache
};

/// Leapfrog TMz stepper on Debye media with CPML, in `Real` = float or double.
///
/// Observers act between calls of advance(): all fields then stand at Ez^n and H^(n-1/2).
/// Fields are bitwise the same for any options but the instruction set. Rows are spread
/// over threads in bands and first touched by their owner.
template <class Real>
class TmzStepper final : public YeeStepper<Real> {
public:
  /// \throws std::invalid_argument  Sizes disagree, or more than 4 relaxation times.
  /// \throws std::bad_alloc
  TmzStepper(const Grid& grid, const Medium& medium, const AbsorberSpec& absorber,
             const StepperOptions& options);
  ~TmzStepper() override;
  TmzStepper(TmzStepper&&) noexcept;
  TmzStepper& operator=(TmzStepper&&) noexcept;

  /// \throws std::invalid_argument  The cell is outside the grid or a conductor.
  void add_source(LineCurrent source);

  /// \throws std::invalid_argument  A span leaves the grid.
  void add_injection(std::shared_ptr<Injection> injection);

  void advance(int steps) override;
  [[nodiscard]] long step() const noexcept override;
  [[nodiscard]] const Grid& grid() const noexcept override;
  [[nodiscard]] Polarisation polarisation() const noexcept override
  {
    return Polarisation::tmz;
  }
  [[nodiscard]] std::span<const Real> centre_row(int j) const noexcept override;
  [[nodiscard]] std::span<const Real> x_edge_row(int e) const noexcept override;
  [[nodiscard]] std::span<const Real> y_edge_row(int j) const noexcept override;
  [[nodiscard]] double centre_scale() const noexcept override { return 1.0; }
  [[nodiscard]] double edge_scale() const noexcept override;

  /// 1/2 eps0 (eps_inf Ez^2 + sum_k delta_k Q_k^2) + 1/2 mu0 H^2, the energy of Debye
  /// media that loses tau_k delta_k (dQ_k/dt)^2.
  [[nodiscard]] double energy() const override;

  void save(StateWriter& out) const override;
  void restore(StateReader& in) override;

  void for_row_bands(const std::function<void(int begin, int end)>& body) const override;

  /// Memory that a stepper of this size takes [bytes].
  [[nodiscard]] static std::uint64_t memory_bytes(int nx, int ny, int poles) noexcept;

private:
  struct State;
  std::unique_ptr<State> state_;
};

extern template class TmzStepper<float>;
extern template class TmzStepper<double>;

}  // namespace torsowave::solver
