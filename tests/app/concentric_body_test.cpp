#include "app/concentric_body.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <string>

#include "scenarios/input_error.hpp"
#include "scenarios/reader.hpp"

namespace torsowave::app {
namespace {

scenarios::Scenario slice(const std::string& shapes, const std::string& implant = "")
{
  const std::string source =
      implant.empty() ? "{position: [1 mm, 0 mm], source: line_current}" : implant;
  return scenarios::parse_scenario(
      fmt::format("mode: TMz\ngrid: {{cell: 1 mm, margin: 20 mm}}\nbody:\n  shapes:\n{}"
                  "materials: {{custom: {{tin: {{conductor: perfect}}}}}}\nimplant: {}\n"
                  "waveform: {{type: pulse, center: 915 MHz, bandwidth: 1 GHz}}\n"
                  "frequencies: [915 MHz]\n",
                  shapes, source),
      "case.yaml");
}

std::string circle(const std::string& tissue, int radius_mm, int x_mm = 0)
{
  return fmt::format(
      "    - {{tissue: {}, circle: {{center: [{} mm, 0 mm], radius: {} mm}}}}\n", tissue,
      x_mm, radius_mm);
}

std::string shell(const std::string& tissue, int thickness_mm)
{
  return fmt::format("    - {{tissue: {}, shell: {{thickness: {} mm}}}}\n", tissue,
                     thickness_mm);
}

std::string rings_text(const ConcentricBody& body)
{
  std::string text;
  for (const TissueRing& ring : body.rings) {
    text += fmt::format("{} {:.4g} ", ring.tissue, 1e3 * ring.outer_radius);
  }
  return text;
}

std::string refusal(const scenarios::Scenario& scenario)
{
  try {
    static_cast<void>(concentric_body(scenario));
  } catch (const scenarios::InputError& error) {
    return error.what();
  }
  return "accepted";
}

TEST(ConcentricBody, LaterShapesCoverEarlierOnes)
{
  EXPECT_EQ(
      rings_text(concentric_body(slice(circle("liver", 30) + circle("muscle", 20)))),
      "muscle 20 liver 30 ");
  EXPECT_EQ(
      rings_text(concentric_body(slice(circle("muscle", 20) + circle("liver", 30)))),
      "liver 30 ");
}

TEST(ConcentricBody, ShellsAreRindsInsideTheLargestCircleSoFar)
{
  EXPECT_EQ(rings_text(concentric_body(
                slice(circle("muscle", 30) + shell("liver", 10) + shell("skin_dry", 2)))),
            "muscle 20 liver 28 skin_dry 30 ");
  EXPECT_EQ(rings_text(concentric_body(slice(circle("muscle", 30) + shell("liver", 40)))),
            "liver 30 ");
}

TEST(ConcentricBody, NeighboursOfOneTissueAreOneRing)
{
  EXPECT_EQ(rings_text(concentric_body(slice(circle("muscle", 30) + circle("liver", 20) +
                                             circle("muscle", 20)))),
            "muscle 30 ");
  EXPECT_EQ(rings_text(concentric_body(
                slice(circle("muscle", 30) + shell("air", 5) + circle("air", 10),
                      "{position: [15 mm, 0 mm], source: line_current}"))),
            "air 10 muscle 25 ");
}

TEST(ConcentricBody, CapsuleIsTheInnermostRing)
{
  const std::string at_centre =
      "{position: [0 mm, 0 mm], source: line_current, capsule: {radius: 4 mm, material: "
      "air}}";
  EXPECT_EQ(rings_text(concentric_body(slice(circle("muscle", 30), at_centre))),
            "air 4 muscle 30 ");
  const std::string aside =
      "{position: [5 mm, 0 mm], source: line_current, capsule: {radius: 4 mm, material: "
      "air}}";
  const std::string message = refusal(slice(circle("muscle", 30), aside));
  EXPECT_NE(message.find("implant.capsule: lies 5 mm from the centre"), std::string::npos)
      << message;
  EXPECT_NE(message.find("about one centre"), std::string::npos) << message;
}

TEST(ConcentricBody, RefusesWhatHasNoExactAnswer)
{
  const std::string beside =
      refusal(slice(circle("muscle", 30) + circle("liver", 10, 3)));
  EXPECT_NE(beside.find("case.yaml:6:"), std::string::npos) << beside;
  EXPECT_NE(beside.find("body.shapes[1]: lies 3 mm from the centre"), std::string::npos)
      << beside;
  const std::string box = refusal(slice(
      "    - {tissue: muscle, rectangle: {min: [-9 mm, -9 mm], max: [9 mm, 9 mm]}}\n"));
  EXPECT_NE(box.find("body.shapes[0]: is no circle"), std::string::npos) << box;
  const std::string metal = refusal(slice(circle("tin", 30) + circle("muscle", 10)));
  EXPECT_NE(metal.find("tin, a perfect conductor, has other tissue inside"),
            std::string::npos)
      << metal;
  const std::string rim =
      refusal(slice(circle("muscle", 30) + circle("liver", 10),
                    "{position: [0 mm, 10 mm], source: line_current}"));
  EXPECT_NE(rim.find("implant.position: lies on the outline of liver at 10 mm"),
            std::string::npos)
      << rim;
}

TEST(ConcentricBody, RoundEllipseIsACircle)
{
  EXPECT_EQ(
      rings_text(concentric_body(slice(
          "    - {tissue: muscle, ellipse: {center: [0 mm, 0 mm], semi_axes: [30 mm, "
          "30 mm]}}\n"))),
      "muscle 30 ");
}

}  // namespace
}  // namespace torsowave::app
