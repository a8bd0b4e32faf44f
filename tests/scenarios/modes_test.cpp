#include <gtest/gtest.h>

#include <numbers>

#include "scenarios/layer_stack.hpp"
#include "scenarios/wrong_scenario.hpp"

namespace torsowave::scenarios {
namespace {

using testing::edited;
using testing::expect_one_fault_each;
using testing::faults_of;

/// Layers under a plane wave (invented data).
const std::string stack = R"(mode: 1D
grid: {cell: 0.25 mm, size: 80 mm}
body:
  layers:
    - {tissue: skin_dry, thickness: 2 mm}
    - {tissue: fat_not_infiltrated, thickness: 10 mm}
    - {tissue: muscle, thickness: half_space}
materials: {custom: {tin: {conductor: perfect}, brine: {permittivity: 78, conductivity: 2 S/m}}}
incident: {plane_wave: {angle: 0 deg}}
waveform: {type: pulse, center: 2.45 GHz, bandwidth: 1 GHz}
outputs:
  snapshots: {every: 0.1 ns}
  phasors: [Ez, Hy]
  probes: [{name: deep, position: 11 mm}]
  images: {quantity: [Ez, Hy, tissue, sar, snapshot, spacetime]}
)";

/// A source in an invented round body, by mode.
const std::string round = R"(mode: TEz
grid: {cell: 1 mm, size: [200 mm, 160 mm]}
body:
  shapes: [{tissue: muscle, circle: {center: [0 mm, 0 mm], radius: 50 mm}}]
materials: {custom: {brine: {permittivity: 78, conductivity: 2 S/m}, oil: {permittivity: 2}}}
implant: {position: [10 mm, 0 mm], source: dipole, direction: 90 deg}
waveform: {type: pulse, center: 2.45 GHz, bandwidth: 1 GHz}
outputs:
  snapshots: {every: 0.1 ns}
  phasors: [Hz, Ex, Ey]
  images: {quantity: [Hz, Ex, Ey, tissue, surface, sar, snapshot]}
)";

const std::string implant = "implant: {position: 12 mm, source: current_sheet}";
const std::string wave = "incident: {plane_wave: {angle: 0 deg}}";

Scenario parse(const std::string& text)
{
  return parse_scenario(text, "slice.yaml");
}

TEST(Modes, LayersUnderAPlaneWave)
{
  const Scenario s = parse(stack);
  EXPECT_EQ(s.mode, Mode::one_d);
  EXPECT_EQ(s.grid.size, (std::array{0.08, 0.0}));
  EXPECT_TRUE(s.body.shapes.empty());
  ASSERT_EQ(s.body.layers.size(), 3U);
  EXPECT_EQ(s.body.layers[0].tissue, "skin_dry");
  EXPECT_EQ(s.body.layers[0].thickness, 2e-3);
  EXPECT_EQ(s.body.layers[1].thickness, 10e-3);
  EXPECT_FALSE(s.body.layers[2].thickness);
  EXPECT_EQ(s.body.first_face, 0.0);
  EXPECT_FALSE(s.implant);
  ASSERT_TRUE(s.incident);
  EXPECT_EQ(s.incident->angle, 0.0);
  EXPECT_EQ(s.outputs.snapshots->field, "Ez");
  EXPECT_EQ(s.outputs.phasors, (std::vector<std::string>{"Ez", "Hy"}));
  EXPECT_EQ(s.outputs.probes[0].position.x, 0.011);
  EXPECT_EQ(s.outputs.probes[0].position.y, 0.0);
}

TEST(Modes, TheStackOfTheLayers)
{
  const std::string moved = edited(stack, "  layers:", "  first_face: -5 mm\n  layers:");
  const LayerStack s = layer_stack(parse(moved).body);
  EXPECT_EQ(s.first, "air");
  EXPECT_FALSE(s.first_in_body);
  EXPECT_EQ(s.last, "muscle");
  EXPECT_TRUE(s.last_in_body);
  EXPECT_EQ(s.first_face, -5e-3);
  EXPECT_DOUBLE_EQ(s.last_face, 7e-3);
  ASSERT_EQ(s.slabs.size(), 2U);
  EXPECT_EQ(s.slabs[1].tissue, "fat_not_infiltrated");
  EXPECT_DOUBLE_EQ(s.slabs[1].from, -3e-3);
  EXPECT_EQ(s.tissue_at(-6e-3), "air");
  EXPECT_EQ(s.tissue_at(-4e-3), "skin_dry");
  EXPECT_EQ(s.tissue_at(0.0), "fat_not_infiltrated");
  EXPECT_EQ(s.tissue_at(8e-3), "muscle");
}

TEST(Modes, HalfSpacesOnBothSides)
{
  const std::string text = edited(stack, "    - {tissue: skin_dry, thickness: 2 mm}",
                                  "    - {tissue: liver, thickness: half_space}");
  const LayerStack s = layer_stack(parse(text).body);
  EXPECT_EQ(s.first, "liver");
  EXPECT_TRUE(s.first_in_body);
  EXPECT_EQ(s.slabs.size(), 1U);
  EXPECT_EQ(s.last_face, 10e-3);
}

TEST(Modes, OtherFormsInOneDimension)
{
  EXPECT_EQ(parse(edited(stack, "size: 80 mm", "size: [80 mm]")).grid.size,
            (std::array{0.08, 0.0}));
  EXPECT_EQ(parse(edited(stack, "size: 80 mm", "margin: 20 mm")).grid.margin, 0.02);
  EXPECT_EQ(parse(edited(stack, "position: 11 mm", "position: [11 mm]"))
                .outputs.probes[0]
                .position.x,
            0.011);
  for (const char* left : {"180 deg", "-180 deg"}) {
    EXPECT_EQ(parse(edited(stack, "angle: 0 deg", std::string("angle: ") + left))
                  .incident->angle,
              std::numbers::pi);
  }
  EXPECT_EQ(parse(edited(stack, "angle: 0 deg", "angle: 360 deg")).incident->angle, 0.0);
  EXPECT_EQ(parse(edited(stack, "{angle: 0 deg}", "{}")).incident->angle, 0.0);
  const std::string mirror = edited(stack, "{tissue: muscle, th", "{tissue: tin, th");
  EXPECT_EQ(layer_stack(parse(mirror).body).last, "tin");
}

TEST(Modes, CurrentSheetIsTheSourceOfOneDimension)
{
  const Scenario s = parse(edited(stack, wave, implant));
  ASSERT_TRUE(s.implant);
  EXPECT_FALSE(s.incident);
  EXPECT_EQ(s.implant->source, SourceKind::current_sheet);
  EXPECT_EQ(s.implant->position.x, 0.012);
  EXPECT_EQ(s.implant->position.y, 0.0);
  EXPECT_EQ(parse(edited(stack, wave, "implant: {position: [30 mm]}")).implant->source,
            SourceKind::current_sheet);
}

TEST(Modes, SourcesInThePlane)
{
  const Scenario s = parse(round);
  EXPECT_EQ(s.mode, Mode::tez);
  EXPECT_EQ(s.implant->source, SourceKind::dipole);
  EXPECT_DOUBLE_EQ(s.implant->direction, 0.5 * std::numbers::pi);
  EXPECT_EQ(s.outputs.snapshots->field, "Hz");
  EXPECT_EQ(parse(edited(round, ", direction: 90 deg", "")).implant->direction, 0.0);
  const Scenario plain = parse(edited(round, ", source: dipole, direction: 90 deg", ""));
  EXPECT_EQ(plain.implant->source, SourceKind::magnetic_line);
}

TEST(Modes, PlaneWaveInTwoDimensions)
{
  const std::string source =
      "implant: {position: [10 mm, 0 mm], source: dipole, direction: 90 deg}";
  const std::string oblique = "incident: {plane_wave: {angle: 30 deg}}";
  const std::string text = edited(round, source, oblique);
  EXPECT_DOUBLE_EQ(parse(text).incident->angle, std::numbers::pi / 6.0);
  EXPECT_TRUE(faults_of(edited(text, "body:", "body:\n  background: oil")).empty());
  expect_one_fault_each(
      text,
      {{"body:\n  shapes: [{tissue: muscle, circle: {center: [0 mm, 0 mm], radius: 50 "
        "mm}}]\nmaterials: {custom: {brine: {permittivity: 78, conductivity: 2 S/m}, "
        "oil: "
        "{permittivity: 2}}}\nincident: ",
        "body:\n  background: brine\n  shapes: [{tissue: muscle, circle: {center: [0 mm, "
        "0 "
        "mm], radius: 50 mm}}]\nmaterials: {custom: {brine: {permittivity: 78, "
        "conductivity: 2 S/m}, oil: {permittivity: 2}}}\nincident: @",
        "incident", "without loss"}});
}

TEST(Modes, WrongLayers)
{
  const std::string skin = "{tissue: skin_dry, thickness: 2 mm}";
  const std::string fat = "{tissue: fat_not_infiltrated, thickness: 10 mm}";
  expect_one_fault_each(
      stack,
      {{fat, "{tissue: fat_not_infiltrated, thickness: @half_space}",
        "body.layers[1].thickness", "only the first and the last layer"},
       {fat, "{tissue: @fatt, thickness: 10 mm}", "body.layers[1].tissue", "unknown"},
       {fat, "{tissue: fat_not_infiltrated, thickness: @10}", "body.layers[1].thickness",
        "units accepted"},
       {fat, "{tissue: fat_not_infiltrated, thickness: @0 mm}",
        "body.layers[1].thickness", "greater than 0"},
       {fat, "@{tissue: fat_not_infiltrated}", "body.layers[1].thickness",
        "2 mm, or half_space"},
       {fat, "{tissue: fat_not_infiltrated, thickness: 10 mm, @radius: 1 mm}",
        "body.layers[1].radius", "accepted: tissue, thickness"},
       {fat, "{tissue: @tin, thickness: 10 mm}", "body.layers[1].tissue",
        "leave out the layers behind it"},
       {"{tissue: muscle, thickness: half_space}", "{tissue: tin, thickness: @1 mm}",
        "body.layers[2].thickness", "write half_space"},
       {"    - " + skin + "\n    - " + fat + "\n    - {tissue: muscle, thickness: half_",
        "    - {tissue: muscle, thickness: @half_", "body.layers[0].thickness",
        "write a second layer on the other side"},
       {"  layers:\n    - " + skin + "\n    - " + fat +
            "\n    - {tissue: muscle, thickness: half_space}",
        "  layers: @[]", "body.layers", "a list of 1 to 1000 layers"}});
  const std::string shapes = edited(stack, "  layers:", "  shapes:");
  ASSERT_EQ(faults_of(shapes).size(), 1U);
  EXPECT_NE(faults_of(shapes)[0].problem.find("in mode 1D write layers"),
            std::string::npos);
}

TEST(Modes, WrongPlacesInOneDimension)
{
  expect_one_fault_each(
      stack, {{"size: 80 mm", "size: @[80 mm, 80 mm]", "grid.size", "one length"},
              {"size: 80 mm", "size: @11 mm", "grid.size",
               "does not hold the layers, which are 12 mm thick"},
              {"position: 11 mm", "position: @[11 mm, 0 mm]",
               "outputs.probes[0].position", "one length in mode 1D"},
              {"position: 11 mm", "position: @46.5 mm", "outputs.probes[0].position",
               "within x -34 mm to 46 mm"},
              {wave, "implant: {position: @-1 mm}", "implant.position",
               "outside the layers, which take x 0 mm to 12 mm"},
              {wave, "implant: {position: @50 mm}", "implant.position",
               "within x -34 mm to 46 mm"},
              {wave, "implant: {position: 5 mm, direction: @0 deg}", "implant.direction",
               "remove it"},
              {wave, "implant: {position: 5 mm, capsule: @{radius: 1 mm, material: air}}",
               "implant.capsule", "a capsule is round"},
              {wave, "implant: {position: 5 mm, source: @line_current}", "implant.source",
               "belongs to mode TMz; accepted in mode 1D: current_sheet"}});
  const std::string wall = edited(stack, "{tissue: muscle, th", "{tissue: tin, th");
  expect_one_fault_each(
      wall,
      {{wave, "implant: {position: @20 mm}", "implant.position", "a perfect conductor"},
       {wave, "implant: {position: @12 mm}", "implant.position", "a perfect conductor"}});
}

TEST(Modes, WrongIllumination)
{
  expect_one_fault_each(
      stack,
      {{"angle: 0 deg", "angle: @30 deg", "incident.plane_wave.angle",
        "torsowave slab --angle"},
       {"angle: 0 deg", "angle: @0", "incident.plane_wave.angle", "deg, rad"},
       {"{plane_wave: {angle: 0 deg}}", "@{}", "incident.plane_wave", "is missing"},
       {wave, "incident: @{plane_wave: {}}\nimplant: {position: 5 mm}", "incident",
        "cannot stand beside implant"}});
  const auto none = faults_of(edited(stack, wave + "\n", ""));
  ASSERT_EQ(none.size(), 1U);
  EXPECT_NE(none[0].problem.find("implant: {position: 12 mm}, or incident: "),
            std::string::npos);
  const std::string wall = edited(
      edited(stack, "{tissue: muscle, th", "{tissue: tin, th"), "0 deg", "180 deg");
  expect_one_fault_each(
      wall, {{"incident: ", "incident: @", "incident", "turn it round (angle: 0 deg)"}});
}

TEST(Modes, WrongOutputs)
{
  expect_one_fault_each(
      stack,
      {{"phasors: [Ez, Hy]", "phasors: [Ez, @Hx]", "outputs.phasors[1]",
        "accepted: Ez, Hy"},
       {"{every: 0.1 ns}", "{every: 0.1 ns, field: @Hz}", "outputs.snapshots.field",
        "accepted: Ez, Hy"},
       {"phasors:", "sectors: @36\n  phasors:", "outputs.sectors",
        "belong to the modes TMz and TEz"},
       {"[Ez, Hy, tissue, sar, snapshot, spacetime]", "@surface",
        "outputs.images.quantity", "accepted: Ez, Hy, tissue, snapshot, sar, spacetime"},
       {"  snapshots: {every: 0.1 ns}\n  phasors: [Ez, Hy]\n  probes: [{name: deep, "
        "position: 11 mm}]\n  images: {quantity: [Ez, Hy, tissue, sar, snapshot, "
        "spacetime]}",
        "  images: {quantity: @spacetime}", "outputs.images.quantity",
        "a spacetime image needs outputs.snapshots"}});
  expect_one_fault_each(
      round,
      {{"phasors: [Hz,", "phasors: [@Ez,", "outputs.phasors[0]", "accepted: Hz, Ex, Ey"},
       {"quantity: [Hz,", "quantity: [@spacetime,", "outputs.images.quantity[0]",
        "accepted: Hz, Ex, Ey, tissue, snapshot, sar, surface"},
       {"source: dipole, direction: 90 deg", "source: @current_sheet", "implant.source",
        "accepted in mode TEz: magnetic_line, dipole"}});
}

}  // namespace
}  // namespace torsowave::scenarios
