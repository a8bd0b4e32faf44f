/// \file
/// \brief A picture in memory and the few shapes that figures are made of.
///
/// Coordinates are in pixels, x to the right, y down; the pixel (i, j) covers
/// [i, i + 1) x [j, j + 1), so its centre is at (i + 0.5, j + 0.5).

#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "postproc/color_map.hpp"
#include "postproc/font.hpp"

namespace torsowave::postproc {

struct Point {
  double x = 0.0;
  double y = 0.0;
};

struct Box {
  double left = 0.0;
  double top = 0.0;
  double width = 0.0;
  double height = 0.0;
  [[nodiscard]] double right() const noexcept { return left + width; }
  [[nodiscard]] double bottom() const noexcept { return top + height; }
};

/// How much of each pixel a drawing covers. Parts that overlap count once, so that a path
/// of many pieces is as even as one stroke.
class Coverage {
public:
  Coverage(int width, int height);

  /// Adds a stroke with round ends.
  void add_segment(Point from, Point to, double thickness);

  /// Adds a ring; with `thickness` = 2 `radius` a disc.
  void add_ring(Point center, double radius, double thickness);

  [[nodiscard]] int width() const noexcept { return width_; }
  [[nodiscard]] int height() const noexcept { return height_; }
  [[nodiscard]] float at(int x, int y) const noexcept { return values_[index(x, y)]; }

private:
  /// Raises the coverage near `area` to 0.5 - distance(pixel centre), within 0 ... 1.
  template <typename Distance>
  void raise(const Box& area, Distance distance);
  [[nodiscard]] std::size_t index(int x, int y) const noexcept;

  int width_;
  int height_;
  std::vector<float> values_;  ///< (height, width), x fastest
};

enum class Align { start, center, end };
enum class Direction { right, up };

struct TextStyle {
  double size = 20.0;  ///< [px]
  Color color{};
  Align align = Align::start;
  Direction direction = Direction::right;
  std::optional<Color> halo{};  ///< a rim that keeps the text legible over a map
};

/// An RGB picture of 8 bits a channel, white at first. Nothing is drawn outside it.
class Canvas {
public:
  /// \throws std::invalid_argument  A side is not within 1 ... 20000 pixels.
  Canvas(int width, int height);

  [[nodiscard]] int width() const noexcept { return width_; }
  [[nodiscard]] int height() const noexcept { return height_; }

  /// (height, width, 3), channel fastest, first row on top.
  [[nodiscard]] std::span<const std::uint8_t> pixels() const noexcept { return pixels_; }

  [[nodiscard]] Color at(int x, int y) const noexcept;

  /// Mixes `color` in with weight `alpha`, 0 ... 1; no-op outside the picture.
  void blend(int x, int y, Color color, float alpha) noexcept;

  /// Fills a box; its borders need not fall between pixels.
  void fill(const Box& box, Color color, double alpha = 1.0);

  void segment(Point from, Point to, double thickness, Color color);

  /// Lays `color` wherever `coverage` (of the same size) says, inside `clip` if given.
  void paint(const Coverage& coverage, Color color, double alpha = 1.0,
             const std::optional<Box>& clip = std::nullopt);

  /// One line of text; `anchor` is on the baseline at the start, middle or end.
  void text(const Font& font, std::string_view line, Point anchor,
            const TextStyle& style);

private:
  void stamp(const TextImage& image, int x, int y, Direction direction, Color color);

  int width_;
  int height_;
  std::vector<std::uint8_t> pixels_;
};

}  // namespace torsowave::postproc
