/// \file
/// \brief What radio rules allow a transmitter to radiate outside the body, and on which
/// side of it a link lies.
///
/// A comparison of one figure with one printed figure. Whether a device keeps a rule
/// hangs on much more (access to the channel, duration, spectrum, how it is measured on a
/// body simulator): a planning and teaching estimate, not a compliance or clinical
/// result; local codes and licensed practice decide.

#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace torsowave::postproc {

enum class RuleSet {
  usa_medradio,    ///< 47 CFR part 95, subpart I
  usa_unlicensed,  ///< 47 CFR part 15
  itu,             ///< Rec. ITU-R RS.1346
  europe,          ///< ERC/REC 70-03, ETSI standards
};

/// The name in messages and tables.
[[nodiscard]] std::string_view rule_set_name(RuleSet rules);

/// One limit of one rule set in one band.
struct EirpRule {
  RuleSet rules;
  double from, to;  ///< band [Hz]
  double cap_dbm;   ///< EIRP [dBm]
  /// Where the limit grows with the bandwidth B: the lesser of the cap and 10
  /// log10(B/MHz)
  /// + this [dBm].
  std::optional<double> at_one_megahertz_dbm;
  std::optional<double> largest_bandwidth;  ///< [Hz]
  std::string_view condition;
  std::string_view source;  ///< with "from memory" where the text was not seen
};

/// All rules that are known here, by rule set and band.
[[nodiscard]] std::span<const EirpRule> eirp_rules();

/// EIRP [dBm] that a rule allows a signal of that bandwidth.
/// \param bandwidth  [Hz], where 20 dB are lost
/// \throws std::invalid_argument  Not finite and above 0.
[[nodiscard]] double eirp_limit_dbm(const EirpRule& rule, double bandwidth);

/// A link beside a rule. It says which side of a figure it is on, never more.
struct LimitFinding {
  EirpRule rule;
  double limit_dbm = 0.0;        ///< EIRP [dBm]
  double above_by_db = 0.0;      ///< EIRP less the limit [dB]; negative: below it
  bool above = false;            ///< EIRP above this figure
  bool bandwidth_above = false;  ///< bandwidth above the largest one of the rule
  bool leaves_band = false;      ///< f - B/2 or f + B/2 outside the band

  /// "below this figure by 3.9 dB", with what else does not fit.
  [[nodiscard]] std::string verdict() const;
};

/// Every rule whose band holds the frequency, in the order of eirp_rules(). Empty: no
/// rule is known here, which does not mean that there is none. \param eirp_dbm   outside
/// the body [dBm] \param frequency  centre [Hz] \param bandwidth  where 20 dB are lost
/// [Hz] \throws std::invalid_argument  Not a number; not finite and above 0.
[[nodiscard]] std::vector<LimitFinding> compare_with_rules(double eirp_dbm,
                                                           double frequency,
                                                           double bandwidth);

}  // namespace torsowave::postproc
