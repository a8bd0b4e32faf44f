/// \file
/// \brief Link budget between an implant and a reader outside the body, both ways.
///
/// Every line comes with its formula and its source; docs/link.md has them in order. All
/// that a full-wave run adds is the implant's gain towards the reader (antenna_gain());
/// it holds for both directions, since body and antenna are reciprocal.
///
/// The margin says how much stronger the signal is than it has to be, in all but the
/// outage share of places. What is assumed, and has to stand beside every figure: free
/// space between body and reader, in the far field of the body; one spread of path loss
/// for posture and surroundings, normal in dB; white Gaussian noise, no interference.

#pragma once

#include <limits>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "postproc/modulation.hpp"
#include "postproc/radio_noise.hpp"

namespace torsowave::postproc {

inline constexpr std::string_view link_caution =
    "Caution: a planning and teaching estimate, not a compliance or clinical result; "
    "local "
    "codes and licensed practice decide.";

/// What one end sends and hears with.
struct LinkEnd {
  double transmit_power = 25e-6;  ///< of the transmitter into a matched antenna [W]
  /// Towards the other end [dBi]. Of the implant: AntennaGain::gain_dbi, body included.
  double gain_dbi = 0.0;
  /// Of the antenna, above 0; infinite: a perfect match.
  double return_loss_db = std::numeric_limits<double>::infinity();
  double antenna_efficiency = 1.0;  ///< what the gain leaves out, above 0 to 1
  double noise_figure_db = 0.0;
  double antenna_temperature = body_temperature;  ///< [K]
};

/// What lies between the ends.
struct LinkPath {
  double frequency = 0.0;  ///< [Hz]
  /// From the point that the far field refers to (the slice's origin) to the reader's
  /// antenna [m].
  double distance = 0.0;
  double skin_distance =
      0.0;                   ///< from that point to the skin on this way [m]; 0: unknown
  double body_extent = 0.0;  ///< the body's largest size in the slice [m]; 0: unknown
  double capsule_loss_db = 0.0;  ///< in the implant's housing, if the gain leaves it out
  double polarisation_loss_db = 0.0;
  double fade_sigma_db = 0.0;  ///< spread of the path loss; deep_implant_sigma_db
  double outage = 0.05;        ///< share of places where the signal may be too weak
  std::optional<NoiseArea> noise_area = std::nullopt;  ///< where the reader stands
};

/// What is sent.
struct LinkSignal {
  Modulation modulation{};
  double data_rate = 0.0;  ///< of information [bit/s]
  double bandwidth = 0.0;  ///< that the receiver lets noise in by [Hz]
  ErrorTarget target{};
  double coding_gain_db = 0.0;          ///< of Eb/N0 at the target
  double implementation_loss_db = 0.0;  ///< of a real receiver against the formula
};

struct LinkInput {
  LinkEnd implant;
  LinkEnd reader;
  LinkPath path;
  LinkSignal signal;
};

enum class LinkDirection { implant_to_reader, reader_to_implant };

/// Eb/N0 [dB] that keeps the target: of the modulation, plus implementation loss, less
/// coding gain.
/// \throws std::invalid_argument  Target or modulation out of range; less than ln 2,
/// -1.59
///         dB, which no code can do with (C. E. Shannon, Bell Syst. Tech. J. 27 (1948)
///         379-423, from memory).
[[nodiscard]] double required_eb_n0_db(const LinkSignal& signal);

/// What makes a link impossible.
struct LinkProblem {
  std::string quantity;  ///< "gain of the implant"
  std::string reason;    ///< what is accepted, what was found, and why
};

/// All of them; empty if the budget can be computed.
[[nodiscard]] std::vector<LinkProblem> link_problems(const LinkInput& input);

/// One line of a budget.
struct LinkTerm {
  enum class Kind {
    contribution,  ///< added to get the received power
    total,         ///< the sum so far
    figure,        ///< of noise, demand or margin
  };
  Kind kind;
  std::string name;
  double value;
  std::string unit;
  std::string formula;
  std::string source;
};

/// How well the signal is received.
struct ReceivedLevel {
  double power_dbm = 0.0;
  double snr_db = 0.0;     ///< over the noise in the bandwidth
  double eb_n0_db = 0.0;   ///< energy of an information bit over the noise density
  double margin_db = 0.0;  ///< Eb/N0 less the one needed
  /// At Eb/N0 less implementation loss plus coding gain: the gain is taken as the same at
  /// every level, which holds near the target alone.
  double bit_error_ratio = 0.0;
  double packet_error_ratio = 0.0;
};

struct LinkBudget {
  LinkDirection direction = LinkDirection::implant_to_reader;
  std::vector<LinkTerm> terms;  ///< in the order in which they are worked out
  double eirp_dbm = 0.0;  ///< of the sending end, outside the body, towards the other
  SystemNoise noise;
  double noise_density_dbm = 0.0;  ///< [dBm/Hz]
  double noise_power_dbm = 0.0;    ///< in the bandwidth
  double required_eb_n0_db = 0.0;  ///< with implementation loss and coding gain
  double sensitivity_dbm = 0.0;    ///< weakest power that keeps the target
  double fade_margin_db = 0.0;
  ReceivedLevel median;  ///< half of all places have less
  ReceivedLevel faded;   ///< the outage share of all places has less
  /// Where the faded margin is 0, from the same point as the distance [m]; none if that
  /// would not be beyond LinkPath::skin_distance.
  std::optional<double> largest_distance;
  double power_limited_rate = 0.0;      ///< data rate of a faded margin of 0 [bit/s]
  double bandwidth_limited_rate = 0.0;  ///< bits_per_hertz() times the bandwidth [bit/s]
  double largest_data_rate = 0.0;       ///< the smaller one of the two [bit/s]
  double required_transmit_power_dbm = 0.0;  ///< for a faded margin of 0
  std::vector<std::string> notes;            ///< where the figures lean on a limit
};

/// \throws std::invalid_argument  with every reason of link_problems(), a line each
[[nodiscard]] LinkBudget link_budget(const LinkInput& input, LinkDirection direction);

}  // namespace torsowave::postproc
