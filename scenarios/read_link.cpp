// A link's ranges are those of postproc/link_check.cpp wherever one value alone decides,
// so that nonsense is refused at its line before anything runs.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "postproc/link_formulas.hpp"
#include "scenarios/message_text.hpp"
#include "scenarios/sections.hpp"

namespace torsowave::scenarios {
namespace {

using postproc::LinkEnd;
using postproc::LinkSignal;
using postproc::ModulationKind;
using postproc::NoiseArea;
using postproc::RuleSet;

constexpr Range some_power{0.0, 1e3, true, "greater than 0 and at most 1 kW"};
constexpr Range share{0.0, 1.0, true, "greater than 0 % and at most 100 %"};

/// What both ends have.
void read_end(Section& section, LinkEnd& end)
{
  assign(end.return_loss_db,
         section.get("return_loss")
             .quantity(Dimension::level, {0.0, 100.0, true,
                                          "greater than 0 dB (all is reflected) and at "
                                          "most 100 dB"}));
  assign(end.antenna_efficiency,
         section.get("efficiency").quantity(Dimension::fraction, share));
  assign(end.noise_figure_db,
         section.get("noise_figure")
             .quantity(Dimension::level, {0.0, 60.0, false, "from 0 dB to 60 dB"}));
}

void read_reader(const Value& value, Link& link)
{
  Section section(value);
  LinkEnd& reader = link.input.reader;
  read_end(section, reader);
  assign(link.input.path.distance,
         section.get("distance")
             .quantity(Dimension::length,
                       {0.0, 1e6, true, "greater than 0 and at most 1000000 m"}));
  const Value direction = section.get("direction");
  if (direction &&
      !(direction.kind() == Node::Kind::scalar && direction.node()->text == "best")) {
    link.direction = direction.quantity(Dimension::angle, any_angle);
  }
  assign(reader.gain_dbi,
         section.get("gain").quantity(
             Dimension::gain, {-200.0, 40.0, false,
                               "from -200 dBi to 40 dBi, a dish of many wavelengths"}));
  assign(reader.transmit_power,
         section.get("transmit_power").quantity(Dimension::power, some_power));
  assign(link.input.signal.bandwidth,
         section.get("bandwidth").quantity(Dimension::frequency, positive_frequency));
  assign(link.input.path.polarisation_loss_db,
         section.get("polarisation_loss")
             .quantity(Dimension::level, {0.0, 60.0, false, "from 0 dB to 60 dB"}));
  section.reject_others();
}

void read_implant_end(const Value& value, Link& link)
{
  Section section(value);
  read_end(section, link.input.implant);
  link.implant_gain_dbi = section.get("gain").quantity(
      Dimension::gain, {-200.0, 10.0, false,
                        "from -200 dBi to 10 dBi: an antenna small enough to be "
                        "implanted, in a body that only takes power away"});
  assign(link.input.path.capsule_loss_db,
         section.get("capsule_loss")
             .quantity(Dimension::level, {0.0, 100.0, false, "from 0 dB to 100 dB"}));
  section.reject_others();
}

/// `bpsk`, or `{type: gfsk, index: 0.5}`.
void read_modulation(const Value& value, postproc::Modulation& modulation)
{
  if (!value) {
    return;
  }
  Value type = value;
  std::optional<Section> section;
  if (value.kind() == Node::Kind::map) {
    section.emplace(value);
    type = section->require("type", "gfsk");
  }
  const auto kind =
      type.choice<ModulationKind>({{"noncoherent_fsk", ModulationKind::noncoherent_fsk},
                                   {"coherent_fsk", ModulationKind::coherent_fsk},
                                   {"dbpsk", ModulationKind::dbpsk},
                                   {"bpsk", ModulationKind::bpsk},
                                   {"oqpsk", ModulationKind::oqpsk},
                                   {"gfsk", ModulationKind::gfsk}});
  assign(modulation.kind, kind);
  if (section) {
    const Value index = section->get("index");
    assign(modulation.index, index.number({0.25, 1.0, false, "from 0.25 to 1"}));
    if (kind && *kind != ModulationKind::gfsk) {
      index.fault("belongs to gfsk alone; leave it out");
    }
    section->reject_others();
  }
}

void read_target(const Value& value, postproc::ErrorTarget& target)
{
  if (!value) {
    return;
  }
  Section section(value);
  if (!section) {
    return;
  }
  static_cast<void>(section.exactly_one({"bit_error", "packet_error"}));
  const Value bit = section.get("bit_error");
  const Value packet = section.get("packet_error");
  const Value length = section.get("packet_bits");
  assign(target.ratio,
         bit.number({1e-15, std::nextafter(0.5, 0.0), false,
                     "from 1e-15 to below 0.5, which is as good as guessing"}));
  if (packet) {
    assign(target.ratio,
           packet.number({1e-12, 0.999, false,
                          "from 1e-12 to 0.999, the share of packets with an error"}));
    target.packet_bits = static_cast<std::size_t>(
        section.require("packet_bits", "160").integer(1, 1'000'000).value_or(1));
  } else {
    length.fault("goes with packet_error; leave it out beside bit_error");
  }
  section.reject_others();
}

/// `none`, or `{sigma: 7.85 dB, outage: 5 %}`.
void read_fading(const Value& value, postproc::LinkPath& path)
{
  if (value && value.kind() == Node::Kind::scalar) {
    if (value.node()->text == "none") {
      path.fade_sigma_db = 0.0;
    } else {
      value.fault("must be none, or a map, e.g. {sigma: 7.85 dB, outage: 5 %}");
    }
    return;
  }
  Section section(value);
  assign(path.fade_sigma_db,
         section.get("sigma").quantity(Dimension::level,
                                       {0.0, 30.0, false, "from 0 dB to 30 dB"}));
  assign(path.outage, section.get("outage").quantity(
                          Dimension::fraction,
                          {1e-15, 0.5, false,
                           "above 0 % to 50 %, the share of places that may fail"}));
  section.reject_others();
}

void read_signal(Section& section, LinkSignal& signal)
{
  read_modulation(section.get("modulation"), signal.modulation);
  assign(signal.data_rate,
         section.get("data_rate")
             .quantity(Dimension::data_rate,
                       {0.0, 1e12, true, "greater than 0 and at most 1e6 Mbit/s"}));
  const Value target = section.get("target");
  read_target(target, signal.target);
  const Value coding = section.get("coding_gain");
  assign(signal.coding_gain_db,
         coding.quantity(Dimension::level, {0.0, 15.0, false, "from 0 dB to 15 dB"}));
  assign(signal.implementation_loss_db,
         section.get("implementation_loss")
             .quantity(Dimension::level, {0.0, 40.0, false, "from 0 dB to 40 dB"}));
  try {
    static_cast<void>(postproc::required_eb_n0_db(signal));
  } catch (const std::invalid_argument& refusal) {
    (coding ? coding : target).fault(refusal.what());
  }
}

void read_rules(const Value& value, std::vector<RuleSet>& rules)
{
  if (!value) {
    return;
  }
  const auto items = value.items("a list of rule sets, e.g. [europe, itu]", 1, 4)
                         .value_or(std::vector<Value>{});
  for (const Value& item : items) {
    const auto rule = item.choice<RuleSet>({{"usa_medradio", RuleSet::usa_medradio},
                                            {"usa_unlicensed", RuleSet::usa_unlicensed},
                                            {"itu", RuleSet::itu},
                                            {"europe", RuleSet::europe}});
    if (rule && std::ranges::find(rules, *rule) != rules.end()) {
      item.fault("is listed twice; keep one of them");
    } else if (rule) {
      rules.push_back(*rule);
    }
  }
}

}  // namespace

postproc::LinkInput Link::default_input()
{
  postproc::LinkInput input;
  input.implant.transmit_power = 25e-6;  // the EIRP limit of 402-405 MHz
  input.implant.noise_figure_db = 10.0;
  input.reader.transmit_power = 15.4881662e-6;  // -18.1 dBm: with 2 dBi below it too
  input.reader.gain_dbi = 2.0;
  input.reader.noise_figure_db = 6.0;
  input.path.distance = 2.0;  // of the budget of Rec. ITU-R RS.1346, annex 1
  input.path.fade_sigma_db = postproc::deep_implant_sigma_db;
  input.path.outage = 0.05;
  input.signal.data_rate = 100e3;
  input.signal.bandwidth = 300e3;
  return input;
}

Link read_link(const Value& value)
{
  Link link;
  Section section(value);
  assign(link.input.implant.transmit_power,
         section.get("transmit_power").quantity(Dimension::power, some_power));
  read_reader(section.get("reader"), link);
  read_implant_end(section.get("implant"), link);
  read_signal(section, link.input.signal);
  read_fading(section.get("fading"), link.input.path);
  const Value area = section.get("noise_area");
  if (area) {
    link.input.path.noise_area =
        area.choice<NoiseArea>({{"city", NoiseArea::city},
                                {"residential", NoiseArea::residential},
                                {"rural", NoiseArea::rural},
                                {"quiet_rural", NoiseArea::quiet_rural}});
  }
  read_rules(section.get("rules"), link.rules);
  section.reject_others();
  return link;
}

}  // namespace torsowave::scenarios
