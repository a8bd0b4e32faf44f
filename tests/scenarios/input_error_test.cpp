#include "scenarios/wrong_scenario.hpp"

namespace torsowave::scenarios {
namespace {

using testing::example;
using testing::Wrong;

void expect_one_fault_each(const std::vector<Wrong>& table)
{
  testing::expect_one_fault_each(example, table);
}

TEST(InputError, HeadAndGrid)
{
  expect_one_fault_each({
      {"mode: TMz", "mode: @TMx", "mode", "did you mean \"TMz\"?"},
      {"mode: TMz", "@mod: TMz", "mod", "did you mean \"mode\"?); accepted: title, "},
      {"title: Aortic", "title: @[1]\n#", "title", "must be free text, got a list"},
      {"cell: 0.5 mm", "cell: @0.5", "grid.cell", "units accepted: nm, um, mm, cm, m"},
      {"cell: 0.5 mm", "cell: @0.5 GHz", "grid.cell",
       "units accepted: nm, um, mm, cm, m"},
      {"cell: 0.5 mm", "cell: @-0.5 mm", "grid.cell", "greater than 0"},
      {"cell: 0.5 mm", "cell: @nan mm", "grid.cell", "write a length with its unit"},
      {"cell: 0.5 mm", "@cell:", "grid.cell", "got nothing"},
      {"  cell: 0.5 mm", "  @cel: 0.5 mm\n  cell: 0.5 mm", "grid.cel",
       "did you mean \"cell\"?); accepted: cell, "},
      {"  cell: 0.5 mm", "  cell: 0.5 mm\n  cells_per_wavelength: @20",
       "grid.cells_per_wavelength", "exactly one of: cell, cells_per_wavelength"},
      {"grid:\n  cell: 0.5 mm", "@grid:", "grid",
       "exactly one of: cell, cells_per_wavelength"},
      {"cell: 0.5 mm", "cells_per_wavelength: @8", "grid.cells_per_wavelength",
       "grid.allow_coarse: true"},
      {"size: [460 mm, 340 mm]", "size: @[460 mm]", "grid.size", "a list of two lengths"},
      {"size: [460 mm, 340 mm]", "size: [460 mm, @0 mm]", "grid.size[1]",
       "greater than 0"},
      {"size: [460 mm, 340 mm]", "size: @[0.4 mm, 340 mm]", "grid.size", "larger size"},
      {"absorbing_cells: 12", "absorbing_cells: @3", "grid.absorbing_cells",
       "from 4 to 64"},
      {"absorbing_cells: 12", "absorbing_cells: @12.5", "grid.absorbing_cells",
       "whole number"},
      {"courant: 0.99", "courant: @1.2", "grid.courant", "greater than 0 and at most 1"},
      {"courant: 0.99", "courant: @0", "grid.courant", "greater than 0 and at most 1"},
      {"precision: single", "precision: @singel", "grid.precision",
       "did you mean \"single\"?"},
      {"averaging: volume", "averaging: @mean", "grid.averaging",
       "accepted: volume, none"},
      {"averaging: volume", "allow_coarse: @maybe", "grid.allow_coarse", "true, false"},
      {"courant: 0.99", "courant: 0.99\n  @courant: 0.5", "grid.courant",
       "given twice, first in line 7"},
  });
}

TEST(InputError, Body)
{
  expect_one_fault_each({
      {"background: air", "background: @aire", "body.background",
       "did you mean \"air\"?"},
      {"background: air", "background: @tin", "body.background", "write a medium"},
      {"tissue: skin_dry", "tissue: @skin_dri", "body.shapes[0].tissue",
       "did you mean \"skin_dry\"?"},
      {"tissue: vertebra_mix", "tissue: @vertebra_mux", "body.shapes[2].tissue",
       "did you mean \"vertebra_mix\"?"},
      {"    - tissue: muscle\n      polygon", "    - @polygon", "body.shapes[1].tissue",
       "is missing; write e.g. tissue: muscle"},
      {"circle: {center: [0 mm, -60 mm], radius: 18 mm}",
       "@circel: {center: [0 mm, -60 mm], radius: 18 mm}\n      circle: {center: [0 mm, "
       "-60 "
       "mm], radius: 18 mm}",
       "body.shapes[2].circel", "did you mean \"circle\"?"},
      {"radius: 18 mm", "radius: @0 mm", "body.shapes[2].circle.radius",
       "greater than 0"},
      {"{center: [0 mm, -60 mm], radius", "@{radius", "body.shapes[2].circle.center",
       "is missing; write e.g. center:"},
      {"semi_axes: [170 mm, 110 mm]", "semi_axes: [170 mm, @-1 mm]",
       "body.shapes[0].ellipse.semi_axes[1]", "greater than 0"},
      {"rotation: 0 deg", "rotation: @0", "body.shapes[0].ellipse.rotation", "deg, rad"},
      {"[[-20 mm, 5 mm], [10 mm, 5 mm], [0 mm, 30 mm]]",
       "@[[-20 mm, 5 mm], [10 mm, 5 mm]]", "body.shapes[1].polygon", "at least 3 points"},
      {"[[-20 mm, 5 mm], [10 mm, 5 mm], [0 mm, 30 mm]]",
       "@[[0 mm, 0 mm], [1 mm, 1 mm], [3 mm, 3 mm]]", "body.shapes[1].polygon",
       "enclose no area"},
      {"[0 mm, 30 mm]]", "[0 mm, 30 mm@}]", "", "not valid YAML"},
      {"polygon: [[-20 mm, 5 mm], [10 mm, 5 mm], [0 mm, 30 mm]]",
       "rectangle: @{min: [1 mm, 0 mm], max: [0 mm, 1 mm]}", "body.shapes[1].rectangle",
       "exchange the coordinates"},
      {"- tissue: skin_dry\n      ellipse: {center: [0 mm, 0 mm], semi_axes: [170 mm, "
       "110 mm], rotation: 0 deg}",
       "- @tissue: skin_dry\n      shell: {thickness: 2 mm}", "body.shapes[0]",
       "put an ellipse"},
      {"  shapes:\n", "  @layers:\n", "body.layers",
       "layers belong to mode 1D; in mode TMz write shapes"},
      {"  background: air\n", "  background: air\n  first_face: @3 mm\n",
       "body.first_face", "belongs to mode 1D"},
      {"  background: air\n",
       "  background: air\n  label_map: {file: @none.png, tissues: {0: air}}\n",
       "body.label_map.file", "no such file"},
  });
}

TEST(InputError, Materials)
{
  expect_one_fault_each({
      {"[0.3 GHz, 6 GHz]", "@[6 GHz, 0.3 GHz]", "materials.fit.band",
       "lower frequency first"},
      {"poles: auto", "poles: @5", "materials.fit.poles",
       "accepted: auto, 0, 1, 2, 3, 4"},
      {"poles: auto", "poles: @automatic", "materials.fit.poles",
       "accepted: auto, 0, 1, 2, 3, 4"},
      {"max_error: 1 %", "max_error: @0.01", "materials.fit.max_error",
       "units accepted: %"},
      {"max_error: 1 %", "max_error: @0 %", "materials.fit.max_error", "greater than 0"},
      {"    gel: ", "    muscle: @", "materials.custom.muscle", "choose another name"},
      {"    gel: ", "    Gel: @", "materials.custom.Gel", "small letters, digits"},
      {"permittivity: 52.7", "permittivity: @0.5", "materials.custom.gel.permittivity",
       "from 1 to"},
      {"conductivity: 1.74 S/m", "conductivity: @1.74",
       "materials.custom.gel.conductivity", "units accepted: mS/m, S/m"},
      {"conductor: perfect", "conductor: @good", "materials.custom.tin.conductor",
       "accepted: perfect"},
      {"{conductor: perfect}", "@{}", "materials.custom.tin",
       "exactly one of: permittivity, debye, conductor"},
      {"tau: 8.3 ps", "tau: @0 ps", "materials.custom.broth.debye.poles[0].tau",
       "greater than 0"},
      {"[{delta: 70, tau: 8.3 ps}]", "@[]", "materials.custom.broth.debye.poles",
       "1 to 16 poles"},
      {"8.3 ps}]}}", "8.3 ps}], density: 1 g/cm3}, density: @1 g/cm3}",
       "materials.custom.broth.density", "keep one of them"},
      {"density: 1000 kg/m3", "@densty: 1000 kg/m3", "materials.custom.gel.densty",
       "did you mean \"density\"?"},
  });
}

TEST(InputError, ImplantAndPlacement)
{
  expect_one_fault_each({
      {"[12 mm, -38 mm]", "@[12 mm, 150 mm]", "implant.position",
       "outside the body; move it into a shape: body.shapes[0] (skin_dry)"},
      {"position: [12 mm, -38 mm]\n", "position: @12 mm\n", "implant.position", "[x, y]"},
      {"source: line_current", "source: @line_curent", "implant.source",
       "did you mean \"line_current\"?"},
      {"source: line_current", "source: @magnetic_line", "implant.source",
       "a magnetic_line belongs to mode TEz; accepted in mode TMz: line_current"},
      {"source: line_current", "source: @current_sheet", "implant.source",
       "belongs to mode 1D; accepted in mode TMz: line_current"},
      {"source: line_current", "direction: @90 deg", "implant.direction", "remove it"},
      {"material: air", "material: @tin", "implant.capsule.material",
       "write a dielectric"},
      {"material: air", "material: @pek_like", "implant.capsule.material",
       "did you mean \"peek_like\"?"},
      {"radius: 4 mm", "radius: @4 s", "implant.capsule.radius", "units accepted: nm"},
      {"duration: auto", "duration: auto\nincident: @{plane_wave: {angle: 0 deg}}",
       "incident", "cannot stand beside implant; give exactly one of: implant, incident"},
      {"[0 mm, 115 mm]", "@[0 mm, 170 mm]", "outputs.probes[0].position",
       "enlarge grid.size"},
  });
}

TEST(InputError, WaveformFrequenciesAndDuration)
{
  expect_one_fault_each({
      {"type: pulse", "type: @puls", "waveform.type", "did you mean \"pulse\"?"},
      {"bandwidth: 1 GHz", "bandwidth: @5 GHz", "waveform.bandwidth",
       "less than twice the center, 4.9 GHz"},
      {", bandwidth: 1 GHz}", ", bandwidth: 1 GHz, @ramp: 1 ns}", "waveform.ramp",
       "accepted: type, center, bandwidth"},
      {"{type: pulse, center: 2.45 GHz, bandwidth: 1 GHz}",
       "{type: samples, file: @nowhere.csv}", "waveform.file", "no such file"},
      {"[2.40 GHz,", "[@1.2 GHz,", "frequencies[0]",
       "usable with this waveform: about 1.743 GHz to 3.157 GHz"},
      {"[2.40 GHz, 2.45 GHz,", "[2.45 GHz, @2.45 GHz,", "frequencies[1]",
       "keep one of them"},
      {"[2.40 GHz, 2.45 GHz, 2.48 GHz]", "[2.45 GHz, @2.40 GHz]", "frequencies[1]",
       "sort the list"},
      {"[2.40 GHz, 2.45 GHz, 2.48 GHz]", "@[]", "frequencies", "a list of 1 to 1000"},
      {"[2.40 GHz, 2.45 GHz, 2.48 GHz]", "{from: 2.5 GHz, to: @2.4 GHz, count: 3}",
       "frequencies.to", "must be above from"},
      {"[2.40 GHz, 2.45 GHz, 2.48 GHz]", "{from: 2.4 GHz, to: 2.5 GHz, count: @1}",
       "frequencies.count", "from 2 to 1000"},
      {"{type: pulse, center: 2.45 GHz, bandwidth: 1 GHz}\nfrequencies: [2.40 GHz, 2.45 "
       "GHz, 2.48 GHz]",
       "{type: cw, frequency: 2.45 GHz}\nfrequencies: @[2.4 GHz]", "frequencies",
       "a cw run has one frequency, 2.45 GHz"},
      // x^2 exp(1 - x^2) = 0.01 at x = 0.060765 and 2.76376 (solved apart from the
      // reader).
      {"{type: pulse, center: 2.45 GHz, bandwidth: 1 GHz}\nfrequencies: [2.40 GHz,",
       "{type: ricker, center: 9 GHz}\nfrequencies: [@0.4 GHz,", "frequencies[0]",
       "usable with this waveform: about 546.9 MHz to 24.87 GHz"},
      {"{type: pulse, center: 2.45 GHz, bandwidth: 1 GHz}\nfrequencies: [2.40 GHz, 2.45 "
       "GHz, 2.48 GHz]",
       "{type: ricker, center: 2.45 GHz}\nfrequencies: [@6.5 GHz]", "frequencies[0]",
       "outside materials.fit.band, 300 MHz to 6 GHz"},
      {"waveform: {type: pulse, center: 2.45 GHz, bandwidth: 1 GHz}\nfrequencies: [2.40 "
       "GHz, 2.45 GHz, 2.48 GHz]",
       "waveform: @{type: cw, frequency: 7 GHz}", "waveform",
       "outside materials.fit.band"},
      {"duration: auto", "duration: @never", "duration", "e.g. 12 ns"},
      {"duration: auto", "duration: {decay: @10 dB}", "duration.decay",
       "from 20 dB to 200 dB"},
  });
}

TEST(InputError, OutputsAndLink)
{
  expect_one_fault_each({
      {"field: Ez", "field: @Hz", "outputs.snapshots.field", "accepted: Ez, Hx, Hy"},
      {"every: 0.1 ns", "every: @0 ns", "outputs.snapshots.every", "greater than 0"},
      {"stride: 2", "stride: @0", "outputs.snapshots.stride", "from 1 to 1000"},
      {"phasors: [Ez]", "phasors: [Ez, @Ez]", "outputs.phasors[1]", "keep one of them"},
      {"phasors: [Ez]", "phasors: @Ez", "outputs.phasors",
       "a list of any of: Ez, Hx, Hy"},
      {"name: front", "name: @a/b", "outputs.probes[0].name", "letters, digits"},
      {"sectors: 72", "sectors: @3", "outputs.sectors", "from 4 to 3600"},
      {"[Ez, sar, tissue]", "[Ez, @sarr]", "outputs.images.quantity[1]",
       "accepted: Ez, Hx, Hy, tissue, snapshot, sar, surface"},
      {"snapshots: {field: Ez, every: 0.1 ns, stride: 2}\n  phasors: [Ez]\n  probes: "
       "[{name: front, position: [0 mm, 115 mm]}]\n  sectors: 72\n  images: {quantity: "
       "[Ez, sar, tissue]",
       "phasors: [Ez]\n  images: {quantity: @[snapshot]", "outputs.images.quantity",
       "needs outputs.snapshots"},
      {"snapshots: {field: Ez, every: 0.1 ns, stride: 2}\n  phasors: [Ez]\n  probes: "
       "[{name: front, position: [0 mm, 115 mm]}]\n  sectors: 72\n  images: {quantity: "
       "[Ez, sar, tissue], scale: dB}\n  animation: {format: mp4, frames_per_second: 25}",
       "animation: @{format: mp4}", "outputs.animation", "needs outputs.snapshots"},
      {"scale: dB", "scale: @log", "outputs.images.scale", "accepted: dB, linear"},
      {"format: mp4", "format: @avi", "outputs.animation.format",
       "accepted: mp4, webp, gif"},
      {"transmit_power: 25 uW", "transmit_power: @25", "link.transmit_power", "dBm"},
      {"gain: 2 dBi", "gain: @2 dB", "link.reader.gain", "units accepted: dBi"},
      {"distance: 0.5 m,", "@distanse: 0.5 m,", "link.reader.distanse",
       "did you mean \"distance\"?"},
      {"bandwidth: 300 kHz", "bandwidth: @0 Hz", "link.reader.bandwidth",
       "greater than 0"},
      {"gain: 2 dBi", "gain: @60 dBi", "link.reader.gain", "to 40 dBi"},
      {"noise_figure: 6 dB", "noise_figure: @-1 dB", "link.reader.noise_figure",
       "from 0 dB to 60 dB"},
  });
}

/// A key in the place of the example's transmit power.
Wrong link_fault(const std::string& text, const std::string& key,
                 const std::string& remedy)
{
  return {"transmit_power: 25 uW", text, "link." + key, remedy};
}

TEST(InputError, LinksThatCannotBe)
{
  expect_one_fault_each({
      link_fault("implant: {gain: @60 dBi}", "implant.gain", "to 10 dBi"),
      link_fault("implant: {return_loss: @0 dB}", "implant.return_loss",
                 "all is reflected"),
      link_fault("implant: {efficiency: @120 %}", "implant.efficiency", "at most 100 %"),
      link_fault("target: {bit_error: @0.6}", "target.bit_error", "guessing"),
      link_fault("target: {bit_error: @0}", "target.bit_error", "from 1e-15"),
      link_fault("target: {bit_error: 1e-3, packet_bits: @160}", "target.packet_bits",
                 "goes with packet_error"),
      link_fault("target: @{packet_error: 0.01}", "target.packet_bits", "is missing"),
      link_fault("modulation: @ook", "modulation", "accepted: noncoherent_fsk"),
      link_fault("modulation: {type: bpsk, index: @0.5}", "modulation.index",
                 "belongs to gfsk alone"),
      link_fault("modulation: {type: gfsk, index: @2}", "modulation.index",
                 "from 0.25 to 1"),
      link_fault("data_rate: @100 kHz", "data_rate", "bit/s, kbit/s, Mbit/s"),
      link_fault("coding_gain: @15 dB", "coding_gain", "Shannon"),
      link_fault("target: @{bit_error: 0.45}", "target", "Shannon"),
      link_fault("fading: @some", "fading", "must be none, or a map"),
      link_fault("fading: {outage: @60 %}", "fading.outage", "to 50 %"),
      link_fault("noise_area: @town", "noise_area", "accepted: city"),
      link_fault("rules: [itu, @itu]", "rules[1]", "listed twice"),
  });
}

TEST(InputError, TheText)
{
  expect_one_fault_each({
      {"title: Aortic", "title: \xC3\xA4@\xFF", "", "save the scenario as UTF-8"},
      {"title: Aortic", "title: @\x01", "", "control character 0x01"},
      {"duration: auto", "duration: @!!str auto", "", "remove the tag"},
      {"duration: auto", "duration: auto\n@---\nmode: TMz", "", "one YAML document"},
      {"duration: auto", "duration: &a [@*a]", "", "write the value out"},
      {"duration: auto", "@[a]: 1", "", "a key must be a plain word"},
  });
}

}  // namespace
}  // namespace torsowave::scenarios
