/// \file
/// \brief SAR of a run: which tissue counts, what it is per unit of, what is known in
/// three dimensions. \see postproc/sar_squares.hpp, postproc/sar_dipole.hpp

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/run_plan.hpp"
#include "postproc/power_balance.hpp"
#include "postproc/sar_dipole.hpp"

namespace torsowave::app {

/// Density by tissue of a plan [kg/m^3]; 0 where none is known.
[[nodiscard]] std::vector<double> densities(const RunPlan& plan);

/// SAR of the frequencies of one run. Modes TMz and TEz.
class SarEstimate {
public:
  /// \param plan  must outlive the object
  SarEstimate(const RunPlan& plan, const postproc::PowerInputs& inputs);

  /// \param powers  of this frequency
  /// \param rate    \see postproc::FieldsAt::absorption_rate()
  [[nodiscard]] postproc::SarResult at(const postproc::FrequencyResult& powers,
                                       const std::vector<float>& rate) const;

  /// What users have to know of these figures: what is left out, and why.
  [[nodiscard]] std::vector<std::string> notes(
      const std::vector<postproc::FrequencyResult>& frequencies) const;

private:
  /// Why there is nothing to say in three dimensions; empty: there is.
  [[nodiscard]] std::string obstacle() const;
  void add_three_dimensions(const postproc::FrequencyResult& powers,
                            const std::vector<float>& rate,
                            postproc::SarResult& sar) const;

  const RunPlan& plan_;
  postproc::SarSlice slice_;
  std::string obstacle_;
};

}  // namespace torsowave::app
