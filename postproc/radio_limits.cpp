#include "postproc/radio_limits.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "materials/checks.hpp"

namespace torsowave::postproc {
namespace {

using materials::require;

void require_bandwidth(double bandwidth)
{
  require(std::isfinite(bandwidth) && bandwidth > 0.0, "bandwidth [Hz]", "finite and > 0",
          bandwidth);
}

}  // namespace

std::string_view rule_set_name(RuleSet rules)
{
  switch (rules) {
    case RuleSet::usa_medradio:
      return "USA, medical (47 CFR 95 I)";
    case RuleSet::usa_unlicensed:
      return "USA, unlicensed (47 CFR 15)";
    case RuleSet::itu:
      return "ITU-R";
    case RuleSet::europe:
      return "Europe (ERC/REC 70-03, ETSI)";
  }
  throw std::logic_error("a rule set without a name");
}

double eirp_limit_dbm(const EirpRule& rule, double bandwidth)
{
  require_bandwidth(bandwidth);
  return rule.at_one_megahertz_dbm
             ? std::min(rule.cap_dbm,
                        *rule.at_one_megahertz_dbm + 10.0 * std::log10(bandwidth / 1e6))
             : rule.cap_dbm;
}

std::string LimitFinding::verdict() const
{
  std::string text = fmt::format("{} this figure by {:.2f} dB", above ? "above" : "below",
                                 std::abs(above_by_db));
  if (bandwidth_above) {
    text += fmt::format("; bandwidth above the {:g} kHz of this rule",
                        rule.largest_bandwidth.value_or(0.0) / 1e3);
  }
  if (leaves_band) {
    text += fmt::format("; reaches out of the band of {:g} to {:g} MHz", rule.from / 1e6,
                        rule.to / 1e6);
  }
  return text;
}

std::vector<LimitFinding> compare_with_rules(double eirp_dbm, double frequency,
                                             double bandwidth)
{
  require(!std::isnan(eirp_dbm), "EIRP [dBm]", "a number", eirp_dbm);
  materials::require_frequency(frequency);
  require_bandwidth(bandwidth);
  std::vector<LimitFinding> findings;
  for (const EirpRule& rule : eirp_rules()) {
    if (frequency < rule.from || frequency > rule.to) {
      continue;
    }
    const double limit = eirp_limit_dbm(rule, bandwidth);
    // Half a hertz on edges: channels that fill the band do not leave it by rounding.
    findings.push_back({rule, limit, eirp_dbm - limit, eirp_dbm > limit,
                        rule.largest_bandwidth && bandwidth > *rule.largest_bandwidth,
                        frequency - 0.5 * bandwidth < rule.from - 0.5 ||
                            frequency + 0.5 * bandwidth > rule.to + 0.5});
  }
  return findings;
}

}  // namespace torsowave::postproc
