/// \file
/// \brief The error items of one frequency. \see error_estimate.hpp

#pragma once

#include "app/path_media.hpp"
#include "app/path_powers.hpp"

namespace torsowave::app {

/// Errors of what leaves, by cause, at one frequency [dB].
class PathEstimate {
public:
  /// \param plan, stack  must outlive the object
  PathEstimate(const RunPlan& plan, const PathStack& stack, double frequency);

  [[nodiscard]] double fit_db() const;
  [[nodiscard]] double grid_db() const;
  [[nodiscard]] double tissue_data_db() const;

  /// What the cells make of the power that a sheet in the place of the implant delivers:
  /// of what interfaces send back to it.
  [[nodiscard]] double delivered_db() const;

  /// Powers of the layers with the tissues' own models, with the fitted media, and on the
  /// cells.
  [[nodiscard]] PathPowers own() const { return exact(own_); }
  [[nodiscard]] PathPowers fitted() const { return exact(fitted_); }
  [[nodiscard]] PathPowers on_cells() const;

private:
  [[nodiscard]] PathPowers exact(const Permittivities& eps) const;
  [[nodiscard]] double change_db(const PathPowers& a, const PathPowers& b) const;
  [[nodiscard]] double interference_db(const Permittivities& change_of_k) const;
  template <class Measure>
  [[nodiscard]] double interfaces_db(Measure measure) const;
  [[nodiscard]] double attenuation_db(const Permittivities& change_of_k) const;
  [[nodiscard]] double faces_db(double displacement) const;
  [[nodiscard]] Permittivities grid_dispersion() const;
  [[nodiscard]] std::complex<double> wavenumber(std::complex<double> eps) const;

  const RunPlan& plan_;
  const PathStack& stack_;
  double frequency_;
  Permittivities own_;
  Permittivities fitted_;
  std::complex<double> at_source_;  ///< fitted permittivity there; 0 for a plane wave
};

/// |10 log10(a/b)|; 0 where there is no power.
[[nodiscard]] double power_change_db(double a, double b);

}  // namespace torsowave::app
