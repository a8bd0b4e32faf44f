/// \file
/// \brief A picture in memory and the few shapes that figures are made of.
///
/// Coordinates are those of the page (\see drawing.hpp). Where the page is drawn as it
/// is, the pixel (i, j) covers [i, i + 1) x [j, j + 1) of it: its centre is at (i + 0.5,
/// j + 0.5).

#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "postproc/drawing.hpp"

namespace torsowave::postproc {

/// From the page to pixels: a part of the page, enlarged or reduced.
struct PixelScale {
  Point origin;         ///< of the page, at the picture's upper left corner
  double factor = 1.0;  ///< pixels in a unit of the page

  [[nodiscard]] Point of(Point p) const noexcept
  {
    return {factor * (p.x - origin.x), factor * (p.y - origin.y)};
  }
  [[nodiscard]] Box of(const Box& box) const noexcept
  {
    const Point corner = of(Point{box.left, box.top});
    return {corner.x, corner.y, factor * box.width, factor * box.height};
  }
};

class Canvas;

/// How much of each pixel a drawing covers. Parts that overlap count once, so that a path
/// of many pieces is as even as one stroke.
class Coverage {
public:
  /// Of a picture whose page is its pixels.
  Coverage(int width, int height);

  /// Of a picture, on its page.
  explicit Coverage(const Canvas& canvas);

  /// Adds a stroke with round ends.
  void add_segment(Point from, Point to, double thickness);

  /// Adds a ring about a circle of `radius`; with `radius` = 0 a disc of diameter
  /// `thickness`.
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
  PixelScale scale_;
  std::vector<float> values_;  ///< (height, width), x fastest
};

/// An RGB picture of 8 bits a channel, of the page's colour at first. Nothing is drawn
/// outside it.
class Canvas final : public Drawing {
public:
  /// A white picture whose page is its pixels.
  /// \throws std::invalid_argument  A side is not within 1 ... 20000 pixels.
  Canvas(int width, int height);

  /// A picture of a page, or of its core alone, in the size that is asked for. Both sides
  /// are even numbers of pixels.
  /// \throws std::invalid_argument  \see above
  Canvas(const Box& page, const Box& core, const Look& look);

  [[nodiscard]] int width() const noexcept { return width_; }
  [[nodiscard]] int height() const noexcept { return height_; }
  [[nodiscard]] const PixelScale& scale() const noexcept { return scale_; }

  /// For the file; 0: not known.
  [[nodiscard]] double dots_per_inch() const noexcept { return dots_per_inch_; }

  /// (height, width, 3), channel fastest, first row on top.
  [[nodiscard]] std::span<const std::uint8_t> pixels() const noexcept { return pixels_; }

  /// \param x  column [px] \param y  row [px]
  [[nodiscard]] Color at(int x, int y) const noexcept;

  /// Mixes `color` in with weight `alpha`, 0 ... 1; no-op outside the picture.
  void blend(int x, int y, Color color, float alpha) noexcept;

  /// Lays `coverage` (of the same size) in a colour, inside `clip`, a box of the page, if
  /// given.
  void paint(const Coverage& coverage, Color color, double alpha = 1.0,
             const std::optional<Box>& clip = std::nullopt);

  /// Copies a picture in; `x`, `y` is where its upper left corner goes [px].
  void paste(const Canvas& picture, int x, int y);

private:
  void draw_box(const Box& box, Color color, double alpha) override;
  void draw_segment(Point from, Point to, double thickness, Color color) override;
  void draw_stroke(const Stroke& stroke) override;
  void draw_dots(const Dots& dots) override;
  void draw_text(const Font& font, std::string_view line, Point anchor,
                 const TextStyle& style) override;
  void clear();
  void stamp(const TextImage& image, int x, int y, Direction direction, Color color);

  int width_;
  int height_;
  PixelScale scale_;
  double dots_per_inch_ = 0.0;
  std::vector<std::uint8_t> pixels_;
};

}  // namespace torsowave::postproc
