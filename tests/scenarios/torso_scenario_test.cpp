#include <gtest/gtest.h>

#include "geometry/tissue_map.hpp"
#include "scenarios/sweep_plan.hpp"
#include "scenarios/wrong_scenario.hpp"

namespace torsowave::scenarios {
namespace {

using testing::edited;
using testing::expect_one_fault_each;

constexpr double mm = 1e-3;

/// A ready-made slice with a shape of its own on top (invented data).
const std::string slice = R"(grid: {cell: 2 mm, margin: 30 mm}
body:
  torso: {level: kidneys, breadth: 325 mm, depth: 234 mm, fat: 16 mm}
  shapes:
    - tissue: muscle
      circle: {center: [60 mm, 40 mm], radius: 6 mm}
implant: {position: [0 mm, 0 mm]}
waveform: {type: pulse, center: 700 MHz, bandwidth: 400 MHz}
)";

const std::string lengths =
    "{level: kidneys, breadth: 325 mm, depth: 234 mm, fat: 16 mm}";

BodySpec body_of(const std::string& torso)
{
  return parse_scenario(edited(slice, lengths, torso), "slice.yaml").body;
}

void expect_same(const BodySpec& a, const BodySpec& b)
{
  ASSERT_EQ(a.shapes.size(), b.shapes.size());
  for (std::size_t s = 0; s + 1 < a.shapes.size(); ++s) {
    EXPECT_EQ(a.shapes[s].tissue, b.shapes[s].tissue);
    const auto& p = std::get<geometry::Polygon>(a.shapes[s].outline).points;
    const auto& q = std::get<geometry::Polygon>(b.shapes[s].outline).points;
    ASSERT_EQ(p.size(), q.size());
    EXPECT_EQ(p.front().x, q.front().x);
    EXPECT_EQ(p.front().y, q.front().y);
  }
}

TEST(TorsoScenario, ShapesMayFollowTheTorsoAndCoverIt)
{
  const BodySpec body = body_of(lengths);
  ASSERT_EQ(body.shapes.size(), body.torso_shapes + 1);
  EXPECT_GT(body.torso_shapes, 50U);
  EXPECT_EQ(body.shapes.front().tissue, "skin_dry");
  EXPECT_TRUE(std::holds_alternative<geometry::Circle>(body.shapes.back().outline));
  EXPECT_EQ(geometry::tissue_at({60.0 * mm, 40.0 * mm}, "air", body.shapes), "muscle");
}

TEST(TorsoScenario, MedianIsTheDefaultBuild)
{
  expect_same(body_of("{level: kidneys, build: median}"), body_of("{level: kidneys}"));
  expect_same(body_of(lengths), body_of("{level: kidneys}"));
}

// Without breadth and depth the outline follows the layers, so that a sweep over fat
// varies nothing else.
TEST(TorsoScenario, TheOutlineGrowsWithItsLayers)
{
  const auto size = [](const std::string& torso) {
    const geometry::Rectangle box = geometry::bounding_box(body_of(torso).shapes);
    return std::pair{box.max.x - box.min.x, box.max.y - box.min.y};
  };
  const auto [breadth, depth] = size("{level: thorax, fat: 24 mm}");  // 10 mm more
  EXPECT_NEAR(breadth, 389.0 * mm, 0.1 * mm);
  EXPECT_NEAR(depth, 273.0 * mm, 0.1 * mm);
  const auto [given, still] = size("{level: thorax, fat: 20 mm, breadth: 380 mm}");
  EXPECT_NEAR(given, 380.0 * mm, 0.1 * mm);
  EXPECT_NEAR(still, 265.0 * mm, 0.1 * mm);
}

TEST(TorsoScenario, Refuses)
{
  expect_one_fault_each(
      slice,
      {
          {lengths, "@{build: lean}", "body.torso.level", "write e.g. level: kidneys"},
          {"level: kidneys", "level: @neck", "body.torso.level",
           "accepted: thorax, upper_abdomen, kidneys, pelvis"},
          {"fat: 16 mm", "build: @stout", "body.torso.build",
           "accepted: lean, median, heavy"},
          {"fat: 16 mm", "@fats: 16 mm", "body.torso.fats", "did you mean \"fat\""},
          {"fat: 16 mm", "fat: @16", "body.torso.fat", "has no unit"},
          {"fat: 16 mm", "fat: @55 mm", "body.torso.fat", "must be 1 mm to 50 mm"},
          {"breadth: 325 mm", "breadth: @200 mm", "body.torso.breadth",
           "with these layers it must be 278.7 mm to 446.7 mm, or take thinner layers"},
          {"position: [0 mm, 0 mm]", "position: @[0 mm, 140 mm]", "implant.position",
           "body.torso (skin_dry) is nearest"},
          {"depth: 234 mm", "depth: @150 mm", "body.torso.depth", "too little room"},
      });
}

/// "upper-abdomen-lean.yaml" and the like.
std::vector<std::string> ready_made()
{
  std::vector<std::string> names;
  for (const char* level : {"thorax", "upper-abdomen", "kidneys", "pelvis"}) {
    for (const char* build : {"lean", "median", "heavy"}) {
      names.push_back(std::string(level) + "-" + build + ".yaml");
    }
  }
  return names;
}

// Each has the sensor in the front wall of a vessel: just behind its middle is blood,
// just in front of it is none.
TEST(TorsoScenario, TheTwelveFilesAreSound)
{
  for (const std::string& name : ready_made()) {
    const Scenario s =
        read_scenario(std::filesystem::path(TORSOWAVE_SCENARIOS) / "torso" / name);
    ASSERT_TRUE(s.implant && s.implant->capsule) << name;
    const double reach = s.implant->capsule->radius - 0.2 * mm;
    const geometry::Point place = s.implant->position;
    const auto at = [&](double aside) {
      return geometry::tissue_at({place.x, place.y + aside}, "air", s.body.shapes);
    };
    EXPECT_EQ(at(-reach), "blood") << name;
    EXPECT_NE(at(reach), "blood") << name;
    EXPECT_NE(s.title.find("invented"), std::string::npos) << name;
    EXPECT_NE(s.text.find("Caution: planning and teaching"), std::string::npos) << name;
  }
}

TEST(TorsoScenario, TheSweepOverFatIsSound)
{
  const SweepPlan plan = read_sweep(
      std::filesystem::path(TORSOWAVE_SCENARIOS) / "torso/fat-thickness.yaml", "test");
  ASSERT_EQ(plan.cases.size(), 8U);
  EXPECT_EQ(plan.keys.front().path, "body.torso.fat");
  EXPECT_EQ(plan.keys.front().unit, "mm");
  EXPECT_DOUBLE_EQ(plan.keys.front().numbers.back(), 39.0);
}

TEST(TorsoScenario, BelongsToSlices)
{
  const std::string stack =
      "mode: 1D\n" + edited(slice,
                            "  shapes:\n    - tissue: muscle\n      circle: "
                            "{center: [60 mm, 40 mm], radius: 6 mm}\n",
                            "");
  const std::vector<Fault> faults = testing::faults_of(stack);
  const auto found = std::ranges::find(faults, "body.torso", &Fault::key);
  ASSERT_NE(found, faults.end());
  EXPECT_EQ(
      found->problem,
      "a ready-made cross-section belongs to the modes TMz and TEz; in mode 1D write "
      "layers");
}

}  // namespace
}  // namespace torsowave::scenarios
