#include "scenarios/sections.hpp"

namespace torsowave::scenarios {
namespace {

constexpr Range link_level{-200.0, 200.0, false, "from -200 to 200"};

void read_reader(const Value& value)
{
  Section section(value);
  static_cast<void>(
      section.get("distance")
          .quantity(Dimension::length,
                    {0.0, 1e6, true, "greater than 0 and at most 1000000 m"}));
  static_cast<void>(section.get("gain").quantity(Dimension::gain, link_level));
  static_cast<void>(
      section.get("noise_figure")
          .quantity(Dimension::level, {0.0, 200.0, false, "from 0 dB to 200 dB"}));
  static_cast<void>(
      section.get("bandwidth").quantity(Dimension::frequency, positive_frequency));
  section.reject_others();
}

}  // namespace

void read_link(const Value& value)
{
  Section section(value);
  static_cast<void>(section.get("transmit_power")
                        .quantity(Dimension::power,
                                  {0.0, 1e3, true, "greater than 0 and at most 1 kW"}));
  read_reader(section.get("reader"));
  section.reject_others();
}

}  // namespace torsowave::scenarios
