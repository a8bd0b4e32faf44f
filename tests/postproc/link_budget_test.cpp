// A link worked by hand, both ways; results put in again; what no link can be.

#include "postproc/link_budget.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>
#include <stdexcept>
#include <string>
#include <vector>

#include "postproc/link_around.hpp"
#include "postproc/link_formulas.hpp"

namespace torsowave::postproc {
namespace {

/// An invented pressure sensor on an aortic graft and its invented reader.
LinkInput invented_link()
{
  LinkInput input;
  input.implant = {.transmit_power = 25e-6,
                   .gain_dbi = -30.0,
                   .return_loss_db = 10.0,
                   .antenna_efficiency = 0.8,
                   .noise_figure_db = 9.0};
  input.reader = {.transmit_power = 1e-3, .gain_dbi = 2.0, .noise_figure_db = 6.0};
  input.path = {.frequency = 403.5e6,
                .distance = 2.0,
                .skin_distance = 0.12,
                .body_extent = 0.33,
                .capsule_loss_db = 0.5,
                .polarisation_loss_db = 3.0103,
                .fade_sigma_db = deep_implant_sigma_db,
                .outage = 0.05};
  input.signal = {.modulation = {ModulationKind::noncoherent_fsk},
                  .data_rate = 100e3,
                  .bandwidth = 300e3,
                  .target = {1e-3, 1},
                  .coding_gain_db = 3.0,
                  .implementation_loss_db = 2.0};
  return input;
}

const LinkTerm& term(const LinkBudget& budget, const std::string& name)
{
  const auto found = std::ranges::find(budget.terms, name, &LinkTerm::name);
  if (found == budget.terms.end()) {
    throw std::out_of_range("no line " + name);
  }
  return *found;
}

constexpr double rounding = 1.5e-4;  // of sums of up to ten lines with four decimals

// Worked by hand (P.525, k T B and the formulas of docs/link.md), in dB:
//   -16.0206 - 0.4576 (10 dB return loss) - 0.9691 (0.8) - 30 - 0.5     = -47.9473 EIRP
//   -47.9473 - 30.5853 (2 m) - 3.0103 + 2                               = -79.5429 C
//   7.85 1.644854 = 12.9121: C with fading                              = -92.4550
//   T = 310 + 290 (10^0.6 - 1) = 1174.511 K: N0                         = -167.9006
//   + 54.7712 (300 kHz): N                                              = -113.1294
//   C - N0 - 50 (100 kbit/s)                                            = 25.4456 Eb/N0
//   needed 10.9444 + 2 - 3 = 9.9444: margin                             = 15.5012
TEST(LinkBudget, OutOfTheBodyIsThatWorkedByHand)
{
  const LinkBudget out = link_budget(invented_link(), LinkDirection::implant_to_reader);
  EXPECT_NEAR(out.eirp_dbm, -47.9473, rounding);
  EXPECT_NEAR(out.median.power_dbm, -79.5429, rounding);
  EXPECT_NEAR(out.fade_margin_db, 12.9121, rounding);
  EXPECT_NEAR(out.faded.power_dbm, -92.4550, rounding);
  EXPECT_NEAR(out.noise.temperature(), 1174.511, 5.1e-4);
  EXPECT_NEAR(out.noise_density_dbm, -167.9006, rounding);
  EXPECT_NEAR(out.noise_power_dbm, -113.1294, rounding);
  EXPECT_NEAR(out.faded.snr_db, 20.6744, rounding);
  EXPECT_NEAR(out.median.snr_db, 33.5865, rounding);
  EXPECT_NEAR(out.faded.eb_n0_db, 25.4456, rounding);
  EXPECT_NEAR(out.required_eb_n0_db, 9.9444, rounding);
  EXPECT_NEAR(out.sensitivity_dbm, -107.9562, rounding);
  EXPECT_NEAR(out.faded.margin_db, 15.5012, rounding);
  EXPECT_NEAR(out.median.margin_db, 28.4133, rounding);
  EXPECT_TRUE(out.notes.empty());
}

// 10^(15.5012/20) = 5.9575; 10^(15.5012/10) = 35.491; orthogonal tones: 1/2 bit/s/Hz.
TEST(LinkBudget, TurnsItsMarginIntoDistanceRateAndPower)
{
  const LinkBudget out = link_budget(invented_link(), LinkDirection::implant_to_reader);
  EXPECT_NEAR(out.largest_distance.value(), 11.915, 1e-3);
  EXPECT_NEAR(out.power_limited_rate, 3.5491e6, 200.0);
  EXPECT_DOUBLE_EQ(out.bandwidth_limited_rate, 150e3);
  EXPECT_DOUBLE_EQ(out.largest_data_rate, 150e3);
  EXPECT_NEAR(out.required_transmit_power_dbm, -31.5218, rounding);
}

// Worked by hand: 0 + 2 = 2 EIRP; 2 - 30.5853 - 3.0103 - 0.4576 - 0.9691 - 30 - 0.5 =
// -63.5223 C, -76.4344 with fading; T = 310 + 290 (10^0.9 - 1) = 2323.552 K, N0 =
// -164.9376; Eb/N0 = -76.4344 + 164.9376 - 50 = 38.5032, margin 28.5588.
TEST(LinkBudget, IntoTheBodyIsThatWorkedByHand)
{
  const LinkBudget in = link_budget(invented_link(), LinkDirection::reader_to_implant);
  EXPECT_NEAR(in.eirp_dbm, 2.0, rounding);
  EXPECT_NEAR(in.median.power_dbm, -63.5223, rounding);
  EXPECT_NEAR(in.faded.power_dbm, -76.4344, rounding);
  EXPECT_NEAR(in.noise.temperature(), 2323.552, 5.1e-4);
  EXPECT_NEAR(in.noise_density_dbm, -164.9376, rounding);
  EXPECT_NEAR(in.faded.margin_db, 28.5588, rounding);
  EXPECT_NEAR(in.required_transmit_power_dbm, -28.5588, rounding);
}

TEST(LinkBudget, LinesAddUpToTheReceivedPower)
{
  for (const auto direction :
       {LinkDirection::implant_to_reader, LinkDirection::reader_to_implant}) {
    const LinkBudget budget = link_budget(invented_link(), direction);
    double sum = 0.0;
    for (const LinkTerm& line : budget.terms) {
      EXPECT_FALSE(line.name.empty() || line.unit.empty() || line.formula.empty() ||
                   line.source.empty());
      if (line.kind == LinkTerm::Kind::contribution) {
        sum += line.value;
      } else if (line.kind == LinkTerm::Kind::total) {
        EXPECT_NEAR(line.value, sum, 1e-12) << line.name;
      }
    }
    EXPECT_NEAR(sum, budget.faded.power_dbm, 1e-12);
    EXPECT_EQ(term(budget, "EIRP outside the body").value, budget.eirp_dbm);
    EXPECT_EQ(term(budget, "margin").value, budget.faded.margin_db);
    EXPECT_NEAR(term(budget, "Eb/N0").value - term(budget, "Eb/N0 needed").value,
                budget.faded.margin_db, 1e-12);
  }
}

using Change = std::function<void(LinkInput&, const LinkBudget&)>;

// At its own largest distance, rate, or least power the link just keeps its target.
TEST(LinkBudget, KeepsItsTargetExactlyAtItsLimits)
{
  const std::vector<Change> changes{
      [](LinkInput& input, const LinkBudget& budget) {
        input.path.distance = budget.largest_distance.value();
      },
      [](LinkInput& input, const LinkBudget& budget) {
        input.signal.data_rate = budget.power_limited_rate;
      },
      [](LinkInput& input, const LinkBudget& budget) {
        input.implant.transmit_power =
            std::pow(10.0, (budget.required_transmit_power_dbm - 30.0) / 10.0);
      }};
  for (const ModulationKind kind : {ModulationKind::noncoherent_fsk, ModulationKind::bpsk,
                                    ModulationKind::oqpsk, ModulationKind::gfsk}) {
    for (const Change& change : changes) {
      LinkInput input = invented_link();
      input.signal.modulation.kind = kind;
      input.signal.target = {1e-2, 160};
      change(input, link_budget(input, LinkDirection::implant_to_reader));
      const LinkBudget at = link_budget(input, LinkDirection::implant_to_reader);
      EXPECT_NEAR(at.faded.margin_db, 0.0, 1e-11);
      EXPECT_NEAR(at.faded.packet_error_ratio, 1e-2, 1e-12);
      EXPECT_NEAR(at.faded.power_dbm, at.sensitivity_dbm, 1e-11);
    }
  }
}

TEST(LinkBudget, SaysWhereItsModelsEnd)
{
  LinkInput input = invented_link();
  input.path.frequency = 2.45e9;
  input.path.distance = 0.5;
  input.path.noise_area = NoiseArea::city;
  input.signal.data_rate = 1e6;
  const LinkBudget out = link_budget(input, LinkDirection::implant_to_reader);
  EXPECT_EQ(out.noise.man_made, 0.0);
  const auto says = [&](const char* what) {
    return std::ranges::any_of(out.notes, [&](const std::string& note) {
      return note.find(what) != std::string::npos;
    });
  };
  EXPECT_TRUE(says("the distance of 0.5 m is nearer than 1.78 m"));
  EXPECT_TRUE(says("402 to 405 MHz"));
  EXPECT_TRUE(says("man-made noise is left out"));
  EXPECT_TRUE(says("want more than the bandwidth"));
}

TEST(LinkBudget, HearsManMadeNoiseAtTheReaderWhereItIsKnown)
{
  LinkInput input = invented_link();
  input.path.frequency = 100e6;
  input.path.distance = 5.0;
  input.path.noise_area = NoiseArea::city;  // 21.4 dB above k T0 B (P.372-17)
  const double heard = 290.0 * std::pow(10.0, 2.14);
  EXPECT_NEAR(link_budget(input, LinkDirection::implant_to_reader).noise.man_made, heard,
              1e-8);
  EXPECT_EQ(link_budget(input, LinkDirection::reader_to_implant).noise.man_made, 0.0);
}

TEST(LinkBudget, HasNoDistanceWhereTheTargetIsNeverKept)
{
  LinkInput input = invented_link();
  input.implant.gain_dbi = -90.0;
  const LinkBudget out = link_budget(input, LinkDirection::implant_to_reader);
  EXPECT_FALSE(out.largest_distance.has_value());
  EXPECT_LT(out.faded.margin_db, 0.0);
  EXPECT_GT(out.faded.bit_error_ratio, 0.4);
  EXPECT_EQ(out.notes.back(), "the target is not kept at any distance outside the body");
}

struct Impossible {
  std::string quantity;
  std::function<void(LinkInput&)> make;
};

const double nan = std::numeric_limits<double>::quiet_NaN();

const std::vector<Impossible> impossible{
    {"gain of the implant", [](LinkInput& i) { i.implant.gain_dbi = 60.0; }},
    {"gain of the reader", [](LinkInput& i) { i.reader.gain_dbi = 60.0; }},
    {"gain of the reader", [](LinkInput& i) { i.reader.gain_dbi = nan; }},
    {"transmit power of the implant",
     [](LinkInput& i) { i.implant.transmit_power = 0.0; }},
    {"return loss of the reader", [](LinkInput& i) { i.reader.return_loss_db = 0.0; }},
    {"antenna efficiency of the implant",
     [](LinkInput& i) { i.implant.antenna_efficiency = 1.1; }},
    {"noise of the reader", [](LinkInput& i) { i.reader.noise_figure_db = -1.0; }},
    {"noise of the implant", [](LinkInput& i) { i.implant.antenna_temperature = 0.0; }},
    {"frequency", [](LinkInput& i) { i.path.frequency = nan; }},
    {"distance of the reader", [](LinkInput& i) { i.path.distance = 0.1; }},
    {"distance of the reader", [](LinkInput& i) { i.path.distance = 0.0; }},
    {"distance to the skin", [](LinkInput& i) { i.path.skin_distance = -1.0; }},
    {"extent of the body", [](LinkInput& i) { i.path.body_extent = nan; }},
    {"loss of the capsule", [](LinkInput& i) { i.path.capsule_loss_db = -3.0; }},
    {"polarisation loss", [](LinkInput& i) { i.path.polarisation_loss_db = nan; }},
    {"fading", [](LinkInput& i) { i.path.outage = 0.0; }},
    {"fading", [](LinkInput& i) { i.path.fade_sigma_db = -1.0; }},
    {"data rate", [](LinkInput& i) { i.signal.data_rate = 0.0; }},
    {"bandwidth", [](LinkInput& i) { i.signal.bandwidth = 0.0; }},
    {"coding gain", [](LinkInput& i) { i.signal.coding_gain_db = -1.0; }},
    {"implementation loss", [](LinkInput& i) { i.signal.implementation_loss_db = nan; }},
    {"error target",
     [](LinkInput& i) {
       i.signal.target = {0.6, 1};
     }},
    {"error target", [](LinkInput& i) { i.signal.coding_gain_db = 15.0; }}};  // Shannon

TEST(LinkProblems, NameWhatCannotBe)
{
  EXPECT_TRUE(link_problems(invented_link()).empty());
  for (const Impossible& c : impossible) {
    LinkInput input = invented_link();
    c.make(input);
    const auto problems = link_problems(input);
    EXPECT_TRUE(std::ranges::any_of(problems, [&](const LinkProblem& problem) {
      return problem.quantity == c.quantity && !problem.reason.empty();
    })) << c.quantity;
    EXPECT_THROW(static_cast<void>(link_budget(input, LinkDirection::implant_to_reader)),
                 std::invalid_argument)
        << c.quantity;
  }
}

TEST(LinkProblems, ComeAllAtOnceWithTheirReasons)
{
  LinkInput input = invented_link();
  input.implant.gain_dbi = 60.0;
  input.path.distance = 0.1;
  input.signal.target.ratio = 0.6;
  input.signal.bandwidth = 0.0;
  try {
    static_cast<void>(link_budget(input, LinkDirection::reader_to_implant));
    FAIL() << "an impossible link was accepted";
  } catch (const std::invalid_argument& refusal) {
    EXPECT_STREQ(
        refusal.what(),
        "this link is impossible:\n"
        "  gain of the implant: must be from -200 to 10 dBi (in a body, which only takes "
        "power away), got 60\n"
        "  distance of the reader: must be above 0.12 m, where the skin is: the reader "
        "would "
        "be inside the body, got 0.1\n"
        "  bandwidth: must be above 0 and below twice the frequency, in Hz, got 0\n"
        "  error target: bit error target must be above 0 and below 0.5, which is "
        "guessing, "
        "got 0.6");
  }
}

/// A receiver that a standard still admits: its sensitivity, of which the formulas must
/// be on the better side, by what real receivers lose.
struct Admitted {
  ModulationKind kind;
  double data_rate;
  ErrorTarget target;
  double sensitivity_dbm;
};

// IEEE Std 802.15.4-2011, 10.3.4 (O-QPSK, 2450 MHz, as quoted in public source code);
// 802.15.4 BPSK, 868/915 MHz (from memory); rates and the packet of 20 octets with 1 %
// from memory. Bluetooth Core, LE, receiver (as summarised in public notes; rate from
// memory).
TEST(LinkBudget, IsMoreSensitiveThanTheWeakestReceiversOfStandards)
{
  for (const Admitted& receiver :
       {Admitted{ModulationKind::oqpsk, 250e3, {1e-2, 160}, -85.0},
        Admitted{ModulationKind::bpsk, 40e3, {1e-2, 160}, -92.0},
        Admitted{ModulationKind::gfsk, 1e6, {1e-3, 1}, -70.0}}) {
    LinkInput input = invented_link();
    input.reader.noise_figure_db = 10.0;
    input.reader.antenna_temperature = 290.0;
    input.signal = {.modulation = {receiver.kind},
                    .data_rate = receiver.data_rate,
                    .bandwidth = 2e6,
                    .target = receiver.target};
    const double found =
        link_budget(input, LinkDirection::implant_to_reader).sensitivity_dbm;
    EXPECT_LT(found, receiver.sensitivity_dbm);
    EXPECT_GT(found, receiver.sensitivity_dbm - 20.0);
  }
}

/// One frequency, a direction for every 10 degrees: gain -30 dBi at 350 degrees, 1 dB
/// less for every 10 degrees away from it; skin at 0.1 m, behind (190 to 350) at 0.3 m.
Result invented_result()
{
  Result result;
  LinkBasis basis;
  basis.body_extent = 0.33;
  AntennaGain gain;
  for (int n = 0; n < 36; ++n) {
    const double angle = 10.0 * n;
    result.far_angle_deg.push_back(angle);
    gain.gain_dbi.push_back(-30.0 -
                            std::abs(std::remainder(angle - 350.0, 360.0)) / 10.0);
    basis.to_skin.push_back(angle > 180.0 ? 0.3 : 0.1);
  }
  gain.uncertainty_db = {{"fit", 0.25}, {"surroundings", 0.5}, {"tissue_data", 0.7}};
  FrequencyResult at;
  at.frequency = 403.5e6;
  at.antenna_gain = gain;
  result.frequencies.push_back(at);
  result.link = basis;
  return result;
}

// Worked by hand: as OutOfTheBodyIsThatWorkedByHand, margin 15.5012 dB at -30 dBi; 1 dB
// for every 10 degrees: 0.5012 dB left 150 degrees away, at 200 and at 140 degrees.
TEST(LinkAround, KeepsTheBudgetsMarginPlusTheDifferenceOfGains)
{
  const Result result = invented_result();
  const LinkAround link = link_around(result, 0, {invented_link(), {}, {}, {}});
  EXPECT_EQ(link.direction_deg, 350.0);
  EXPECT_EQ(link.best_deg, 350.0);
  EXPECT_EQ(link.worst_deg, 170.0);
  EXPECT_NEAR(link.worst_gain_dbi, -48.0, 1e-12);
  EXPECT_NEAR(link.out.faded.margin_db, 15.5012, rounding);
  EXPECT_NEAR(link.margin_db.at(17), -2.4988, rounding);
  EXPECT_NEAR(link.back_margin_db.at(17), 28.5588 - 18.0, rounding);
  EXPECT_NEAR(link.closes_deg, 310.0, 1e-9);
  EXPECT_NEAR(link.back_closes_deg, 360.0, 1e-9);
  ASSERT_EQ(link.sectors.size(), 1U);
  EXPECT_EQ(link.sectors[0].from, 200.0);
  EXPECT_EQ(link.sectors[0].to, 140.0);
  EXPECT_NEAR(link.uncertainty.db, 0.75, 1e-12);
  EXPECT_EQ(link.uncertainty.dominant, "surroundings");
  EXPECT_EQ(link.uncertainty.tissue_data, 0.7);
}

// A budget of its own for another direction says the same.
TEST(LinkAround, AgreesWithABudgetForEachDirection)
{
  const Result result = invented_result();
  const LinkAround best = link_around(result, 0, {invented_link(), {}, {}, {}});
  for (const int n : {0, 9, 17, 30}) {
    const LinkAround there = link_around(result, 0, {invented_link(), 10.0 * n, {}, {}});
    EXPECT_EQ(there.direction_deg, 10.0 * n);
    EXPECT_NEAR(there.out.faded.margin_db, best.margin_db.at(n), 1e-12);
    EXPECT_NEAR(there.back.faded.margin_db, best.back_margin_db.at(n), 1e-12);
    EXPECT_EQ(there.best_deg, 350.0);
  }
}

TEST(LinkAround, LooksForTheBestOutsideTheBodyAlone)
{
  const Result result = invented_result();
  LinkInput input = invented_link();
  input.path.distance = 0.2;
  const LinkAround link = link_around(result, 0, {input, {}, {}, {}});
  EXPECT_EQ(link.direction_deg, 0.0);
  EXPECT_TRUE(std::isnan(link.margin_db.at(35)));
  EXPECT_NEAR(link.input.implant.gain_dbi, -31.0, 1e-12);
  input.path.distance = 0.1;
  const auto problems = link_problems(result, 0, {input, {}, {}, {}});
  ASSERT_EQ(problems.size(), 1U);
  EXPECT_EQ(problems[0].quantity, "distance of the reader");
}

TEST(LinkAround, TakesAGivenGainInTheBestDirection)
{
  const Result result = invented_result();
  const LinkAround link = link_around(result, 0, {invented_link(), 0.0, -20.0, {}});
  EXPECT_NEAR(link.input.implant.gain_dbi, -21.0, 1e-12);
  EXPECT_NEAR(link.worst_gain_dbi, -38.0, 1e-12);
}

TEST(LinkAround, ComparesWithTheRulesAskedFor)
{
  const Result result = invented_result();
  const LinkAround all = link_around(result, 0, {invented_link(), {}, {}, {}});
  const LinkAround some =
      link_around(result, 0, {invented_link(), {}, {}, {RuleSet::itu}});
  EXPECT_GT(all.limits.size(), some.limits.size());
  ASSERT_EQ(some.limits.size(), 1U);
  EXPECT_NEAR(some.limits[0].implant.above_by_db, -47.9473 + 16.0, rounding);
  EXPECT_NEAR(some.limits[0].reader.above_by_db, 2.0 + 16.0, rounding);
}

TEST(SideOfBody, IsThePatients)
{
  EXPECT_EQ(side_of_body(0.0), "left");
  EXPECT_EQ(side_of_body(359.0), "left");
  EXPECT_EQ(side_of_body(45.0), "left-front");
  EXPECT_EQ(side_of_body(90.0), "front");
  EXPECT_EQ(side_of_body(-90.0), "back");
  EXPECT_EQ(side_of_body(180.0), "right");
  EXPECT_EQ(side_of_body(225.0), "right-back");
}

}  // namespace
}  // namespace torsowave::postproc
