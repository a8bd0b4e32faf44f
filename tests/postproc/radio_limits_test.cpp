// EIRP limits as the rules print them, and which side of them a link is on.

#include "postproc/radio_limits.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <stdexcept>
#include <vector>

namespace torsowave::postproc {
namespace {

struct Printed {
  RuleSet rules;
  double frequency, bandwidth;
  std::vector<double> limits_dbm;  ///< of that rule set, in the order of the table
};

// Sources: postproc/radio_rule_table.cpp. Worked by hand: 25 uW = 10 log10(0.025) =
// -16.0206 dBm, 250 nW = -36.0206, 100 nW = -40; 1 MHz: 10 log10 B = 0; 300 kHz: -5.2288;
// ERP + 2.15.
const std::array printed{
    Printed{RuleSet::usa_medradio, 402.5e6, 300e3, {-16.0206}},
    Printed{RuleSet::usa_medradio, 403.65e6, 300e3, {-16.0206, -40.0}},
    Printed{RuleSet::usa_medradio, 401.5e6, 100e3, {-16.0206, -36.0206}},
    Printed{RuleSet::usa_medradio, 401.9e6, 100e3, {-16.0206, -16.0206}},
    Printed{RuleSet::usa_medradio, 405.5e6, 100e3, {-16.0206, -36.0206}},
    Printed{RuleSet::usa_medradio, 416e6, 1e6, {-7.782}},
    Printed{RuleSet::usa_medradio, 441e6, 6e6, {-0.0005}},  // 10 log10 6 = 7.7815
    Printed{RuleSet::usa_medradio, 2375e6, 300e3, {-5.2288}},
    Printed{RuleSet::usa_medradio, 2375e6, 5e6, {0.0}},
    Printed{RuleSet::usa_medradio, 2395e6, 300e3, {10.7712}},
    Printed{RuleSet::usa_medradio, 2395e6, 5e6, {13.0}},
    Printed{RuleSet::usa_unlicensed, 915e6, 1e6, {-1.2494}},  // (50 mV/m 3 m)^2/30
    Printed{RuleSet::usa_unlicensed, 2450e6, 1e6, {-1.2494, 36.0}},
    Printed{RuleSet::usa_unlicensed, 5800e6, 1e6, {-1.2494}},
    Printed{RuleSet::itu, 403.5e6, 300e3, {-16.0}},
    Printed{RuleSet::europe, 33e6, 1e6, {2.15}},
    Printed{RuleSet::europe, 403.5e6, 300e3, {-13.8706}},
    Printed{RuleSet::europe, 401.5e6, 100e3, {-13.8706, -33.8706}},
    Printed{RuleSet::europe, 405.5e6, 100e3, {-13.8706, -33.8706}},
    Printed{RuleSet::europe, 433.92e6, 25e3, {12.15, 2.15}},
    Printed{RuleSet::europe, 868.3e6, 100e3, {16.1294}},
    Printed{RuleSet::europe, 2450e6, 1e6, {10.0, 20.0}},
    Printed{RuleSet::europe, 2490e6, 1e6, {10.0}}};

TEST(RadioLimits, AreThoseOfTheRules)
{
  for (const Printed& c : printed) {
    std::vector<double> limits;
    for (const LimitFinding& found : compare_with_rules(0.0, c.frequency, c.bandwidth)) {
      if (found.rule.rules == c.rules) {
        limits.push_back(found.limit_dbm);
      }
    }
    ASSERT_EQ(limits.size(), c.limits_dbm.size()) << c.frequency;
    for (std::size_t n = 0; n < limits.size(); ++n) {
      EXPECT_NEAR(limits[n], c.limits_dbm[n], 5.1e-5) << c.frequency;
    }
  }
}

TEST(RadioLimits, SayOnWhichSideALinkIs)
{
  const auto at = [](double eirp_dbm) {
    return compare_with_rules(eirp_dbm, 402.5e6, 300e3).front();
  };
  EXPECT_FALSE(at(-20.0206).above);
  EXPECT_NEAR(at(-20.0206).above_by_db, -4.0, 5e-5);
  EXPECT_EQ(at(-20.0206).verdict(), "below this figure by 4.00 dB");
  EXPECT_TRUE(at(-15.0206).above);
  EXPECT_EQ(at(-15.0206).verdict(), "above this figure by 1.00 dB");
}

TEST(RadioLimits, SayWhenTheBandwidthDoesNotFit)
{
  const auto verdict = [](double frequency, double bandwidth) {
    return compare_with_rules(-20.0206, frequency, bandwidth).front().verdict();
  };
  EXPECT_EQ(verdict(402.5e6, 400e3),
            "below this figure by 4.00 dB; bandwidth above the 300 kHz of this rule");
  EXPECT_EQ(verdict(402.1e6, 300e3),
            "below this figure by 4.00 dB; reaches out of the band of 402 to 405 MHz");
  EXPECT_EQ(verdict(402.15e6, 300e3), "below this figure by 4.00 dB");  // fills it
}

TEST(RadioLimits, KnowNothingBesideTheirBands)
{
  EXPECT_TRUE(compare_with_rules(0.0, 100e6, 1e6).empty());
  EXPECT_TRUE(compare_with_rules(0.0, 6e9, 1e6).empty());
}

TEST(RadioLimits, EveryRowIsWhole)
{
  EXPECT_TRUE(std::ranges::all_of(eirp_rules(), [](const EirpRule& rule) {
    return rule.from < rule.to && std::isfinite(rule.cap_dbm) && !rule.source.empty() &&
           !rule.condition.empty() && !rule_set_name(rule.rules).empty() &&
           (rule.source.find("seen") != std::string_view::npos ||
            rule.source.find("from memory") != std::string_view::npos);
  }));
}

TEST(RadioLimits, RefuseWhatIsNoSignal)
{
  const double nan = std::numeric_limits<double>::quiet_NaN();
  EXPECT_THROW(static_cast<void>(compare_with_rules(nan, 403e6, 1e5)),
               std::invalid_argument);
  EXPECT_THROW(static_cast<void>(compare_with_rules(0.0, nan, 1e5)),
               std::invalid_argument);
  EXPECT_THROW(static_cast<void>(compare_with_rules(0.0, 403e6, 0.0)),
               std::invalid_argument);
}

}  // namespace
}  // namespace torsowave::postproc
