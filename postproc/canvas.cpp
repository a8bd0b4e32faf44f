#include "postproc/canvas.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <stdexcept>

namespace torsowave::postproc {
namespace {

/// Pixels first ... last - 1 that a stretch [low, high] touches, within 0 ... count.
struct PixelRange {
  int first = 0;
  int last = 0;
};

[[nodiscard]] PixelRange touched(double low, double high, int count) noexcept
{
  const double limit = count;
  return {static_cast<int>(std::floor(std::clamp(low, 0.0, limit))),
          static_cast<int>(std::ceil(std::clamp(high, 0.0, limit)))};
}

/// Share of the pixel [i, i + 1) inside [low, high].
[[nodiscard]] double overlap(int i, double low, double high) noexcept
{
  return std::clamp(std::min(high, i + 1.0) - std::max(low, static_cast<double>(i)), 0.0,
                    1.0);
}

[[nodiscard]] double distance_to_segment(Point p, Point from, Point to) noexcept
{
  const double dx = to.x - from.x;
  const double dy = to.y - from.y;
  const double length2 = dx * dx + dy * dy;
  const double along = (p.x - from.x) * dx + (p.y - from.y) * dy;
  const double t = length2 > 0.0 ? std::clamp(along / length2, 0.0, 1.0) : 0.0;
  return std::hypot(p.x - from.x - t * dx, p.y - from.y - t * dy);
}

[[nodiscard]] Box around(Point from, Point to, double margin) noexcept
{
  const double left = std::min(from.x, to.x) - margin;
  const double top = std::min(from.y, to.y) - margin;
  return {left, top, std::max(from.x, to.x) + margin - left,
          std::max(from.y, to.y) + margin - top};
}

/// Coverage of a pixel whose centre is `outside` pixels beyond the shape's rim.
[[nodiscard]] double coverage_at(double outside) noexcept
{
  return std::clamp(0.5 - outside, 0.0, 1.0);
}

}  // namespace

Coverage::Coverage(int width, int height)
    : width_(width),
      height_(height),
      values_(static_cast<std::size_t>(width) * static_cast<std::size_t>(height))
{
}

Coverage::Coverage(const Canvas& canvas) : Coverage(canvas.width(), canvas.height())
{
  scale_ = canvas.scale();
}

std::size_t Coverage::index(int x, int y) const noexcept
{
  return static_cast<std::size_t>(y) * static_cast<std::size_t>(width_) +
         static_cast<std::size_t>(x);
}

template <typename Distance>
void Coverage::raise(const Box& area, Distance distance)
{
  const PixelRange columns = touched(area.left, area.right(), width_);
  const PixelRange rows = touched(area.top, area.bottom(), height_);
  for (int y = rows.first; y < rows.last; ++y) {
    for (int x = columns.first; x < columns.last; ++x) {
      float& value = values_[index(x, y)];
      value = std::max(
          value, static_cast<float>(coverage_at(distance(Point{x + 0.5, y + 0.5}))));
    }
  }
}

void Coverage::add_segment(Point from, Point to, double thickness)
{
  const Point a = scale_.of(from);
  const Point b = scale_.of(to);
  const double half = 0.5 * scale_.factor * thickness;
  raise(around(a, b, half + 1.0),
        [&](Point p) { return distance_to_segment(p, a, b) - half; });
}

void Coverage::add_ring(Point center, double radius, double thickness)
{
  const Point middle = scale_.of(center);
  const double wide = scale_.factor * radius;
  const double half = 0.5 * scale_.factor * thickness;
  raise(around(middle, middle, wide + half + 1.0), [&](Point p) {
    return std::abs(std::hypot(p.x - middle.x, p.y - middle.y) - wide) - half;
  });
}

Canvas::Canvas(int width, int height)
    : Drawing({0.0, 0.0, static_cast<double>(width), static_cast<double>(height)},
              light_theme),
      width_(width),
      height_(height)
{
  clear();
}

Canvas::Canvas(const Box& page, const Box& core, const Look& look)
    : Drawing(page, look.theme), dots_per_inch_(look.dots_per_inch)
{
  const Box& shown = look.core_only ? core : page;
  const double wanted = look.width > 0 ? static_cast<double>(look.width) : shown.width;
  const auto even = [](double length) {
    return 2 * std::max(1, static_cast<int>(std::floor(0.5 * length + 1e-6)));
  };
  scale_ = {{shown.left, shown.top}, wanted / shown.width};
  width_ = even(std::min(wanted, 1e6));
  height_ = even(std::min(scale_.factor * shown.height, 1e6));
  clear();
}

void Canvas::clear()
{
  constexpr int limit = 20000;
  if (width_ < 1 || height_ < 1 || width_ > limit || height_ > limit) {
    throw std::invalid_argument(
        fmt::format("a picture must have sides of 1 to {} pixels, got {} x {}", limit,
                    width_, height_));
  }
  const Color paper = theme().paper;
  pixels_.resize(3 * static_cast<std::size_t>(width_) *
                 static_cast<std::size_t>(height_));
  for (std::size_t first = 0; first < pixels_.size(); first += 3) {
    pixels_[first] = paper.red;
    pixels_[first + 1] = paper.green;
    pixels_[first + 2] = paper.blue;
  }
}

Color Canvas::at(int x, int y) const noexcept
{
  const std::size_t first =
      3 * (static_cast<std::size_t>(y) * static_cast<std::size_t>(width_) +
           static_cast<std::size_t>(x));
  return {pixels_[first], pixels_[first + 1], pixels_[first + 2]};
}

void Canvas::blend(int x, int y, Color color, float alpha) noexcept
{
  if (x < 0 || y < 0 || x >= width_ || y >= height_) {
    return;
  }
  const std::array<std::uint8_t, 3> channels = {color.red, color.green, color.blue};
  std::uint8_t* const pixel =
      &pixels_[3 * (static_cast<std::size_t>(y) * static_cast<std::size_t>(width_) +
                    static_cast<std::size_t>(x))];
  if (alpha == 1.0F) {
    std::ranges::copy(channels, pixel);
    return;
  }
  for (std::size_t c = 0; c < 3; ++c) {
    const auto below = static_cast<float>(pixel[c]);
    const float mixed = below + alpha * (static_cast<float>(channels[c]) - below);
    pixel[c] = static_cast<std::uint8_t>(std::lround(std::clamp(mixed, 0.0F, 255.0F)));
  }
}

void Canvas::draw_box(const Box& page_box, Color color, double alpha)
{
  const Box box = scale_.of(page_box);
  const PixelRange columns = touched(box.left, box.right(), width_);
  const PixelRange rows = touched(box.top, box.bottom(), height_);
  for (int y = rows.first; y < rows.last; ++y) {
    const double share = alpha * overlap(y, box.top, box.bottom());
    for (int x = columns.first; x < columns.last; ++x) {
      blend(x, y, color, static_cast<float>(share * overlap(x, box.left, box.right())));
    }
  }
}

void Canvas::draw_segment(Point page_from, Point page_to, double thickness, Color color)
{
  const Point from = scale_.of(page_from);
  const Point to = scale_.of(page_to);
  const double half = 0.5 * scale_.factor * thickness;
  const Box area = around(from, to, half + 1.0);
  const PixelRange columns = touched(area.left, area.right(), width_);
  const PixelRange rows = touched(area.top, area.bottom(), height_);
  for (int y = rows.first; y < rows.last; ++y) {
    for (int x = columns.first; x < columns.last; ++x) {
      const double outside = distance_to_segment({x + 0.5, y + 0.5}, from, to) - half;
      blend(x, y, color, static_cast<float>(coverage_at(outside)));
    }
  }
}

void Canvas::draw_stroke(const Stroke& stroke)
{
  Coverage coverage(*this);
  for (const auto& [from, to] : pieces_of(stroke)) {
    coverage.add_segment(from, to, stroke.thickness);
  }
  paint(coverage, stroke.color, 1.0, stroke.clip);
}

void Canvas::draw_dots(const Dots& dots)
{
  Coverage coverage(*this);
  for (const Point& center : dots.centers) {
    coverage.add_ring(center, 0.0, 2.0 * dots.radius);
  }
  paint(coverage, dots.color, 1.0, dots.clip);
}

void Canvas::paint(const Coverage& coverage, Color color, double alpha,
                   const std::optional<Box>& clip)
{
  const Box area =
      clip ? scale_.of(*clip)
           : Box{0.0, 0.0, static_cast<double>(width_), static_cast<double>(height_)};
  const PixelRange columns =
      touched(area.left, area.right(), std::min(width_, coverage.width()));
  const PixelRange rows =
      touched(area.top, area.bottom(), std::min(height_, coverage.height()));
  for (int y = rows.first; y < rows.last; ++y) {
    for (int x = columns.first; x < columns.last; ++x) {
      if (const float share = coverage.at(x, y); share > 0.0F) {
        blend(x, y, color, static_cast<float>(alpha) * share);
      }
    }
  }
}

void Canvas::stamp(const TextImage& image, int x, int y, Direction direction, Color color)
{
  std::size_t next = 0;
  for (int row = 0; row < image.height; ++row) {
    for (int column = 0; column < image.width; ++column) {
      const std::uint8_t covered = image.coverage[next++];
      if (covered == 0) {
        continue;
      }
      const int along = column - image.left;
      const int down = row - image.baseline;
      const bool level = direction == Direction::right;
      blend(level ? x + along : x + down, level ? y + down : y - along, color,
            static_cast<float>(covered) / 255.0F);
    }
  }
}

void Canvas::paste(const Canvas& picture, int x, int y)
{
  for (int row = 0; row < picture.height(); ++row) {
    for (int column = 0; column < picture.width(); ++column) {
      blend(x + column, y + row, picture.at(column, row), 1.0F);
    }
  }
}

void Canvas::draw_text(const Font& font, std::string_view line, Point page_anchor,
                       const TextStyle& style)
{
  const Point anchor = scale_.of(page_anchor);
  const TextImage image = font.render(line, scale_.factor * style.size);
  const double share = style.align == Align::start    ? 0.0
                       : style.align == Align::center ? 0.5
                                                      : 1.0;
  const double back = share * image.advance;
  const bool level = style.direction == Direction::right;
  const int x = static_cast<int>(std::lround(level ? anchor.x - back : anchor.x));
  const int y = static_cast<int>(std::lround(level ? anchor.y : anchor.y + back));
  if (style.halo) {
    const int rim = static_cast<int>(std::lround(std::ceil(2.0 * scale_.factor - 0.5)));
    for (int dy = -rim; dy <= rim; ++dy) {
      for (int dx = -rim; dx <= rim; ++dx) {
        stamp(image, x + dx, y + dy, style.direction, *style.halo);
      }
    }
  }
  stamp(image, x, y, style.direction, style.color);
}

}  // namespace torsowave::postproc
