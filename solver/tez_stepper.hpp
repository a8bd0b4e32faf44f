/// \file
/// \brief Propagates the TEz fields: the dual of TmzStepper.

#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <span>

#include "solver/absorber.hpp"
#include "solver/grid.hpp"
#include "solver/injection.hpp"
#include "solver/tez_medium.hpp"
#include "solver/tmz_stepper.hpp"
#include "solver/yee_stepper.hpp"

namespace torsowave::solver {

/// A magnetic line current along z that fills cell (i, j): M = k(t)/dx^2.
struct MagneticLine {
  int i = 0;
  int j = 0;
  std::function<double(double)> current;  ///< [V] at time [s]; sampled at (n + 1/2) dt
};

/// A line of electric dipoles in the plane at the centre of cell (i, j), half of each
/// component on either of the cell's edges that carry it.
struct LineDipole {
  int i = 0;
  int j = 0;
  double direction = 0.0;                ///< [rad], counter-clockwise from +x
  std::function<double(double)> moment;  ///< [A m per m] at time [s]; sampled at n dt
};

/// Leapfrog TEz stepper (Hz, Ex, Ey) on Debye media with CPML, `Real` = float or double.
///
/// mu0 dHz/dt = dEx/dy - dEy/dx - M, eps dEx/dt = dHz/dy - Jx, eps dEy/dt = -dHz/dx - Jy.
/// When advance() returns, the fields stand at Hz^n and E^(n-1/2). Fields are bitwise the
/// same for any number of threads.
template <class Real>
class TezStepper final : public YeeStepper<Real> {
public:
  /// \throws std::invalid_argument  Sizes disagree, or more than 4 relaxation times.
  /// \throws std::bad_alloc
  TezStepper(const Grid& grid, const TezMedium& medium, const AbsorberSpec& absorber,
             const StepperOptions& options);
  ~TezStepper() override;
  TezStepper(TezStepper&&) noexcept;
  TezStepper& operator=(TezStepper&&) noexcept;

  /// \throws std::invalid_argument  The cell is outside the grid.
  void add_source(MagneticLine source);
  /// \throws std::invalid_argument  The cell is outside the grid, or one of its edges is
  /// a conductor or has a tensor.
  void add_source(LineDipole source);
  /// \throws std::invalid_argument  A span leaves the grid.
  void add_injection(std::shared_ptr<Injection> injection);

  void advance(int steps) override;
  [[nodiscard]] long step() const noexcept override;
  [[nodiscard]] const Grid& grid() const noexcept override;
  [[nodiscard]] Polarisation polarisation() const noexcept override
  {
    return Polarisation::tez;
  }
  [[nodiscard]] std::span<const Real> centre_row(int j) const noexcept override;
  [[nodiscard]] std::span<const Real> x_edge_row(int e) const noexcept override;
  [[nodiscard]] std::span<const Real> y_edge_row(int j) const noexcept override;
  [[nodiscard]] double centre_scale() const noexcept override;
  [[nodiscard]] double edge_scale() const noexcept override { return 1.0; }

  /// 1/2 mu0 Hz^2 + 1/2 eps0 (eps_inf E^2 + sum_k delta_k Q_k^2) with each edge's own
  /// medium: at edges with tensors an estimate.
  [[nodiscard]] double energy() const override;

  void save(StateWriter& out) const override;
  void restore(StateReader& in) override;

  void for_row_bands(const std::function<void(int begin, int end)>& body) const override;

  /// Memory that a stepper of this size takes, without tensors [bytes].
  [[nodiscard]] static std::uint64_t memory_bytes(int nx, int ny, int poles) noexcept;

private:
  struct State;
  std::unique_ptr<State> state_;
};

extern template class TezStepper<float>;
extern template class TezStepper<double>;

}  // namespace torsowave::solver
