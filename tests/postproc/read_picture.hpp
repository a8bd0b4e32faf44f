/// \file
/// \brief Pictures read back, and a folder for them.

#pragma once

#include <gtest/gtest.h>
#include <stb/stb_image.h>
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <string>
#include <vector>

#include "postproc/figure_frame.hpp"
#include "postproc/figure_sample.hpp"

namespace torsowave::postproc {

struct Picture {
  int width = 0;
  int height = 0;
  std::vector<std::uint8_t> pixels;

  [[nodiscard]] Color at(int x, int y) const
  {
    const auto first =
        3 * (static_cast<std::size_t>(y) * static_cast<std::size_t>(width) +
             static_cast<std::size_t>(x));
    return {pixels.at(first), pixels.at(first + 1), pixels.at(first + 2)};
  }
  [[nodiscard]] Color at(Point p) const
  {
    return at(static_cast<int>(p.x), static_cast<int>(p.y));
  }
};

[[nodiscard]] inline Picture read_png(const std::filesystem::path& path)
{
  Picture picture;
  int channels = 0;
  std::uint8_t* data =
      stbi_load(path.c_str(), &picture.width, &picture.height, &channels, 0);
  EXPECT_NE(data, nullptr) << path;
  if (data != nullptr) {
    EXPECT_EQ(channels, 3);
    const std::size_t bytes = 3 * static_cast<std::size_t>(picture.width) *
                              static_cast<std::size_t>(picture.height);
    picture.pixels.assign(data, data + bytes);
    stbi_image_free(data);
  }
  return picture;
}

/// Share of the pixels in a box that are dark.
[[nodiscard]] inline double dark_share(const Picture& picture, const Box& box)
{
  int dark = 0;
  for (int y = static_cast<int>(box.top); y < box.bottom(); ++y) {
    for (int x = static_cast<int>(box.left); x < box.right(); ++x) {
      dark += to_oklab(picture.at(x, y)).lightness < 0.5 ? 1 : 0;
    }
  }
  return dark / (box.width * box.height);
}

class Figures : public ::testing::Test {
protected:
  void SetUp() override
  {
    // TORSOWAVE_FIGURES keeps the pictures there, for a person to look at.
    const char* wanted = std::getenv("TORSOWAVE_FIGURES");
    keep_ = wanted != nullptr;
    const std::string test =
        ::testing::UnitTest::GetInstance()->current_test_info()->name();
    folder_ = keep_
                  ? std::filesystem::path(wanted)
                  : std::filesystem::temp_directory_path() /
                        ("torsowave-figures-" + test + "-" + std::to_string(::getpid()));
    std::filesystem::create_directories(folder_);
  }
  void TearDown() override
  {
    if (!keep_) {
      std::filesystem::remove_all(folder_);
    }
  }

  [[nodiscard]] static const Result& result()
  {
    static const Result made = make_result();
    return made;
  }
  [[nodiscard]] std::filesystem::path path(const char* name) const
  {
    return folder_ / name;
  }

  std::filesystem::path folder_;
  bool keep_ = false;
};

inline constexpr Box title_box{116, 20, 900, 34};
inline constexpr Box subtitle_box{116, 62, 600, 26};

inline void expect_titled(const Picture& picture)
{
  EXPECT_GT(dark_share(picture, title_box), 0.02);
  EXPECT_LT(dark_share(picture, title_box), 0.5);
  EXPECT_GT(dark_share(picture, subtitle_box), 0.02);
}

inline void expect_size(const Picture& picture, const SliceLayout& layout)
{
  EXPECT_EQ(picture.width, layout.page.width);
  EXPECT_EQ(picture.height, layout.page.height);
  EXPECT_EQ(picture.width % 2, 0);
  EXPECT_EQ(picture.height % 2, 0);
}

}  // namespace torsowave::postproc
