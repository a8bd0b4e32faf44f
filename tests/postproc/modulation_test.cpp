// Bit errors by Eb/N0: figures of the textbook's formulas, evaluated separately;
// inverses.

#include "postproc/modulation.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <limits>
#include <stdexcept>
#include <string>

namespace torsowave::postproc {
namespace {

using enum ModulationKind;

constexpr std::array kinds{noncoherent_fsk, coherent_fsk, dbpsk, bpsk, oqpsk, gfsk};

struct Demand {
  ModulationKind kind;
  double ratio;
  double eb_n0_db;
};

// J. G. Proakis, *Digital Communications* (from memory), the formulas solved for Eb/N0 by
// a separate script; noncoherent FSK: eq. 9.5.41, seen quoted in public code.
constexpr std::array demands{Demand{noncoherent_fsk, 1e-3, 10.9444},
                             Demand{noncoherent_fsk, 1e-5, 13.3525},
                             Demand{bpsk, 1e-3, 6.7895},
                             Demand{bpsk, 1e-5, 9.5879},
                             Demand{oqpsk, 1e-3, 6.7895},
                             Demand{oqpsk, 1e-5, 9.5879},
                             Demand{coherent_fsk, 1e-3, 9.7998},
                             Demand{coherent_fsk, 1e-5, 12.5982},
                             Demand{dbpsk, 1e-3, 7.9341},
                             Demand{dbpsk, 1e-5, 10.3422}};

TEST(Modulation, NeedsWhatTheTextbookSays)
{
  for (const Demand& demand : demands) {
    EXPECT_NEAR(eb_n0_for_bit_error({demand.kind}, demand.ratio), demand.eb_n0_db, 5.1e-5)
        << modulation_name(demand.kind);
  }
}

// Worked by hand: g = -2 ln(2e-3) = 12.4292, 10 log10 g = 10.9444.
TEST(Modulation, OfTonesIsAnExponential)
{
  EXPECT_NEAR(bit_error_ratio({noncoherent_fsk}, 10.0 * std::log10(12.4292162)), 1e-3,
              1e-10);
}

TEST(Modulation, GuessesWithoutSignalAndIsSureWithoutNoise)
{
  constexpr double infinity = std::numeric_limits<double>::infinity();
  for (const ModulationKind kind : kinds) {
    EXPECT_NEAR(bit_error_ratio({kind}, -infinity), 0.5, 1e-14) << modulation_name(kind);
    EXPECT_EQ(bit_error_ratio({kind}, infinity), 0.0) << modulation_name(kind);
  }
}

TEST(Modulation, InverseGivesTheRatioBack)
{
  for (const ModulationKind kind : kinds) {
    for (const double index : {0.25, 0.35, 0.5, 1.0}) {
      for (const double ratio : {1e-15, 1e-9, 1e-5, 1e-3, 0.1, 0.4, 0.4999}) {
        const Modulation modulation{kind, index};
        const double eb_n0_db = eb_n0_for_bit_error(modulation, ratio);
        EXPECT_NEAR(bit_error_ratio(modulation, eb_n0_db) / ratio, 1.0, 1e-11)
            << modulation_name(kind) << " " << index << " " << ratio;
      }
    }
  }
}

// h = 1 makes the tones orthogonal: nothing but noncoherent FSK is left.
TEST(Modulation, OfGfskWithOrthogonalTonesIsThatOfFsk)
{
  for (const double eb_n0_db : {-20.0, 0.0, 5.0, 10.0, 13.0, 16.0, 20.0}) {
    EXPECT_NEAR(bit_error_ratio({gfsk, 1.0}, eb_n0_db) /
                    bit_error_ratio({noncoherent_fsk}, eb_n0_db),
                1.0, 1e-13);
  }
}

struct Tones {
  double index, eb_n0_db, ratio;
};

// S. Stein 1964 (from memory): Q1(a, b) - exp(-(a^2 + b^2)/2) I0(a b)/2, with Marcum's Q1
// from its defining integral in 30-digit arithmetic by a separate script.
constexpr std::array tones{
    Tones{0.25, 0.0, 0.4130957350323},    Tones{0.25, 10.0, 0.1659960531447},
    Tones{0.25, 15.0, 0.03919675466062},  Tones{0.35, 0.0, 0.3833270016919},
    Tones{0.35, 10.0, 0.09097012097336},  Tones{0.35, 15.0, 0.007630741149232},
    Tones{0.5, 0.0, 0.3471542805483},     Tones{0.5, 10.0, 0.03320735638794},
    Tones{0.5, 15.0, 0.0004009585281495}, Tones{0.7, 0.0, 0.3166087111644},
    Tones{0.7, 10.0, 0.008781305749012},  Tones{0.7, 15.0, 5.425604698165e-6}};

TEST(Modulation, OfGfskIsThatOfCorrelatedTones)
{
  for (const Tones& c : tones) {
    EXPECT_NEAR(bit_error_ratio({gfsk, c.index}, c.eb_n0_db) / c.ratio, 1.0, 1e-12)
        << c.index << " " << c.eb_n0_db;
  }
  EXPECT_NEAR(eb_n0_for_bit_error({gfsk, 0.5}, 1e-3), 14.31062017, 5.1e-9);
  EXPECT_NEAR(eb_n0_for_bit_error({gfsk, 0.5}, 1e-5), 17.05454112, 5.1e-9);
}

// Worked by hand: 1 - (1 - 1e-3)^256 = 1 - exp(256 ln 0.999) = 1 - exp(-0.256128) =
// 0.22596.
TEST(PacketError, IsThatOfIndependentBits)
{
  EXPECT_NEAR(packet_error_ratio(1e-3, 256), 0.22596, 5e-6);
  EXPECT_EQ(packet_error_ratio(0.0, 1000), 0.0);
  EXPECT_EQ(packet_error_ratio(1.0, 1000), 1.0);
  EXPECT_NEAR(packet_error_ratio(1e-18, 1000), 1e-15, 1e-29);  // keeps small ratios
}

TEST(PacketError, InverseGivesTheRatioBack)
{
  for (const std::size_t bits : {std::size_t{1}, std::size_t{160}, std::size_t{8184}}) {
    for (const double ratio : {1e-9, 1e-2, 0.3}) {
      EXPECT_NEAR(packet_error_ratio(allowed_bit_error({ratio, bits}), bits) / ratio, 1.0,
                  1e-13);
    }
  }
  EXPECT_NEAR(allowed_bit_error({1e-3, 1}), 1e-3, 1e-18);
}

// Nyquist 1928, Carson 1922 (from memory).
TEST(Modulation, FitsIntoItsBandwidth)
{
  EXPECT_EQ(bits_per_hertz({bpsk}), 1.0);
  EXPECT_EQ(bits_per_hertz({dbpsk}), 1.0);
  EXPECT_EQ(bits_per_hertz({oqpsk}), 2.0);
  EXPECT_EQ(bits_per_hertz({noncoherent_fsk}), 0.5);
  EXPECT_DOUBLE_EQ(bits_per_hertz({coherent_fsk}), 2.0 / 3.0);
  EXPECT_DOUBLE_EQ(bits_per_hertz({gfsk, 0.5}), bits_per_hertz({coherent_fsk}));
  EXPECT_DOUBLE_EQ(bits_per_hertz({gfsk, 1.0}), bits_per_hertz({noncoherent_fsk}));
}

TEST(Modulation, RefusesWhatCannotBe)
{
  const double nan = std::numeric_limits<double>::quiet_NaN();
  for (const double ratio : {0.6, 0.5, 0.0, -1e-3, nan}) {
    EXPECT_THROW(static_cast<void>(eb_n0_for_bit_error({bpsk}, ratio)),
                 std::invalid_argument);
    EXPECT_THROW(static_cast<void>(allowed_bit_error({ratio, 1})), std::invalid_argument);
  }
  EXPECT_GT(allowed_bit_error({0.6, 100}), 0.0);  // of packets, 0.6 is a target
  EXPECT_THROW(static_cast<void>(allowed_bit_error({1.0, 100})), std::invalid_argument);
  EXPECT_THROW(static_cast<void>(allowed_bit_error({0.1, 0})), std::invalid_argument);
  EXPECT_THROW(static_cast<void>(packet_error_ratio(1.1, 8)), std::invalid_argument);
  EXPECT_THROW(static_cast<void>(packet_error_ratio(0.1, 0)), std::invalid_argument);
  EXPECT_THROW(static_cast<void>(bit_error_ratio({bpsk}, nan)), std::invalid_argument);
  for (const double index : {0.2, 1.1, nan}) {
    EXPECT_THROW(static_cast<void>(bit_error_ratio({gfsk, index}, 10.0)),
                 std::invalid_argument);
    EXPECT_THROW(static_cast<void>(bits_per_hertz({gfsk, index})), std::invalid_argument);
  }
}

TEST(Modulation, SaysWhyATargetIsRefused)
{
  try {
    static_cast<void>(allowed_bit_error({0.6, 1}));
    FAIL() << "a target that guessing reaches was accepted";
  } catch (const std::invalid_argument& refusal) {
    EXPECT_STREQ(refusal.what(),
                 "bit error target must be above 0 and below 0.5, which is guessing, got "
                 "0.6");
  }
}

}  // namespace
}  // namespace torsowave::postproc
