// Which moments the frames of a film show, and names of pictures.

#include "app/film.hpp"

#include <gtest/gtest.h>

#include "app/pictures.hpp"
#include "scenarios/input_error.hpp"

namespace torsowave::app {
namespace {

/// 0, 0.1, ... 1 ns
const std::vector<double> stored{0.0,   1e-10, 2e-10, 3e-10, 4e-10, 5e-10,
                                 6e-10, 7e-10, 8e-10, 9e-10, 1e-9};

TEST(Film, ShowsEachStoredMomentOnceIfNobodySays)
{
  const std::vector<double> moments = film_moments({}, stored);
  ASSERT_EQ(moments.size(), stored.size());
  for (std::size_t n = 0; n < stored.size(); ++n) {
    EXPECT_NEAR(moments[n], stored[n], 1e-18);
  }
}

TEST(Film, LengthAndRateGiveTheNumberOfFrames)
{
  FilmOrder order;
  order.length = 2.0;
  order.frames_per_second = 10.5;
  order.from = 2e-10;
  order.to = 5.5e-10;
  const std::vector<double> moments = film_moments(order, stored);
  ASSERT_EQ(moments.size(), 21U);
  EXPECT_NEAR(moments.front(), 2e-10, 1e-18);
  EXPECT_NEAR(moments[10], 3.75e-10, 1e-18);
  EXPECT_NEAR(moments.back(), 5.5e-10, 1e-18);
}

/// 0.2 ns of 1 ns four times slower: 0.3 + 4 x 0.2 + 0.5 = 1.6 ns of film time.
TEST(Film, SlowMotionStretchesItsPartAlone)
{
  FilmOrder order;
  order.slow = SlowMotion{3e-10, 5e-10, 4.0};
  order.frames_per_second = 1.0;
  order.length = 17.0;  // a frame for each 0.1 ns of film time
  const std::vector<double> moments = film_moments(order, stored);
  ASSERT_EQ(moments.size(), 17U);
  const std::vector<double> wanted{0.0,      1e-10, 2e-10,    3e-10,   3.25e-10, 3.5e-10,
                                   3.75e-10, 4e-10, 4.25e-10, 4.5e-10, 4.75e-10, 5e-10,
                                   6e-10,    7e-10, 8e-10,    9e-10,   1e-9};
  for (std::size_t n = 0; n < wanted.size(); ++n) {
    EXPECT_NEAR(moments[n], wanted[n], 1e-18) << n;
  }
  order.length.reset();  // as dense as the moments are stored
  EXPECT_EQ(film_moments(order, stored).size(), 17U);
}

TEST(Film, RefusesWhatIsNotStoredAndWhatIsEndless)
{
  FilmOrder order;
  order.from = 2e-9;
  EXPECT_THROW(static_cast<void>(film_moments(order, stored)), scenarios::InputError);
  order = {};
  order.length = 1e6;
  EXPECT_THROW(static_cast<void>(film_moments(order, stored)), scenarios::InputError);
}

TEST(Pictures, AreKnownByTheirNames)
{
  for (const char* name :
       {"tissue.png", "Ez_915MHz.png", "Hx_403.5MHz.png", "Ez_phase_1e+06MHz.png",
        "Ez.svg", "sar_2450MHz.png", "snapshot_12.png", "surface_power.svg",
        "far_field.png", "surface_ring_915MHz.png", "power_flow_915MHz.png",
        "spacetime_along_x.png", "sar_along_y.svg", "animation.webp"}) {
    EXPECT_TRUE(is_picture_name(name)) << name;
  }
  for (const char* name :
       {"result.h5", "my.png", "tissue.jpg", "Ez_915MHz.png.bak", "holiday_2024.png",
        "animation.png", "Eq.png", "MHz.png", ".png"}) {
    EXPECT_FALSE(is_picture_name(name)) << name;
  }
}

/// A body between the centres of cells has a surface, but no place in the picture.
TEST(Pictures, RingNeedsABodyThatLabelsShow)
{
  postproc::Result result;
  result.mode = "TMz";
  result.frequencies.resize(1);
  result.frequencies[0].sector_power = {1.0, 2.0};
  result.labels = {0, 0, 1, 0};
  EXPECT_EQ(obstacle(result, {}, "surface_ring", {}), "");
  result.labels[2] = 0;
  EXPECT_NE(obstacle(result, {}, "surface_ring", {}).find("smaller cells"),
            std::string::npos);
  EXPECT_EQ(obstacle(result, {}, "surface", {}), "");
  PictureOrder order;
  order.quantities = {"surface_ring"};
  order.frequencies = {0};
  EXPECT_TRUE(picture_names(order, result, {}).empty());
}

}  // namespace
}  // namespace torsowave::app
