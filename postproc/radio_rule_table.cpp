// Radio limits for transmitters in and about the body, one row each. "Seen": the figure
// stood in text that was read; "from memory": recalled, the text was not found. Limits
// that are no EIRP (inductive implants, 9 to 315 kHz, in A/m) are left out.

#include <cmath>
#include <vector>

#include "postproc/link_formulas.hpp"
#include "postproc/radio_limits.hpp"

namespace torsowave::postproc {
namespace {

using Rules = std::vector<EirpRule>;
using std::nullopt;

constexpr double kilo = 1e3;
constexpr double mega = 1e6;

[[nodiscard]] double eirp_dbm(double watt)
{
  return 10.0 * std::log10(watt) + 30.0;
}

[[nodiscard]] double erp_dbm(double watt)
{
  return eirp_dbm(watt) + eirp_over_erp_db;
}

constexpr std::string_view monitored = "with frequency monitoring, in any 100 kHz";
constexpr std::string_view unmonitored =
    "without frequency monitoring, in any 100 kHz, 3.6 s an hour";
constexpr std::string_view wing_source = "47 CFR 95.2567(a)(2), 95.2573 (seen)";
constexpr std::string_view quiet_source =
    "47 CFR 95.2567(b)(1), 95.2557(b), 95.2573 (seen)";

void add_usa_medradio(Rules& rules)
{
  constexpr RuleSet usa = RuleSet::usa_medradio;
  const double full = eirp_dbm(25e-6);
  const double weak = eirp_dbm(250e-9);
  rules.push_back({usa, 402 * mega, 405 * mega, full, nullopt, 300 * kilo,
                   "with frequency monitoring, in any 300 kHz",
                   "47 CFR 95.2567(a)(1), 95.2573 (seen)"});
  // 401-401.85 MHz has 100 kHz at most, 401.85-402 MHz 150 kHz.
  rules.push_back({usa, 401 * mega, 401.85 * mega, full, nullopt, 100 * kilo, monitored,
                   wing_source});
  rules.push_back({usa, 401.85 * mega, 402 * mega, full, nullopt, 150 * kilo, monitored,
                   wing_source});
  rules.push_back(
      {usa, 405 * mega, 406 * mega, full, nullopt, 100 * kilo, monitored, wing_source});
  rules.push_back({usa, 401 * mega, 401.85 * mega, weak, nullopt, 100 * kilo, unmonitored,
                   quiet_source});
  rules.push_back({usa, 405 * mega, 406 * mega, weak, nullopt, 100 * kilo, unmonitored,
                   quiet_source});
  rules.push_back({usa, 401.85 * mega, 402 * mega, full, nullopt, 150 * kilo,
                   "without frequency monitoring, in 150 kHz, 3.6 s an hour",
                   "47 CFR 95.2567(b)(2), 95.2557(b), 95.2573 (seen)"});
  rules.push_back(
      {usa, 403.5 * mega, 403.8 * mega, eirp_dbm(100e-9), nullopt, 300 * kilo,
       "without frequency monitoring, 300 kHz about 403.65 MHz, 360 ms an hour",
       "47 CFR 95.2567(c), 95.2557(c) (seen)"});
}

void add_usa_networks(Rules& rules)
{
  constexpr RuleSet usa = RuleSet::usa_medradio;
  for (const double from : {413.0, 426.0, 438.0, 451.0}) {
    rules.push_back({usa, from * mega, (from + 6.0) * mega, 0.0, -7.782, 6 * mega,
                     "micropower networks, B where 20 dB are lost",
                     "47 CFR 95.2567(d)(1), 95.2573 (seen)"});
  }
  rules.push_back({usa, 2360 * mega, 2390 * mega, 0.0, 0.0, 5 * mega,
                   "body area networks, B where 20 dB are lost",
                   "47 CFR 95.2567(e), 95.2573 (seen)"});
  rules.push_back({usa, 2390 * mega, 2400 * mega, 13.0, 16.0, 5 * mega,
                   "body area networks, B where 20 dB are lost",
                   "47 CFR 95.2567(f), 95.2573 (seen)"});
}

void add_usa_unlicensed(Rules& rules)
{
  constexpr RuleSet usa = RuleSet::usa_unlicensed;
  // (E d)^2/30, Rec. ITU-R P.525-2 eq. 1.
  const double field = eirp_dbm(0.05 * 3.0 * 0.05 * 3.0 / 30.0);
  constexpr std::string_view condition = "any modulation; 50 mV/m at 3 m as EIRP";
  constexpr std::string_view source = "47 CFR 15.249(a) (seen)";
  rules.push_back(
      {usa, 902 * mega, 928 * mega, field, nullopt, nullopt, condition, source});
  rules.push_back(
      {usa, 2400 * mega, 2483.5 * mega, field, nullopt, nullopt, condition, source});
  rules.push_back(
      {usa, 5725 * mega, 5875 * mega, field, nullopt, nullopt, condition, source});
  rules.push_back(
      {usa, 2400 * mega, 2483.5 * mega, eirp_dbm(1.0) + 6.0, nullopt, nullopt,
       "spread or digital modulation of 500 kHz and more: 1 W into at most 6 dBi",
       "47 CFR 15.247(b) (older text, seen quoted; 500 kHz from memory)"});
}

void add_itu(Rules& rules)
{
  rules.push_back({RuleSet::itu, 402 * mega, 405 * mega, -16.0, nullopt, nullopt,
                   "implant communication, sharing with meteorological aids",
                   "Rec. ITU-R RS.1346 (1998), considering e (seen)"});
}

void add_europe_medical(Rules& rules)
{
  constexpr RuleSet europe = RuleSet::europe;
  constexpr std::string_view wings = "ETSI EN 302 537, ERC/DEC/(01)17 (from memory)";
  rules.push_back({europe, 30 * mega, 37.5 * mega, erp_dbm(1e-3), nullopt, nullopt,
                   "membrane implants, 1 mW ERP, 10 % of the time",
                   "ERC/REC 70-03, annex 12, band b (seen)"});
  rules.push_back({europe, 402 * mega, 405 * mega, erp_dbm(25e-6), nullopt, 300 * kilo,
                   "active implants, 25 uW ERP in 300 kHz",
                   "ETSI EN 301 839, ERC/DEC/(01)17 (from memory)"});
  for (const double from : {401.0, 405.0}) {
    rules.push_back({europe, from * mega, (from + 1.0) * mega, erp_dbm(25e-6), nullopt,
                     100 * kilo, "listening before talking, 25 uW ERP", wings});
    rules.push_back({europe, from * mega, (from + 1.0) * mega, erp_dbm(250e-9), nullopt,
                     100 * kilo, "0.1 % of the time, 250 nW ERP", wings});
  }
  rules.push_back(
      {europe, 2483.5 * mega, 2500 * mega, 10.0, nullopt, 1 * mega,
       "low-power active implants, listening before talking, 10 % of the time",
       "ERC/REC 70-03, annex 12, band c (seen)"});
}

void add_europe_short_range(Rules& rules)
{
  constexpr RuleSet europe = RuleSet::europe;
  constexpr std::string_view source_433 =
      "ERC/REC 70-03, annex 1 (power seen, band from memory)";
  rules.push_back({europe, 433.05 * mega, 434.79 * mega, erp_dbm(10e-3), nullopt, nullopt,
                   "10 mW ERP, below 10 % of the time", source_433});
  rules.push_back({europe, 433.05 * mega, 434.79 * mega, erp_dbm(1e-3), nullopt, nullopt,
                   "1 mW ERP and -13 dBm in 10 kHz, all of the time", source_433});
  rules.push_back({europe, 868.0 * mega, 868.6 * mega, erp_dbm(25e-3), nullopt, nullopt,
                   "25 mW ERP, 1 % of the time or listening before talking",
                   "ERC/REC 70-03, annex 1; ETSI EN 300 220-2 (from memory)"});
  rules.push_back({europe, 2400 * mega, 2483.5 * mega, eirp_dbm(10e-3), nullopt, nullopt,
                   "short-range devices, 10 mW EIRP",
                   "ERC/REC 70-03, annex 1 (from memory)"});
  rules.push_back({europe, 2400 * mega, 2483.5 * mega, eirp_dbm(100e-3), nullopt, nullopt,
                   "wideband data, 100 mW EIRP and 10 mW in 1 MHz",
                   "ERC/REC 70-03, annex 3; ETSI EN 300 328 (from memory)"});
}

[[nodiscard]] Rules all_rules()
{
  Rules rules;
  add_usa_medradio(rules);
  add_usa_networks(rules);
  add_usa_unlicensed(rules);
  add_itu(rules);
  add_europe_medical(rules);
  add_europe_short_range(rules);
  return rules;
}

}  // namespace

std::span<const EirpRule> eirp_rules()
{
  static const Rules rules = all_rules();
  return rules;
}

}  // namespace torsowave::postproc
