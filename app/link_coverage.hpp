/// \file
/// \brief Where in the body a link would close: one run for each direction of a reader.
///
/// The reader's plane wave illuminates the scenario's body without implant and capsule;
/// what it leaves in a cell says how well an implant there is heard
/// (postproc/coverage.hpp). The implant is a short dipole along z (a line current) or in
/// the plane, in a spherical capsule of the scenario's radius and filling, in the tissue
/// of the cell. A planning and teaching estimate, not a compliance or clinical result.

#pragma once

#include <functional>
#include <string>
#include <vector>

#include "app/coverage_places.hpp"
#include "app/run_plan.hpp"
#include "app/run_scenario.hpp"
#include "postproc/coverage_result.hpp"

namespace torsowave::app {

/// What is asked.
struct CoverageRequest {
  std::vector<double> directions;  ///< towards the reader [rad], one at least
  /// Margin [dB] of the link of an implant of 0 dBi at a frequency [Hz] to a reader in a
  /// direction [rad].
  std::function<double(double frequency, double direction)> margin_at_0_dbi;
  std::string link;    ///< which way that is of
  PlaceCounts checks;  ///< places at which a direct run is to follow
};

struct LinkCoverage {
  RunPlan plan;  ///< of the illuminated body
  postproc::CoverageResult result;
  std::vector<CheckPlace> places;
};

/// A direct run beside the map.
struct CoverageCheck {
  std::size_t place = 0;      ///< index into LinkCoverage::places
  std::size_t direction = 0;  ///< index into CoverageResult::directions
  std::size_t frequency = 0;
  double dipole_direction = 0.0;  ///< in-plane dipole [rad]
  double map_dbi = 0.0;
  double direct_dbi = 0.0;

  [[nodiscard]] double difference_db() const { return map_dbi - direct_dbi; }
};

/// Runs, and makes the maps.
/// \param with_implant  plan of the user's scenario: its cells are those of the map
/// \throws scenarios::InputError  No implant with a gain, no capsule, no room for a plane
///   wave. \throws Interrupted
[[nodiscard]] LinkCoverage cover(const RunPlan& with_implant,
                                 const CoverageRequest& request,
                                 const RunOptions& options);

/// Repeats the question with the source at each of coverage.places, one run for each.
/// An in-plane dipole is turned so that no reader and no frequency sees it end on.
/// \param with_implant  that of cover()
/// \throws Interrupted
[[nodiscard]] std::vector<CoverageCheck> check_coverage(const LinkCoverage& coverage,
                                                        const RunPlan& with_implant,
                                                        const RunOptions& options);

}  // namespace torsowave::app
