/// \file
/// \brief What figures of lines and text are drawn on: pixels, SVG or PDF.
///
/// Coordinates are those of the page that a figure is laid out on, x to the right, y
/// down.

#pragma once

#include <array>
#include <optional>
#include <string_view>
#include <vector>

#include "postproc/color_map.hpp"
#include "postproc/font.hpp"
#include "postproc/look.hpp"

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

enum class Align { start, center, end };
enum class Direction { right, up };

struct TextStyle {
  double size = 20.0;  ///< from ascender to descender
  Color color{};
  Align align = Align::start;
  Direction direction = Direction::right;
  std::optional<Color> halo{};  ///< a rim that keeps the text legible over a map
};

/// Lines of one colour, with round ends. Where they overlap they count once.
struct Stroke {
  std::vector<std::vector<Point>> lines;
  double thickness = 1.0;
  Color color{};
  std::optional<std::array<double, 2>> dash;  ///< length, gap; goes on around corners
  std::optional<Box> clip;
};

/// The stroke cut at its clip, some way beyond it, and into its dashes: pieces from point
/// to point. \see Y.-D. Liang, B. A. Barsky, ACM Trans. Graphics 3 (1984) 1-22 (from
/// memory).
[[nodiscard]] std::vector<std::array<Point, 2>> pieces_of(const Stroke& stroke);

/// Discs of one size and colour.
struct Dots {
  std::vector<Point> centers;
  double radius = 3.0;
  Color color{};
  std::optional<Box> clip;
};

class Drawing {
public:
  virtual ~Drawing() = default;

  [[nodiscard]] const Theme& theme() const noexcept { return theme_; }

  /// The page: (0, 0) and its size.
  [[nodiscard]] const Box& page() const noexcept { return page_; }

  /// Fills a box. \param alpha  opacity, 0 ... 1
  void fill(const Box& box, Color color, double alpha = 1.0)
  {
    draw_box(box, color, alpha);
  }

  void segment(Point from, Point to, double thickness, Color color)
  {
    draw_segment(from, to, thickness, color);
  }

  void stroke(const Stroke& stroke) { draw_stroke(stroke); }

  void dots(const Dots& dots) { draw_dots(dots); }

  /// One line of text; `anchor` is on the baseline at the start, middle or end.
  void text(const Font& font, std::string_view line, Point anchor, const TextStyle& style)
  {
    draw_text(font, line, anchor, style);
  }

protected:
  Drawing(const Box& page, const Theme& theme) : page_(page), theme_(theme) {}
  Drawing(const Drawing&) = default;
  Drawing(Drawing&&) = default;
  Drawing& operator=(const Drawing&) = default;
  Drawing& operator=(Drawing&&) = default;

private:
  virtual void draw_box(const Box& box, Color color, double alpha) = 0;
  virtual void draw_segment(Point from, Point to, double thickness, Color color) = 0;
  virtual void draw_stroke(const Stroke& stroke) = 0;
  virtual void draw_dots(const Dots& dots) = 0;
  virtual void draw_text(const Font& font, std::string_view line, Point anchor,
                         const TextStyle& style) = 0;

  Box page_;
  Theme theme_;
};

}  // namespace torsowave::postproc
