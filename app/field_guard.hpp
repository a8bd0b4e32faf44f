/// \file
/// \brief Stops a run whose fields are no numbers any more, or grow without a source.

#pragma once

#include <cstddef>
#include <stdexcept>
#include <string>

#include "app/run_plan.hpp"
#include "postproc/result.hpp"
#include "solver/yee_stepper.hpp"

namespace torsowave::app {

/// The fields are no solution any more; what() names the cell, the time and the probable
/// cause. Nothing is written.
class UnstableFields : public std::runtime_error {
public:
  using std::runtime_error::runtime_error;
};

/// Looks at the fields of a run at its observations.
///
/// What is no number spreads by a cell in every direction with each step. So one row in
/// as many as there are steps between observations is enough to look at: the fault is
/// seen at most one and a half intervals after it came up, and costs next to nothing to
/// look for. The energy of passive media never grows without a source; it is compared
/// whenever it is taken.
class FieldGuard {
public:
  explicit FieldGuard(const RunPlan& plan);

  /// At each observation. \throws UnstableFields
  template <class Real>
  void look(const solver::YeeStepper<Real>& stepper);

  /// Whenever the energy was taken. \param energy  of the run from its beginning
  /// \throws UnstableFields
  template <class Real>
  void weigh(const solver::YeeStepper<Real>& stepper,
             const postproc::EnergyTrace& energy);

private:
  template <class Real>
  [[noreturn]] void stop(const solver::YeeStepper<Real>& stepper) const;
  [[nodiscard]] std::string place(Cell cell) const;
  [[nodiscard]] std::string cause(Cell cell, bool no_number, double largest) const;
  /// One more energy; whether it has grown as it cannot.
  [[nodiscard]] bool grows(double time, double energy);

  const RunPlan& plan_;
  double silent_from_ = 0.0;  ///< nothing comes into the grid any more [s]
  std::size_t seen_ = 0;      ///< energies
  double peak_ = 0.0;
  double lowest_ = 0.0;  ///< since the grid is silent; cw: the period before
  int steep_ = 0;        ///< cw: periods in a row of steep growth
};

}  // namespace torsowave::app
