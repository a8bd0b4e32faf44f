/// \file
/// \brief The link of one frequency in all directions around the body.
///
/// Among the directions of a slice nothing but the implant's gain differs, so that the
/// margin there is that of the budget plus the difference of the gains.

#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "postproc/link_budget.hpp"
#include "postproc/radio_limits.hpp"
#include "postproc/result.hpp"

namespace torsowave::postproc {

/// Neighbouring directions, counter-clockwise from `from`, both included [deg].
struct LinkSector {
  double from = 0.0;
  double to = 0.0;
};

/// How far gain, powers and margins may be off.
struct LinkUncertainty {
  double db = 0.0;           ///< all causes but tissue_data, added [dB]
  std::string dominant;      ///< the largest of them
  double tissue_data = 0.0;  ///< beside them [dB]
};

/// What a frequency's link is asked for.
struct LinkRequest {
  /// Without frequency, gain of the implant, way to the skin and size of the body.
  LinkInput input;
  std::optional<double> direction_deg;  ///< of the reader; empty: the best
  /// Of the implant in its best direction, in the place of the slice's; the pattern
  /// stays.
  std::optional<double> implant_gain_dbi;
  std::vector<RuleSet> rules;  ///< empty: all
};

/// A rule beside what either end radiates.
struct LinkLimit {
  LimitFinding implant;
  LimitFinding reader;
};

struct LinkAround {
  double frequency = 0.0;  ///< [Hz]
  LinkInput input;         ///< as asked for, at the chosen direction
  double direction_deg = 0.0;
  double best_deg = 0.0;  ///< of the directions in which the reader is outside the body
  double worst_deg = 0.0;
  double worst_gain_dbi = 0.0;
  LinkBudget out;   ///< implant to reader, in the chosen direction
  LinkBudget back;  ///< reader to implant
  /// By Result::far_angle_deg, with fading; NaN where the reader would be inside the body
  /// [dB].
  std::vector<double> margin_db;
  std::vector<double> back_margin_db;
  double closes_deg = 0.0;          ///< directions with a margin of 0 or more [deg]
  double back_closes_deg = 0.0;     ///< \see closes_deg
  std::vector<LinkSector> sectors;  ///< where the link out closes
  LinkUncertainty uncertainty;
  std::vector<LinkLimit> limits;
};

/// What makes the link of one frequency impossible; empty if it can be worked out.
/// \param result  with an antenna_gain at that frequency
/// \throws std::invalid_argument  It has none.
[[nodiscard]] std::vector<LinkProblem> link_problems(const Result& result, std::size_t f,
                                                     const LinkRequest& request);

/// \throws std::invalid_argument  with every reason of link_problems()
[[nodiscard]] LinkAround link_around(const Result& result, std::size_t f,
                                     const LinkRequest& request);

/// The frequency with the largest margin out. \param around  not empty
[[nodiscard]] std::size_t best_band(const std::vector<LinkAround>& around);

/// The side of the patient that a direction points to: "left", "left-front", "front",
/// ..., for every 45 degrees. \param angle_deg  counter-clockwise from +x
[[nodiscard]] std::string side_of_body(double angle_deg);

}  // namespace torsowave::postproc
