#include "geometry/paint_stack.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>
#include <stdexcept>

#include "geometry/union_outline.hpp"

namespace torsowave::geometry {
namespace {

std::shared_ptr<const SegmentGrid> outline_below(const std::vector<Coat>& coats)
{
  if (!coats.back().region) {
    return coats.back().outline;  // a shell does not change the outline
  }
  std::vector<const Region*> regions;
  for (const Coat& coat : coats) {
    if (coat.region) {
      regions.push_back(&*coat.region);
    }
  }
  return std::make_shared<const SegmentGrid>(union_outline(regions));
}

}  // namespace

PaintStack::PaintStack(const std::string& background, const std::vector<Shape>& shapes,
                       const std::vector<Shape>& capsules)
    : tissues_{background}
{
  coats_.reserve(shapes.size() + capsules.size());
  for (std::size_t n = 0; n < shapes.size(); ++n) {
    add(shapes[n], fmt::format("shape {} ({})", n + 1, shapes[n].tissue));
  }
  for (std::size_t n = 0; n < capsules.size(); ++n) {
    const std::string name = fmt::format("capsule {} ({})", n + 1, capsules[n].tissue);
    if (std::holds_alternative<Shell>(capsules[n].outline)) {
      throw std::invalid_argument(name + ": a capsule can't be a shell");
    }
    add(capsules[n], name);
  }
}

std::uint16_t PaintStack::intern(const std::string& tissue)
{
  const auto found = std::ranges::find(tissues_, tissue);
  if (found == tissues_.end()) {
    if (tissues_.size() >= std::numeric_limits<std::uint16_t>::max()) {
      throw std::invalid_argument("a slice can't hold more than 65535 tissues");
    }
    tissues_.push_back(tissue);
    return static_cast<std::uint16_t>(tissues_.size() - 1);
  }
  return static_cast<std::uint16_t>(found - tissues_.begin());
}

void PaintStack::add(const Shape& shape, const std::string& name)
{
  if (const auto* map = std::get_if<LabelMap>(&shape.outline)) {
    add_map(*map, name);
    return;
  }
  Coat coat;
  if (const auto* shell = std::get_if<Shell>(&shape.outline)) {
    add_shell(*shell, name, coat);
  } else {
    coat.region.emplace(shape.outline, name);
  }
  coat.tissue = intern(shape.tissue);
  coats_.push_back(std::move(coat));
}

void PaintStack::add_map(const LabelMap& map, const std::string& name)
{
  if (map_ || !coats_.empty()) {
    throw std::invalid_argument(name + ": a label map must be the first shape");
  }
  require_sound(*map.grid);
  map_ = map.grid;
  for (const std::string& tissue : map_->tissues) {
    map_tissues_.push_back(intern(tissue));
  }
}

void PaintStack::add_shell(const Shell& shell, const std::string& name, Coat& coat) const
{
  if (map_) {
    throw std::invalid_argument(name + ": a shell can't follow the pixels of a map");
  }
  if (coats_.empty()) {
    throw std::invalid_argument(
        name +
        ": a shell follows the outline of the shapes before it, and there is none");
  }
  if (!std::isfinite(shell.thickness) || shell.thickness <= 0.0) {
    throw std::invalid_argument(fmt::format(
        "{}: thickness must be finite and > 0 [m], got {}", name, shell.thickness));
  }
  coat.thickness = shell.thickness;
  coat.outline = outline_below(coats_);
}

std::uint16_t PaintStack::under(Point p) const noexcept
{
  const std::ptrdiff_t pixel = map_ ? pixel_at(*map_, p) : -1;
  return pixel < 0 ? std::uint16_t{0}
                   : map_tissues_[map_->pixels[static_cast<std::size_t>(pixel)]];
}

std::uint16_t PaintStack::tissue_at(Point p) const noexcept
{
  for (std::size_t n = coats_.size(); n-- > 0;) {
    const Coat& coat = coats_[n];
    if (side_of(coat, p) == Side::out) {
      continue;
    }
    const bool covered =
        coat.region ||
        std::any_of(
            coats_.begin(), coats_.begin() + static_cast<std::ptrdiff_t>(n),
            [p](const Coat& below) { return below.region && below.region->contains(p); });
    if (covered) {
      return coat.tissue;
    }
  }
  return under(p);
}

Side PaintStack::side_of(const Coat& coat, Point p) const noexcept
{
  const bool in =
      coat.region ? coat.region->contains(p)
                  : coat.outline->nearest(p, coat.thickness).distance <= coat.thickness;
  return in ? Side::in : Side::out;
}

std::uint16_t PaintStack::top(std::span<const Side> sides) const noexcept
{
  for (std::size_t n = coats_.size(); n-- > 0;) {
    if (sides[n] != Side::in) {
      continue;
    }
    if (coats_[n].region) {
      return coats_[n].tissue;
    }
    for (std::size_t below = 0; below < n; ++below) {
      if (coats_[below].region && sides[below] == Side::in) {
        return coats_[n].tissue;
      }
    }
  }
  return map_ ? bare : std::uint16_t{0};
}

}  // namespace torsowave::geometry
