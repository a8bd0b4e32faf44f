#include "scenarios/quantity.hpp"

#include <gtest/gtest.h>

#include <numbers>
#include <string>
#include <vector>

namespace torsowave::scenarios {
namespace {

struct Exact {
  std::string text;
  Dimension dimension;
  double si;
};

TEST(Quantity, IsTheDoubleNearestToTheDecimalValue)
{
  const std::vector<Exact> cases{
      {"0.5 mm", Dimension::length, 0.5e-3},
      {"0.5mm", Dimension::length, 0.5e-3},
      {"0.1 mm", Dimension::length, 0.1e-3},
      {"0.3mm", Dimension::length, 0.3e-3},
      {"-38 mm", Dimension::length, -38e-3},
      {"+12 cm", Dimension::length, 0.12},
      {"  7\t um ", Dimension::length, 7e-6},
      {"250 nm", Dimension::length, 250e-9},
      {"1.5e2 mm", Dimension::length, 0.15},
      {"2E-1m", Dimension::length, 0.2},
      {".5 m", Dimension::length, 0.5},
      {"5. m", Dimension::length, 5.0},
      {"2.45 GHz", Dimension::frequency, 2.45e9},
      {"403.5 MHz", Dimension::frequency, 403.5e6},
      {"300kHz", Dimension::frequency, 300e3},
      {"1 THz", Dimension::frequency, 1e12},
      {"50 Hz", Dimension::frequency, 50.0},
      {"12 ns", Dimension::time, 12e-9},
      {"1.2 ps", Dimension::time, 1.2e-12},
      {"8.3ps", Dimension::time, 8.3e-12},
      {"3 fs", Dimension::time, 3e-15},
      {"1 %", Dimension::fraction, 0.01},
      {"0.7%", Dimension::fraction, 0.007},
      {"1 rad", Dimension::angle, 1.0},
      {"180 deg", Dimension::angle, std::numbers::pi},
      {"90deg", Dimension::angle, 0.5 * std::numbers::pi},
      {"1.74 S/m", Dimension::conductivity, 1.74},
      {"3 mS/m", Dimension::conductivity, 3e-3},
      {"1000 kg/m3", Dimension::density, 1000.0},
      {"1.06 g/cm3", Dimension::density, 1060.0},
      {"60 dB", Dimension::level, 60.0},
      {"25 uW", Dimension::power, 25e-6},
      {"2 dBi", Dimension::gain, 2.0},
      {"10min", Dimension::working_time, 600.0},
      {"1.5 h", Dimension::working_time, 5400.0},
      {"250 ms", Dimension::working_time, 0.25},
  };
  for (const Exact& c : cases) {
    EXPECT_EQ(parse_quantity(c.text, c.dimension), c.si) << c.text;
  }
}

TEST(Quantity, DecibelMilliwattsAreLogarithmic)
{
  // 10^(-16/10) mW = 0.025118864315 mW.
  EXPECT_NEAR(parse_quantity("-16 dBm", Dimension::power), 2.5118864315095797e-5, 1e-18);
  EXPECT_DOUBLE_EQ(parse_quantity("0 dBm", Dimension::power), 1e-3);
}

std::string refusal(const std::string& text, Dimension dimension)
{
  try {
    static_cast<void>(parse_quantity(text, dimension));
  } catch (const QuantityError& error) {
    return error.what();
  }
  return "";
}

TEST(Quantity, RefusesWhatIsNone)
{
  const std::vector<std::string> wrong{
      "",        " ",       "mm",       "5",       "0.5 GHz",
      "0.5 Mm",  "0.5 MM",  "nan mm",   "inf mm",  "-inf m",
      "0x10 mm", "1,5 mm",  "1..5 mm",  "1 mm mm", "1 m/s",
      "1 mm 2",  "1e400 m", "1e-400 m", "--1 mm",  "+-1 mm",
      "e3 mm",   "1e mm",   "1 mm\x01", ". mm",    "1e99999999999 m",
      "1e+-3 m"};
  for (const std::string& text : wrong) {
    EXPECT_NE(refusal(text, Dimension::length), "") << text;
  }
}

TEST(Quantity, RefusesWhatItsUnitTakesBeyondTheRange)
{
  EXPECT_NE(refusal("4000 dBm", Dimension::power).find("beyond the range"),
            std::string::npos);
  EXPECT_NE(refusal("1e307 h", Dimension::working_time), "");
  EXPECT_DOUBLE_EQ(parse_quantity("1e306 min", Dimension::working_time), 6e307);
}

TEST(Quantity, NamesTheUnitsAccepted)
{
  EXPECT_EQ(
      refusal("5", Dimension::length),
      "\"5\" has no unit; write a length with its unit, e.g. 0.5 mm; units accepted: nm, "
      "um, mm, cm, m");
  EXPECT_EQ(
      refusal("5 mm", Dimension::frequency),
      "\"mm\" is not a unit of frequency; write a frequency with its unit, e.g. 2.45 "
      "GHz; units accepted: Hz, kHz, MHz, GHz, THz");
  EXPECT_NE(refusal("1,5 mm", Dimension::length).find("the decimal sign is a point"),
            std::string::npos);
}

TEST(Quantity, BareNumbersHaveNoUnit)
{
  EXPECT_EQ(parse_number("0.99"), 0.99);
  EXPECT_EQ(parse_number(" -1e3 "), -1000.0);
  for (const char* text : {"", "5 mm", "nan", "inf", "0x10", "1_000", "1e999", "12abc"}) {
    EXPECT_THROW(static_cast<void>(parse_number(text)), QuantityError) << text;
  }
}

TEST(Quantity, IsShownInAHandyUnit)
{
  EXPECT_EQ(show_quantity(2.45e9, Dimension::frequency), "2.45 GHz");
  EXPECT_EQ(show_quantity(1e9, Dimension::frequency), "1 GHz");
  EXPECT_EQ(show_quantity(403.5e6, Dimension::frequency), "403.5 MHz");
  EXPECT_EQ(show_quantity(0.0, Dimension::length), "0 m");
  EXPECT_EQ(show_quantity(-0.038, Dimension::length), "-3.8 cm");
}

}  // namespace
}  // namespace torsowave::scenarios
