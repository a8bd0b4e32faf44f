// The table of docs/validation.md, "Absorbing boundary".

#include "published/absorber_echo.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

namespace torsowave::reference {
namespace {

struct Case {
  const char* medium;
  double center;
  double bandwidth;
  double cell;
};

class AbsorberEchoTable : public testing::TestWithParam<Case> {};

TEST_P(AbsorberEchoTable, IsBelowMinus80Decibels)
{
  const Case& c = GetParam();
  const Echo echo = measure_echo(c.medium, c.center, c.bandwidth, c.cell);
  RecordProperty("at_ring_dB", fmt::format("{:.1f}", echo.at_ring));
  RecordProperty("in_interior_dB", fmt::format("{:.1f}", echo.in_interior));
  EXPECT_LT(echo.at_ring, -80.0);
  EXPECT_LT(echo.in_interior, -80.0);
}

INSTANTIATE_TEST_SUITE_P(Absorber, AbsorberEchoTable,
                         testing::Values(Case{"air", 1.4e9, 2.4e9, 0.5e-3},
                                         Case{"air", 1.4e9, 2.4e9, 1e-3},
                                         Case{"air", 2.45e9, 1e9, 0.5e-3},
                                         Case{"air", 2.45e9, 1e9, 1e-3},
                                         Case{"air", 0.4035e9, 0.6e9, 1e-3},
                                         Case{"muscle", 1.4e9, 2.4e9, 0.5e-3},
                                         Case{"muscle", 2.45e9, 1e9, 0.5e-3},
                                         Case{"muscle", 0.4035e9, 0.6e9, 1e-3},
                                         Case{"fat_not_infiltrated", 1.4e9, 2.4e9, 1e-3}),
                         [](const auto& test) {
                           const Case& c = test.param;
                           return fmt::format("{}_{:.0f}MHz_{:.0f}um", c.medium,
                                              c.center * 1e-6, c.cell * 1e6);
                         });

}  // namespace
}  // namespace torsowave::reference
