/// \file
/// \brief Sources as a stepper takes them: amounts added to field samples at every step.

#pragma once

#include <span>
#include <vector>

#include "solver/state_archive.hpp"

namespace torsowave::solver {

/// Where on the grid a field sample lies.
enum class Site { centre, x_edge, y_edge };

/// A stretch of samples in one row.
struct InjectionSpan {
  Site site = Site::centre;
  int row = 0;    ///< j of a centre or y edge; e of an x edge
  int begin = 0;  ///< first column
  int count = 0;
};

/// Something that adds to fields: a line current, a dipole, the rim of a total-field box.
class Injection {
public:
  virtual ~Injection() = default;

  /// The samples that it adds to; fixed over the run, none twice.
  [[nodiscard]] virtual const std::vector<InjectionSpan>& spans() const noexcept = 0;

  /// What time step `step` -> step + 1 adds to each sample, in the order of spans(), in
  /// the unit the field is stored in (see YeeStepper::centre_scale()). Steps are asked
  /// for one after another from 0, each once. An amount at an edge is added after its
  /// plain update and before the centres take their curl; an amount at a centre after the
  /// plain update, and the polarisation follows it.
  virtual void amounts(long step, std::span<double> values) = 0;

  /// What amounts() changes in it, if anything. \see YeeStepper::save()
  virtual void save(StateWriter& /*out*/) const {}
  virtual void restore(StateReader& /*in*/) {}

protected:
  Injection() = default;
  Injection(const Injection&) = default;
  Injection& operator=(const Injection&) = default;
  Injection(Injection&&) noexcept = default;
  Injection& operator=(Injection&&) noexcept = default;
};

}  // namespace torsowave::solver
