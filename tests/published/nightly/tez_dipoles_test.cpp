// In-plane dipoles in capsules of a round body, wherever they lie and point: the table
// "Dipoles off the axis" of docs/validation.md.

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cstddef>
#include <vector>

#include "published/full_wave_tez_case.hpp"

namespace torsowave::reference {
namespace {

struct Place {
  geometry::Point at_mm;
  double capsule_mm;
};

/// No two alike in their cell; the first on the axis.
const std::vector<Place> places{
    {{0.0, 0.0}, 10.0},  {{2.0, 1.0}, 10.0}, {{-3.1, 2.3}, 12.0}, {{1.2, -4.4}, 14.0},
    {{-0.7, -1.6}, 8.0}, {{4.9, 3.3}, 14.0}, {{-1.3, 3.7}, 10.0}};

TEST(TezDipoles, WhereverTheyAre)
{
  for (const int cells : {20, 40}) {
    std::vector<TezErrors> all;
    all.reserve(4 * places.size());
    for (const Place& place : places) {
      for (const double direction : {0.0, 30.0, 45.0, 90.0}) {
        all.push_back(errors_of({.dipole_deg = direction,
                                 .capsule_mm = place.capsule_mm,
                                 .cells = cells,
                                 .source_mm = place.at_mm}));
        RecordProperty(fmt::format("at_{}_{}_{}_deg_{}", place.at_mm.x, place.at_mm.y,
                                   direction, cells),
                       all.back().text());
      }
    }
    const auto middle_and_worst = [&](const char* name, auto member) {
      std::vector<double> values;
      for (const TezErrors& errors : all) {
        values.push_back((errors.*member).worst_db);
      }
      std::ranges::sort(values);
      RecordProperty(fmt::format("{}_{}", name, cells),
                     fmt::format("median {:.3f} dB, worst {:.3f} dB",
                                 values[values.size() / 2], values.back()));
      return values[values.size() / 2];
    };
    static_cast<void>(middle_and_worst("within_30_db", &TezErrors::field));
    const double typical = middle_and_worst("within_20_db", &TezErrors::middle);
    static_cast<void>(middle_and_worst("within_10_db", &TezErrors::strong));
    EXPECT_LT(typical, cells == 20 ? 0.3 : 0.1);
  }
}

}  // namespace
}  // namespace torsowave::reference
