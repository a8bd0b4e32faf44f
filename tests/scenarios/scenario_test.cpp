#include "scenarios/scenario.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <variant>
#include <vector>

#include "postproc/link_formulas.hpp"
#include "scenarios/example_scenario.hpp"
#include "scenarios/reader.hpp"

namespace torsowave::scenarios {
namespace {

using testing::edited;
using testing::example;

Scenario parse(const std::string& text)
{
  return parse_scenario(text, "room/slice.yaml");
}

TEST(Scenario, GridAndHeadOfTheExample)
{
  const Scenario s = parse(example);
  EXPECT_EQ(s.title, "Aortic-graft pressure sensor, abdominal slice");
  EXPECT_EQ(s.mode, Mode::tmz);
  EXPECT_EQ(s.grid.cell, 0.5e-3);
  EXPECT_FALSE(s.grid.cells_per_wavelength);
  EXPECT_EQ(s.grid.size, (std::array{0.46, 0.34}));
  EXPECT_FALSE(s.grid.margin);
  EXPECT_EQ(s.grid.absorbing_cells, 12);
  EXPECT_EQ(s.grid.courant, 0.99);
  EXPECT_EQ(s.grid.precision, Precision::single_precision);
  EXPECT_EQ(s.grid.averaging, geometry::Averaging::volume);
  EXPECT_FALSE(s.grid.allow_coarse);
  EXPECT_EQ(s.text, example);
  EXPECT_EQ(s.path, "room/slice.yaml");
}

TEST(Scenario, BodyOfTheExample)
{
  const Scenario s = parse(example);
  EXPECT_EQ(s.body.background, "air");
  ASSERT_EQ(s.body.shapes.size(), 3U);
  const auto& ellipse = std::get<geometry::Ellipse>(s.body.shapes[0].outline);
  EXPECT_EQ(s.body.shapes[0].tissue, "skin_dry");
  EXPECT_EQ(ellipse.semi_axis_x, 0.17);
  EXPECT_EQ(ellipse.semi_axis_y, 0.11);
  EXPECT_EQ(ellipse.rotation, 0.0);
  const auto& polygon = std::get<geometry::Polygon>(s.body.shapes[1].outline);
  ASSERT_EQ(polygon.points.size(), 3U);
  EXPECT_EQ(polygon.points[0].x, -0.02);
  EXPECT_EQ(polygon.points[2].y, 0.03);
  const auto& circle = std::get<geometry::Circle>(s.body.shapes[2].outline);
  EXPECT_EQ(s.body.shapes[2].tissue, "vertebra_mix");
  EXPECT_EQ(circle.center.y, -0.06);
  EXPECT_EQ(circle.radius, 0.018);
}

TEST(Scenario, MaterialsOfTheExample)
{
  const MaterialsSpec m = parse(example).materials;
  EXPECT_EQ(m.fit_band, (std::array{0.3e9, 6e9}));
  EXPECT_FALSE(m.fit_poles);
  EXPECT_EQ(m.fit_max_error, 0.01);
  ASSERT_EQ(m.custom.size(), 4U);
  EXPECT_EQ(m.custom[0].name, "gel");
  EXPECT_EQ(m.custom[0].density, 1000.0);
  const auto& gel = std::get<materials::DebyeMedium>(m.custom[0].model);
  EXPECT_EQ(gel.eps_inf(), 52.7);
  EXPECT_EQ(gel.conductivity(), 1.74);
  EXPECT_TRUE(gel.poles().empty());
  const auto& broth = std::get<materials::DebyeMedium>(m.custom[1].model);
  EXPECT_FALSE(m.custom[1].density);
  EXPECT_EQ(broth.eps_inf(), 5.0);
  EXPECT_EQ(broth.conductivity(), 0.5);
  ASSERT_EQ(broth.poles().size(), 1U);
  EXPECT_EQ(broth.poles()[0].strength, 70.0);
  EXPECT_EQ(broth.poles()[0].relaxation_time, 8.3e-12);
  EXPECT_TRUE(materials::is_conductor(m.custom[2]));
}

TEST(Scenario, SourceAndOutputsOfTheExample)
{
  const Scenario s = parse(example);
  EXPECT_EQ(s.implant->position.x, 0.012);
  EXPECT_EQ(s.implant->position.y, -0.038);
  EXPECT_EQ(s.implant->source, SourceKind::line_current);
  ASSERT_TRUE(s.implant->capsule);
  EXPECT_EQ(s.implant->capsule->radius, 0.004);
  EXPECT_EQ(s.implant->capsule->material, "air");
  EXPECT_EQ(s.waveform.kind, WaveformKind::pulse);
  EXPECT_EQ(s.waveform.center, 2.45e9);
  EXPECT_EQ(s.waveform.bandwidth, 1e9);
  EXPECT_EQ(s.frequencies, (std::vector{2.40e9, 2.45e9, 2.48e9}));
  EXPECT_FALSE(s.duration.time);
  EXPECT_EQ(s.duration.decay_db, 60.0);
  ASSERT_TRUE(s.outputs.snapshots);
  EXPECT_EQ(s.outputs.snapshots->field, "Ez");
  EXPECT_EQ(s.outputs.snapshots->every, 0.1e-9);
  EXPECT_EQ(s.outputs.snapshots->stride, 2);
  EXPECT_EQ(s.outputs.phasors, std::vector<std::string>{"Ez"});
  ASSERT_EQ(s.outputs.probes.size(), 1U);
  EXPECT_EQ(s.outputs.probes[0].name, "front");
  EXPECT_EQ(s.outputs.probes[0].position.y, 0.115);
  EXPECT_EQ(s.outputs.sectors, 72);
  ASSERT_TRUE(s.outputs.images);
  EXPECT_EQ(s.outputs.images->quantities,
            (std::vector<std::string>{"Ez", "sar", "tissue"}));
  EXPECT_TRUE(s.outputs.images->decibel);
}

constexpr const char* smallest = R"(
grid: {cells_per_wavelength: 20, margin: 40 mm}
body:
  shapes:
    - {tissue: muscle, circle: {center: [0 m, 0 m], radius: 5 cm}}
implant: {position: [0 mm, 0 mm]}
waveform: {type: cw, frequency: 2.45 GHz}
)";

TEST(Scenario, DefaultsOfTheSmallestOne)
{
  const Scenario s = parse(smallest);
  EXPECT_EQ(s.title, "");
  EXPECT_EQ(s.grid.cells_per_wavelength, 20.0);
  EXPECT_EQ(s.grid.margin, 0.04);
  EXPECT_EQ(s.body.background, "air");
  EXPECT_FALSE(s.materials.fit_band);
  EXPECT_FALSE(s.materials.fit_poles);
  EXPECT_EQ(s.waveform.kind, WaveformKind::cw);
  EXPECT_DOUBLE_EQ(s.waveform.ramp, 10.0 / 2.45e9);
  EXPECT_EQ(s.frequencies, std::vector{2.45e9});
  EXPECT_FALSE(s.implant->capsule);
  EXPECT_EQ(s.outputs.sectors, 72);
  EXPECT_FALSE(s.outputs.images);
}

TEST(Scenario, OtherFormsOfValues)
{
  EXPECT_EQ(parse(edited(example, "duration: auto", "duration: 12 ns")).duration.time,
            12e-9);
  EXPECT_EQ(parse(edited(example, "duration: auto", "duration: {decay: 90 dB}"))
                .duration.decay_db,
            90.0);
  EXPECT_EQ(parse(edited(example, "poles: auto", "poles: 3")).materials.fit_poles, 3);
  const Scenario one =
      parse(edited(example, "[Ez, sar, tissue], scale: dB", "surface, scale: linear"));
  EXPECT_EQ(one.outputs.images->quantities, std::vector<std::string>{"surface"});
  EXPECT_FALSE(one.outputs.images->decibel);
  const Scenario dense = parse(edited(example, "conductivity: 0.5 S/m,",
                                      "conductivity: 0.5 S/m, density: 1010 kg/m3,"));
  EXPECT_EQ(dense.materials.custom[1].density, 1010.0);
  const Scenario turned = parse(edited(example, "rotation: 0 deg", "rotation: 30 deg"));
  EXPECT_DOUBLE_EQ(std::get<geometry::Ellipse>(turned.body.shapes[0].outline).rotation,
                   std::numbers::pi / 6.0);
  const Scenario coarse = parse(edited(smallest, "cells_per_wavelength: 20",
                                       "cells_per_wavelength: 6, allow_coarse: true"));
  EXPECT_EQ(coarse.grid.cells_per_wavelength, 6.0);
  EXPECT_TRUE(coarse.grid.allow_coarse);
}

TEST(Scenario, OtherShapes)
{
  const std::string more =
      "    - {tissue: fat_not_infiltrated, rectangle: {min: [-5 mm, 60 mm], max: [5 mm, "
      "70 mm]}}\n"
      "    - {tissue: skin_wet, shell: {thickness: 2 mm}}\n"
      "materials:\n";
  const Scenario s = parse(edited(example, "materials:\n", more));
  ASSERT_EQ(s.body.shapes.size(), 5U);
  EXPECT_EQ(std::get<geometry::Rectangle>(s.body.shapes[3].outline).max.y, 0.07);
  EXPECT_EQ(std::get<geometry::Shell>(s.body.shapes[4].outline).thickness, 0.002);
}

TEST(Scenario, LinkOfTheExampleAndItsDefaults)
{
  const Link link = parse(example).link;
  EXPECT_EQ(link.input.implant.transmit_power, 25e-6);
  EXPECT_EQ(link.input.path.distance, 0.5);
  EXPECT_EQ(link.input.reader.gain_dbi, 2.0);
  EXPECT_EQ(link.input.reader.noise_figure_db, 6.0);
  EXPECT_EQ(link.input.signal.bandwidth, 300e3);
  EXPECT_FALSE(link.direction || link.implant_gain_dbi);
  EXPECT_EQ(link.input.path.fade_sigma_db, postproc::deep_implant_sigma_db);
  EXPECT_TRUE(link.rules.empty());
  // -18.1 dBm and 2 dBi: 25 uW EIRP less 0.08 dB.
  EXPECT_NEAR(10.0 * std::log10(link.input.reader.transmit_power) + 30.0, -18.1, 1e-6);
}

TEST(Scenario, LinkWithAllItsKeys)
{
  const std::string text = R"(link:
  transmit_power: -16 dBm
  reader: {distance: 30 cm, direction: 90 deg, gain: 3 dBi, noise_figure: 4 dB, bandwidth: 1 MHz,
           transmit_power: 10 mW, return_loss: 15 dB, efficiency: 60 %, polarisation_loss: 3 dB}
  implant: {return_loss: 6 dB, efficiency: 50 %, noise_figure: 12 dB, capsule_loss: 1 dB, gain: -33 dBi}
  modulation: {type: gfsk, index: 0.5}
  data_rate: 1 Mbit/s
  target: {packet_error: 0.01, packet_bits: 160}
  coding_gain: 2 dB
  implementation_loss: 3 dB
  fading: none
  noise_area: city
  rules: [europe, itu]
)";
  const Link link = parse_link_alone(text, "link.yaml").link;
  const postproc::LinkInput& in = link.input;
  EXPECT_NEAR(in.implant.transmit_power, 25.1189e-6, 5e-11);
  EXPECT_EQ(in.path.distance, 0.3);
  EXPECT_NEAR(link.direction.value(), 0.5 * std::numbers::pi, 1e-15);
  EXPECT_EQ(in.reader.gain_dbi, 3.0);
  EXPECT_EQ(in.reader.noise_figure_db, 4.0);
  EXPECT_EQ(in.signal.bandwidth, 1e6);
  EXPECT_EQ(in.reader.transmit_power, 10e-3);
  EXPECT_EQ(in.reader.return_loss_db, 15.0);
  EXPECT_EQ(in.reader.antenna_efficiency, 0.6);
  EXPECT_EQ(in.path.polarisation_loss_db, 3.0);
  EXPECT_EQ(in.implant.return_loss_db, 6.0);
  EXPECT_EQ(in.implant.antenna_efficiency, 0.5);
  EXPECT_EQ(in.implant.noise_figure_db, 12.0);
  EXPECT_EQ(in.path.capsule_loss_db, 1.0);
  EXPECT_EQ(link.implant_gain_dbi, -33.0);
  EXPECT_EQ(in.signal.modulation.kind, postproc::ModulationKind::gfsk);
  EXPECT_EQ(in.signal.modulation.index, 0.5);
  EXPECT_EQ(in.signal.data_rate, 1e6);
  EXPECT_EQ(in.signal.target.ratio, 0.01);
  EXPECT_EQ(in.signal.target.packet_bits, 160U);
  EXPECT_EQ(in.signal.coding_gain_db, 2.0);
  EXPECT_EQ(in.signal.implementation_loss_db, 3.0);
  EXPECT_EQ(in.path.fade_sigma_db, 0.0);
  EXPECT_EQ(in.path.noise_area, postproc::NoiseArea::city);
  EXPECT_EQ(link.rules, (std::vector{postproc::RuleSet::europe, postproc::RuleSet::itu}));
}

TEST(Scenario, FrequenciesFromToCount)
{
  const Scenario s = parse(edited(example, "[2.40 GHz, 2.45 GHz, 2.48 GHz]",
                                  "{from: 2.4 GHz, to: 2.5 GHz, count: 5}"));
  ASSERT_EQ(s.frequencies.size(), 5U);
  EXPECT_EQ(s.frequencies.front(), 2.4e9);
  EXPECT_DOUBLE_EQ(s.frequencies[1], 2.425e9);
  EXPECT_EQ(s.frequencies.back(), 2.5e9);
}

TEST(Scenario, AHollowFilledWithTheBackgroundIsInsideTheBody)
{
  const std::string gas =
      "    - {tissue: air, circle: {center: [12 mm, -38 mm], radius: 6 "
      "mm}}\nmaterials:\n";
  EXPECT_NO_THROW(static_cast<void>(parse(edited(example, "materials:\n", gas))));
}

TEST(Scenario, AliasesRepeatValues)
{
  const std::string text = edited(edited(example, "radius: 18 mm", "radius: &size 18 mm"),
                                  "radius: 4 mm", "radius: *size");
  EXPECT_EQ(parse(text).implant->capsule->radius, 0.018);
}

TEST(Scenario, RemembersWhereEachKeyStands)
{
  const Scenario s = parse(example);
  const auto at = [&](const std::string& key) {
    const Location place = s.where(key);
    EXPECT_EQ(place.file, "room/slice.yaml");
    return std::pair{place.line, place.column};
  };
  using Place = std::pair<int, int>;
  EXPECT_EQ(at("title"), Place(1, 8));
  EXPECT_EQ(at("grid"), Place(3, 1));
  EXPECT_EQ(at("grid.cell"), Place(4, 9));
  EXPECT_EQ(at("grid.size[1]"), Place(5, 18));
  EXPECT_EQ(at("body.shapes"), Place(12, 3));
  EXPECT_EQ(at("body.shapes[2]"), Place(17, 7));
  EXPECT_EQ(at("body.shapes[2].tissue"), Place(17, 15));
  EXPECT_EQ(at("body.shapes[2].circle.radius"), Place(18, 48));
  EXPECT_EQ(at("implant.position"), Place(27, 13));
  EXPECT_EQ(at("outputs.probes[0].position"), Place(36, 36));
  EXPECT_EQ(at("implant.direction"), Place(26, 1)) << "the enclosing key";
  EXPECT_EQ(at("grid.margin"), Place(3, 1));
  EXPECT_EQ(at("nothing"), Place(1, 1));
}

}  // namespace
}  // namespace torsowave::scenarios
