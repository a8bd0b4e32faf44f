#include "postproc/drawing.hpp"

#include <algorithm>
#include <cmath>

namespace torsowave::postproc {
namespace {

using Piece = std::array<Point, 2>;

/// The part of a segment inside the clip and a little beyond; empty where there is none.
[[nodiscard]] std::optional<Piece> clipped(Point from, Point to,
                                           const std::optional<Box>& clip)
{
  if (!clip) {
    return Piece{from, to};
  }
  constexpr double air = 20.0;
  double first = 0.0;
  double last = 1.0;
  const auto cut = [&](double start, double step, double low, double high) {
    if (step == 0.0) {
      return start >= low && start <= high;
    }
    const double a = (low - start) / step;
    const double b = (high - start) / step;
    first = std::max(first, std::min(a, b));
    last = std::min(last, std::max(a, b));
    return first <= last;
  };
  const Point step{to.x - from.x, to.y - from.y};
  if (!cut(from.x, step.x, clip->left - air, clip->right() + air) ||
      !cut(from.y, step.y, clip->top - air, clip->bottom() + air)) {
    return std::nullopt;
  }
  const auto at = [&](double share) {
    return Point{from.x + share * step.x, from.y + share * step.y};
  };
  return Piece{at(first), at(last)};
}

/// A pen that lifts itself in dashes, which go on from one segment to the next.
class Pen {
public:
  Pen(const Stroke& stroke, std::vector<Piece>& pieces) : stroke_(stroke), pieces_(pieces)
  {
  }

  void lift() { travelled_ = 0.0; }

  void draw(Point from, Point to)
  {
    const auto part = clipped(from, to, stroke_.clip);
    if (!part) {
      return;
    }
    if (!stroke_.dash) {
      pieces_.push_back(*part);
      return;
    }
    const auto [start, end] = *part;
    const auto [dash, gap] = *stroke_.dash;
    const double length = std::hypot(end.x - start.x, end.y - start.y);
    double done = 0.0;
    while (done < length) {
      const double phase = std::fmod(travelled_, dash + gap);
      const double rest = phase < dash ? dash - phase : dash + gap - phase;
      const double next = std::min(length, done + std::max(rest, 0.01));
      if (phase < dash) {
        pieces_.push_back(
            {along(start, end, done / length), along(start, end, next / length)});
      }
      travelled_ += next - done;
      done = next;
    }
  }

private:
  [[nodiscard]] static Point along(Point from, Point to, double share)
  {
    return {from.x + share * (to.x - from.x), from.y + share * (to.y - from.y)};
  }

  const Stroke& stroke_;
  std::vector<Piece>& pieces_;
  double travelled_ = 0.0;
};

}  // namespace

Color Theme::line(Color chosen) const noexcept
{
  constexpr double least_on_dark = 0.65;
  constexpr double nearly_black = 0.3;
  OkLab lab = to_oklab(chosen);
  if (!dark || lab.lightness >= least_on_dark) {
    return chosen;
  }
  lab.lightness = lab.lightness < nearly_black ? 1.0 - lab.lightness : least_on_dark;
  return to_color(lab);
}

Color Theme::tint(Color chosen) const noexcept
{
  if (!dark) {
    return chosen;
  }
  // White becomes the page's own lightness, deeper tints lighter ones.
  OkLab lab = to_oklab(chosen);
  lab.lightness = to_oklab(paper).lightness + 1.4 * (1.0 - lab.lightness);
  return to_color(lab);
}

std::vector<std::array<Point, 2>> pieces_of(const Stroke& stroke)
{
  std::vector<Piece> pieces;
  Pen pen(stroke, pieces);
  for (const std::vector<Point>& line : stroke.lines) {
    pen.lift();
    for (std::size_t n = 1; n < line.size(); ++n) {
      pen.draw(line[n - 1], line[n]);
    }
  }
  return pieces;
}

}  // namespace torsowave::postproc
