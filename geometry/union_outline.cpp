#include "geometry/union_outline.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>

namespace torsowave::geometry {
namespace {

constexpr double curve_tolerance = 2.5e-7;  // of the union's size
constexpr double probe_offset = 2e-6;  // of the union's size; several curve tolerances
constexpr double longest_piece = 1.0 / 64;  // of the union's size

double size_of(std::span<const Region* const> regions)
{
  Rectangle box = regions.front()->bounds();
  for (const Region* region : regions) {
    const Rectangle& one = region->bounds();
    box.min = {std::min(box.min.x, one.min.x), std::min(box.min.y, one.min.y)};
    box.max = {std::max(box.max.x, one.max.x), std::max(box.max.y, one.max.y)};
  }
  return 0.5 * std::hypot(box.max.x - box.min.x, box.max.y - box.min.y);
}

bool may_touch(const Region& region, const Segment& s) noexcept
{
  const Rectangle& box = region.bounds();
  return std::min(s.a.x, s.b.x) <= box.max.x && std::max(s.a.x, s.b.x) >= box.min.x &&
         std::min(s.a.y, s.b.y) <= box.max.y && std::max(s.a.y, s.b.y) >= box.min.y;
}

bool in_union(std::span<const Region* const> regions, Point p) noexcept
{
  return std::ranges::any_of(regions, [p](const Region* r) { return r->contains(p); });
}

/// A piece is hidden if the union lies on both of its sides.
bool is_hidden(std::span<const Region* const> regions, const Segment& piece,
               double offset) noexcept
{
  const double dx = piece.b.x - piece.a.x;
  const double dy = piece.b.y - piece.a.y;
  const double length = std::hypot(dx, dy);
  if (length == 0.0) {
    return true;
  }
  const Point middle{0.5 * (piece.a.x + piece.b.x), 0.5 * (piece.a.y + piece.b.y)};
  const double ox = dy / length * offset;
  const double oy = -dx / length * offset;
  return in_union(regions, {middle.x + ox, middle.y + oy}) &&
         in_union(regions, {middle.x - ox, middle.y - oy});
}

Point along(const Segment& s, double t) noexcept
{
  return {s.a.x + t * (s.b.x - s.a.x), s.a.y + t * (s.b.y - s.a.y)};
}

}  // namespace

std::vector<Segment> union_outline(std::span<const Region* const> regions)
{
  std::vector<Segment> outline;
  if (regions.empty()) {
    return outline;
  }
  const double size = size_of(regions);
  std::vector<double> cuts;
  for (const Region* own : regions) {
    for (const Segment& s : own->polyline(curve_tolerance * size, longest_piece * size)) {
      cuts.assign({0.0, 1.0});
      for (const Region* other : regions) {
        if (other != own && may_touch(*other, s)) {
          other->crossings(s, cuts);
        }
      }
      std::ranges::sort(cuts);
      for (std::size_t k = 1; k < cuts.size(); ++k) {
        const Segment piece{along(s, cuts[k - 1]), along(s, cuts[k])};
        if (!is_hidden(regions, piece, probe_offset * size)) {
          outline.push_back(piece);
        }
      }
    }
  }
  return outline;
}

}  // namespace torsowave::geometry
