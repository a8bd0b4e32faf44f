#include "scenarios/sweep_plan.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <set>
#include <stdexcept>
#include <string>
#include <utility>
#include <vector>

#include "postproc/sample_statistics.hpp"
#include "scenarios/node_edit.hpp"
#include "scenarios/random_draws.hpp"
#include "scenarios/reader.hpp"

namespace torsowave::scenarios {
namespace {

namespace fs = std::filesystem;

constexpr const char* base = R"(title: "Invented: a round body"
mode: TMz
grid: {cell: 2 mm, size: [136 mm, 126 mm], absorbing_cells: 8}
body:
  background: air
  shapes:
    - tissue: muscle
      circle: {center: [0 mm, 0 mm], radius: 40 mm}
materials:
  custom:
    gel: {permittivity: 40, conductivity: 1 S/m}
implant: {position: [10 mm, -5 mm], source: line_current}
waveform: {type: pulse, center: 915 MHz, bandwidth: 1.4 GHz}
frequencies: [700 MHz, 915 MHz]
)";

/// A folder with the base scenario, and sweeps in it.
class SweepPlanTest : public ::testing::Test {
protected:
  void SetUp() override
  {
    folder_ =
        fs::path(::testing::TempDir()) /
        ("sweep-" +
         std::string(::testing::UnitTest::GetInstance()->current_test_info()->name()));
    fs::create_directories(folder_);
    write("base.yaml", base);
  }
  void TearDown() override { fs::remove_all(folder_); }

  fs::path write(const std::string& name, const std::string& text) const
  {
    std::ofstream(folder_ / name) << text;
    return folder_ / name;
  }

  [[nodiscard]] SweepPlan read(const std::string& text, bool keep_faulty = false) const
  {
    return read_sweep(write("sweep.yaml", "base: base.yaml\n" + text), "1.0 abc",
                      keep_faulty);
  }

  /// The message of a sweep that is refused.
  [[nodiscard]] std::string refusal(const std::string& text) const
  {
    try {
      static_cast<void>(read(text));
    } catch (const InputError& error) {
      std::string message = error.what();
      for (std::size_t at = message.find(folder_.string()); at != std::string::npos;
           at = message.find(folder_.string())) {
        message.erase(at, folder_.string().size() + 1);
      }
      return message;
    }
    return "";
  }

  fs::path folder_;
};

using Texts = std::vector<std::string>;

TEST_F(SweepPlanTest, GridTakesEveryValueWithEveryOtherTheLastKeyFastest)
{
  const SweepPlan plan = read(
      "vary:\n  implant.position[1]: [-20 mm, 0 mm, 2 cm]\n"
      "  body.shapes[0].tissue: [muscle, gel]\n");
  ASSERT_EQ(plan.cases.size(), 6U);
  EXPECT_EQ(plan.keys[0].texts,
            (Texts{"-20 mm", "-20 mm", "0 mm", "0 mm", "2 cm", "2 cm"}));
  EXPECT_EQ(plan.keys[1].texts,
            (Texts{"muscle", "gel", "muscle", "gel", "muscle", "gel"}));
  // Units differ: in metres.
  EXPECT_EQ(plan.keys[0].unit, "m");
  EXPECT_DOUBLE_EQ(plan.keys[0].numbers[0], -0.02);
  EXPECT_DOUBLE_EQ(plan.keys[0].numbers[5], 0.02);
  EXPECT_FALSE(plan.keys[1].numeric);
  const Scenario last = parse_scenario(plan.scenario_text(5), plan.base);
  EXPECT_DOUBLE_EQ(last.implant->position.x, 0.01);
  EXPECT_DOUBLE_EQ(last.implant->position.y, 0.02);
  EXPECT_EQ(last.body.shapes[0].tissue, "gel");
  EXPECT_EQ(last.title, "Invented: a round body");
  std::set<std::string> ids;
  for (const SweepCase& one : plan.cases) {
    ids.insert(one.id);
  }
  EXPECT_EQ(ids.size(), 6U);
}

TEST_F(SweepPlanTest, KeysOfOneItemAndOfZipGoHandInHand)
{
  const SweepPlan grouped = read(
      "vary:\n  - grid.cell: [1 mm, 2 mm]\n"
      "  - waveform.center: [915 MHz, 1 GHz]\n    frequencies: [[915 MHz], [1 GHz]]\n");
  ASSERT_EQ(grouped.cases.size(), 4U);
  EXPECT_EQ(grouped.keys[2].texts,
            (Texts{"[915 MHz]", "[1 GHz]", "[915 MHz]", "[1 GHz]"}));
  const SweepPlan zipped = read(
      "vary: {grid.cell: [1 mm, 2 mm], \"implant.position[0]\": [0 mm, 5 mm]}\n"
      "combine: zip\n");
  ASSERT_EQ(zipped.cases.size(), 2U);
  EXPECT_NE(refusal("vary: {grid.cell: [1 mm, 2 mm], \"implant.position[0]\": [0 mm]}\n"
                    "combine: zip\n")
                .find("sweep.yaml:2:7: vary: grid.cell has 2 values and "
                      "implant.position[0] has 1"),
            std::string::npos);
}

TEST_F(SweepPlanTest, RangesAreEvenlySpacedOrByEqualFactors)
{
  const SweepPlan plan = read(
      "vary: {grid.cell: {from: 0.5 mm, to: 2 mm, count: 3, spacing: log}, "
      "grid.margin: {from: 10 mm, to: 3 cm, count: 3}}\n",
      true);
  const SweepPlan rates = read(
      "vary: {link.data_rate: {from: 50 kbit/s, to: 200 kbit/s, count: 3, spacing: "
      "log}}\n",
      true);
  EXPECT_EQ(rates.keys[0].texts, (Texts{"50 kbit/s", "100 kbit/s", "200 kbit/s"}));
  EXPECT_EQ(plan.keys[0].texts[0], "0.5 mm");
  EXPECT_EQ(plan.keys[0].texts[3], "1 mm");
  EXPECT_EQ(plan.keys[0].texts[6], "2 mm");
  EXPECT_EQ(Texts(plan.keys[1].texts.begin(), plan.keys[1].texts.begin() + 3),
            (Texts{"10 mm", "20 mm", "30 mm"}));
}

TEST_F(SweepPlanTest, ScaledTissueHasItsPermittivityAndConductivityTimesTheFactors)
{
  const SweepPlan plan = read(
      "vary:\n  materials.scale.muscle.permittivity: [1, 1.1]\n"
      "  materials.scale.gel.conductivity: [0.9]\n");
  const Scenario scenario = parse_scenario(plan.scenario_text(1), plan.base);
  const auto& custom = scenario.materials.custom;
  const auto find = [&](const char* name) {
    return *std::ranges::find(custom, name, &materials::Tissue::name);
  };
  for (const double frequency : {0.4e9, 2.45e9}) {
    const auto plain =
        materials::relative_permittivity(*materials::find_tissue("muscle"), frequency);
    const auto scaled = materials::relative_permittivity(find("muscle"), frequency);
    EXPECT_DOUBLE_EQ(scaled.real(), 1.1 * plain.real());
    EXPECT_DOUBLE_EQ(scaled.imag(), plain.imag());
  }
  const auto gel = materials::relative_permittivity(find("gel"), 1e9);
  EXPECT_DOUBLE_EQ(gel.real(), 40.0);
  // sigma/(w eps0) with 0.9 S/m; eps0 of CODATA 2018, 8.8541878128e-12 F/m (from memory).
  EXPECT_NEAR(gel.imag(), -0.9 / (2.0 * M_PI * 1e9 * 8.8541878128e-12), 1e-6);
}

TEST_F(SweepPlanTest, FaultsAreReportedWhereTheyCanBeMended)
{
  EXPECT_EQ(refusal("vary:\n  implant.position[1]: [0 mm, 80 mm]\n").substr(0, 38),
            "sweep.yaml:3:24: vary.implant.position");
  EXPECT_NE(refusal("vary:\n  implant.position[1]: [0 mm, 80 mm]\n")
                .find("(case 2 of 2: implant.position[1] = 80 mm)"),
            std::string::npos);
  EXPECT_NE(refusal("vary:\n  implant.position[2]: [0 mm]\n")
                .find("sweep.yaml:3:24: vary.implant.position[2]: the base has a list of "
                      "2 where the path goes on with [2]"),
            std::string::npos);
  EXPECT_NE(refusal("vary:\n  implant.positon: [0 mm]\n").find("position"),
            std::string::npos);
  EXPECT_NE(refusal("vary:\n  grid.cell: {normal: [2 mm, 0.1 mm]}\n")
                .find("sweep.yaml:3:14: vary.grid.cell: a distribution needs combine"),
            std::string::npos);
  EXPECT_NE(refusal("vary:\n  grid.cell: {from: 1 mm, to: 2 GHz, count: 3}\n")
                .find("do not go together"),
            std::string::npos);
  EXPECT_NE(refusal("vary:\n  grid.cell: {uniform: [1 mm, 2 mm], within: [3 mm, 4 mm]}\n"
                    "combine: {random: {count: 3, seed: 1}}\n")
                .find("leaves nothing"),
            std::string::npos);
  EXPECT_NE(refusal("vary:\n  - grid.cell: [1 mm, 2 mm]\n  - grid.cell: [3 mm]\n")
                .find("vary: grid.cell is in two items of the list"),
            std::string::npos);
  write("base.yaml", base + std::string(max_scenario_bytes, '#'));
  EXPECT_NE(refusal("vary:\n  grid.cell: [1 mm, 2 mm]\n")
                .find("base.yaml: larger than the 4 MiB that a scenario may have"),
            std::string::npos);
  write("base.yaml", base);
  EXPECT_NE(refusal("vry: 3\n").find("sweep.yaml:2:1: vry: unknown key"),
            std::string::npos);
  const SweepPlan kept = read("vary:\n  implant.position[1]: [0 mm, 80 mm]\n", true);
  EXPECT_TRUE(kept.cases[0].faults.empty());
  EXPECT_FALSE(kept.cases[1].faults.empty());
}

TEST_F(SweepPlanTest, FaultsOfRangesAndDistributionsAreNamed)
{
  const std::string random = "combine: {random: {count: 3, seed: 1}}\n";
  const std::vector<std::pair<std::string, std::string>> faults{
      {"{from: 0 mm, to: 2 mm, count: 3, spacing: log}", "log needs both ends above 0"},
      {"{normal: [2 mm, 0 mm]}", "the standard deviation, its second number, must be"},
      {"{normal: [two, 1 mm]}", "e.g. 10 mm, got \"two\""},
      {"{lognormal: [0 mm, 0.1]}", "the median, its first number, must be"},
      {"{lognormal: [2 mm, 0]}", "a bare number greater than 0"},
      {"{uniform: [2 mm, 1 mm]}", "the bounds must rise"},
      {"{uniform: [1 mm]}", "a list of two numbers, e.g. [1, 0.05]"},
      {"{uniform: [1 mm, 2 mm], within: [2 mm, 1 mm]}", "within: the bounds must rise"},
      {"{uniform: [1 mm, 2 mm], within: [1 GHz, 2 GHz]}", "its unit does not go with"},
      {"[1 mm, ~]", "holds nothing"},
      {"2 mm", "must be a list of values, a range"}};
  for (const auto& [variation, message] : faults) {
    const std::string told =
        refusal(fmt::format("vary:\n  grid.cell: {}\n{}", variation, random));
    EXPECT_EQ(told.find("sweep.yaml:3:"), 0U) << told;
    EXPECT_NE(told.find("vary.grid.cell"), std::string::npos) << told;
    EXPECT_NE(told.find(message), std::string::npos) << told;
  }
  EXPECT_NE(refusal("vary:\n  grid..cell: [1 mm]\n").find("sweep.yaml:3:"),
            std::string::npos);
  EXPECT_NE(refusal("vary:\n  materials.scale.muscel.permittivity: [1]\n")
                .find("unknown tissue \"muscel\" (did you mean \"muscle\"?)"),
            std::string::npos);
}

TEST_F(SweepPlanTest, IdentityFollowsContentAndProgramNotPathsAndComments)
{
  const std::string vary =
      "vary: {waveform: [{type: samples, file: pulse.txt}], frequencies: [[915 MHz]]}\n";
  write("pulse.txt", "0 0\n1e-9 1\n2e-9 0\n");
  const std::string id = read(vary).cases[0].id;
  write("base.yaml", "# a remark\n" + std::string(base));
  EXPECT_EQ(read(vary).cases[0].id, id);
  write("pulse.txt", "0 0\n1e-9 1.5\n2e-9 0\n");
  EXPECT_NE(read(vary).cases[0].id, id);
  write("pulse.txt", "0 0\n1e-9 1\n2e-9 0\n");
  EXPECT_EQ(read(vary).cases[0].id, id);
  EXPECT_NE(read_sweep(folder_ / "sweep.yaml", "1.0 abd").cases[0].id, id);
  EXPECT_NE(parse_scenario(read(vary).scenario_text(0), "elsewhere/x.yaml")
                .waveform.file.string()
                .find(folder_.filename().string()),
            std::string::npos);
}

TEST_F(SweepPlanTest, RandomCasesAreTheSameForTheSameSeedAndGrowWithoutChange)
{
  const auto sweep = [&](int count, int seed, const char* more = "") {
    return read("vary:\n  materials.scale.muscle.permittivity: {normal: [1, 0.05]}\n" +
                std::string(more) + "combine: {random: {count: " + std::to_string(count) +
                ", seed: " + std::to_string(seed) + "}}\n");
  };
  const Texts four = sweep(4, 7).keys[0].texts;
  const Texts six = sweep(6, 7, "  implant.position[0]: [0 mm, 5 mm]\n").keys[0].texts;
  EXPECT_EQ(four, Texts(six.begin(), six.begin() + 4));
  EXPECT_NE(four, sweep(4, 8).keys[0].texts);
  // Computed in Python: its own SHA-256, the 64-bit Mersenne twister written anew and
  // checked by the 10000th value that the C++ standard states, NormalDist.inv_cdf.
  EXPECT_EQ(four, (Texts{"1.02052", "1.05515", "0.997017", "0.979617"}));
}

// Against the distribution functions themselves: with the fractions (k + 1/2)/n, mean and
// deviation are integrals of the inverse, and quantiles are those of tables.
TEST(RandomDraws, InverseDistributionsHaveTheirMomentsAndQuantiles)
{
  using Kind = Distribution::Kind;
  const Distribution normal{Kind::normal, 2.0, 0.5, {}};
  // 97.5 % of the standard normal: 1.959964 (M. Abramowitz, I. A. Stegun, 1964, table
  // 26.5, from memory).
  EXPECT_NEAR(value_at(normal, 0.975), 2.0 + 0.5 * 1.959964, 1e-6);
  EXPECT_NEAR(value_at(normal, 0.025), 2.0 - 0.5 * 1.959964, 1e-6);
  const Distribution lognormal{Kind::lognormal, 3.0, 0.4, {}};
  EXPECT_NEAR(value_at(lognormal, 0.5), 3.0, 1e-12);
  EXPECT_NEAR(value_at(lognormal, 0.975), 3.0 * std::exp(0.4 * 1.959964), 1e-5);
  const Distribution cut{Kind::normal, 0.0, 1.0, {{0.0, 10.0}}};
  // The half-normal distribution: mean sqrt(2/pi), median 0.674490 (75 % of the standard
  // normal; same table).
  EXPECT_NEAR(value_at(cut, 0.5), 0.674490, 1e-6);
  constexpr int n = 20000;
  double mean = 0.0;
  double squares = 0.0;
  for (int k = 0; k < n; ++k) {
    const double x = value_at(cut, (k + 0.5) / n);
    mean += x / n;
    squares += x * x / n;
  }
  EXPECT_NEAR(mean, std::sqrt(2.0 / M_PI), 1e-4);
  EXPECT_NEAR(squares, 1.0, 1e-3);
}

TEST(RandomDraws, LatinHypercubeHasOneValueInEveryStratum)
{
  std::vector<double> fractions = stratified_fractions(5, "a", 50);
  EXPECT_NE(fractions, stratified_fractions(5, "b", 50));
  EXPECT_FALSE(std::ranges::is_sorted(fractions));
  std::ranges::sort(fractions);
  for (std::size_t k = 0; k < fractions.size(); ++k) {
    EXPECT_EQ(static_cast<std::size_t>(fractions[k] * 50.0), k);
  }
}

// R. G. Newcombe, Statistics in Medicine 17 (1998) 857-872, table I, score method without
// correction (from memory).
TEST(SampleStatistics, WilsonIntervalIsThatOfTheTable)
{
  struct Row {
    std::size_t hits, trials;
    double low, high;
  };
  for (const Row& row : {Row{81, 263, 0.2553, 0.3662}, Row{15, 148, 0.0624, 0.1605},
                         Row{0, 20, 0.0, 0.1611}, Row{1, 29, 0.0061, 0.1718}}) {
    const postproc::Share share = postproc::wilson_share(row.hits, row.trials);
    EXPECT_NEAR(share.low, row.low, 5e-5);
    EXPECT_NEAR(share.high, row.high, 5e-5);
  }
  EXPECT_THROW(static_cast<void>(postproc::wilson_share(2, 1)), std::invalid_argument);
  const auto s =
      postproc::sample_statistics(std::vector<double>{4.0, 1.0, NAN, 2.0, 3.0});
  EXPECT_DOUBLE_EQ(s.mean, 2.5);
  EXPECT_DOUBLE_EQ(s.deviation, std::sqrt(5.0 / 3.0));
  EXPECT_DOUBLE_EQ(postproc::quantile(s.sorted, 0.25), 1.75);
  EXPECT_DOUBLE_EQ(postproc::quantile(s.sorted, 1.0), 4.0);
}

TEST(NodeEdit, TextOfATreeReadsBackAsTheSameTree)
{
  const std::string text = R"(a: "true"
b: [1, 'x: y', "", "~", {c: 0.5 mm, d: [-2 mm, 1 %]}]
e: ~
f: "line one\nline two # not a comment"
g: &anchor {h: ü}
i: *anchor
)";
  const NodePtr first = parse_document(text, "a.yaml");
  const std::string emitted = yaml_text(*first);
  const NodePtr second = parse_document(emitted, "b.yaml");
  EXPECT_EQ(emitted, yaml_text(*second));
  EXPECT_EQ(find_node(second, parse_path("b[1]"))->text, "x: y");
  EXPECT_EQ(find_node(second, parse_path("b[3]"))->kind, Node::Kind::scalar);
  EXPECT_EQ(find_node(second, parse_path("e"))->kind, Node::Kind::empty);
  EXPECT_EQ(find_node(second, parse_path("f"))->text,
            "line one\nline two # not a comment");
  EXPECT_EQ(find_node(second, parse_path("i.h"))->text, "ü");
  for (const char* wrong : {"", "a..b", "a[", "a[x]", "a[1]b", ".a", "a."}) {
    EXPECT_THROW(static_cast<void>(parse_path(wrong)), PathError) << wrong;
  }
}

}  // namespace
}  // namespace torsowave::scenarios
