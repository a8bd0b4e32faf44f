/// \file
/// \brief Runs with an exact answer: what the run found, what is right, what it states.
///
/// The exact answer is that of the tissues' own (Cole-Cole) models, so that the error of
/// the Debye fit counts.

#pragma once

#include <functional>
#include <string>
#include <vector>

#include "published/full_wave_run.hpp"
#include "solver/layered_cylinder.hpp"

namespace torsowave::reference {

/// One figure of one frequency.
struct Figure {
  std::string name;
  double found = 0.0;
  double exact = 0.0;
  double stated_db = 0.0;  ///< uncertainty of `found` by the run's own account
};

struct ExactCase {
  std::string name;
  std::string scenario;  ///< text of the file
  std::function<std::vector<Figure>(const FullWaveRun&, std::size_t frequency)> figures;
};

struct PlanarLayer {
  std::string tissue;
  double thickness_mm = 0.0;
};

/// Mode 1D, from the air or from the right, 0.4 to 5.8 GHz.
/// \param last  behind the layers: "air" or a tissue without end
[[nodiscard]] ExactCase plane_wave_on_layers(const std::string& name,
                                             const std::vector<PlanarLayer>& layers,
                                             const std::string& last, bool from_right);

/// Mode 1D: a current sheet in muscle behind fat and skin, 0.4 to 2.45 GHz.
[[nodiscard]] ExactCase sheet_in_muscle();

/// A round body about the origin.
struct RoundCase {
  std::string name;
  std::string mode;
  std::vector<Ring> rings;  ///< innermost first; "air" stands for the capsule
  std::string source;       ///< implant or incident, with its key
  solver::cylinder::Source exact_source;
  std::string band;  ///< waveform and frequencies, with their keys
  int cells = 20;    ///< per wavelength at the highest frequency
  int margin_mm = 12;
};

[[nodiscard]] ExactCase round_case(const RoundCase& round);

/// Prints true and stated error of every figure and expects the one inside the other.
void expect_inside(const ExactCase& one, const FullWaveRun& run);

}  // namespace torsowave::reference
