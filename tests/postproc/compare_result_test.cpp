#include "postproc/compare_result.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "postproc/temporary_folder.hpp"

namespace torsowave::postproc {
namespace {

/// A power at two frequencies and a field at one more angle each, from three models.
CompareResult sample()
{
  CompareResult result;
  result.bodies = {"muscle to 30 mm", "air"};
  result.models = {"cole-cole", "debye", "run"};
  result.parts = {"fit", "grid and rest"};
  result.frequencies = {1e9, 2e9};
  result.angles_deg = {0.0, 120.0, 240.0};
  result.circle_radius = 0.1;
  ComparedQuantity field{"Ez", "|Ez|", "V/m", true, {}, {}, {}, -30.0};
  field.values = {{1, 10, 100, 1, 1, 1}, {1, 10, 100, 1, 1, 1}, {2, 10, 100, 1, 1, 0.5}};
  field.phases_deg = {{0, 0, 0, 0, 170, 0}, {0, 0, 0, 0, -170, 0}, {0, 0, 0, 0, -160, 0}};
  field.reference = {100, 100, 100, 1, 1, 1};
  result.quantities.push_back(field);
  const double none = std::numeric_limits<double>::quiet_NaN();
  ComparedQuantity power{"radiated", "radiated", "W/m", false, {}, {}, {}};
  power.values = {{1.0, none}, {10.0, none}, {100.0, 1.0}};
  power.reference = {1.0, 1.0};
  result.quantities.push_back(power);
  return result;
}

TEST(CompareResult, PartsAddUpInDecibels)
{
  const Difference power = difference_at(sample(), 1, 0);
  EXPECT_NEAR(power.total_db, 20.0, 1e-12);
  EXPECT_NEAR(power.parts_db[0], 10.0, 1e-12);
  EXPECT_NEAR(power.parts_db[1], 10.0, 1e-12);
  EXPECT_FALSE(power.phase_deg);
  const Difference field = difference_at(sample(), 0, 5);
  EXPECT_NEAR(field.total_db, 20.0 * std::log10(0.5), 1e-12);
  EXPECT_EQ(field.cause(), 1U);
  EXPECT_EQ(frequency_of(sample(), field), 1U);
  EXPECT_EQ(angle_deg_of(sample(), field), 240.0);
}

TEST(CompareResult, PhasesDifferByLessThanHalfATurn)
{
  const Difference d = difference_at(sample(), 0, 4);
  EXPECT_NEAR(*d.phase_deg, 30.0, 1e-12);
  EXPECT_NEAR(d.phase_parts[0], 20.0, 1e-12);
  EXPECT_NEAR(d.phase_parts[1], 10.0, 1e-12);
}

// Sample 0 is 40 dB below the largest field of its frequency, where 6 dB more do not
// count.
TEST(CompareResult, WeakAndUndefinedSamplesDoNotCount)
{
  EXPECT_FALSE(difference_at(sample(), 0, 0).counts);
  EXPECT_TRUE(difference_at(sample(), 0, 1).counts);
  EXPECT_FALSE(difference_at(sample(), 1, 1).counts);
  const auto field = largest_difference(sample(), 0);
  ASSERT_TRUE(field);
  EXPECT_EQ(field->sample, 5U);
  const auto verdict = largest_difference(sample());
  ASSERT_TRUE(verdict);
  EXPECT_EQ(verdict->quantity, 1U);
}

TEST(CompareResult, NothingThatCountsHasNoVerdict)
{
  CompareResult result = sample();
  for (ComparedQuantity& quantity : result.quantities) {
    quantity.counts_above_db = 1000.0;
  }
  EXPECT_FALSE(largest_difference(result));
}

TEST(CompareResult, PicturesAndFileAreWritten)
{
  const TemporaryFolder folder;
  const CompareResult result = sample();
  write_compare_file(result, folder / "compare.h5");
  draw_compared_powers(result, folder / "powers.png");
  draw_power_differences(result, folder / "difference.png");
  draw_difference_parts(result, folder / "parts.png");
  draw_compared_field(result, 1, folder / "field.png");
  draw_field_differences(result, 1, folder / "field_difference.png");
  for (const char* name : {"compare.h5", "powers.png", "difference.png", "parts.png",
                           "field.png", "field_difference.png"}) {
    EXPECT_GT(std::filesystem::file_size(folder / name), 1000U) << name;
  }
}

}  // namespace
}  // namespace torsowave::postproc
