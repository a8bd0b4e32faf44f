#include "geometry/block_painter.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>
#include <numbers>

namespace torsowave::geometry {
namespace {

constexpr int cell_size = 64;          // edge of a cell in block units
constexpr double straightness = 2e-4;  // deviation from a line [cells]
constexpr std::size_t most_lines = 4;  // in a block that could still be halved

/// Area of a block in the units of PixelCutter::Box.
[[nodiscard]] std::uint64_t weight_of(int size)
{
  constexpr int per_unit = PixelCutter::per_cell / cell_size;
  const auto edge = static_cast<std::uint64_t>(size) * per_unit;
  return edge * edge;
}

}  // namespace

BlockPainter::BlockPainter(const PaintStack& stack, const Raster& raster,
                           Averaging averaging)
    : stack_(stack),
      raster_(raster),
      averaging_(averaging),
      sides_(stack.coats().size(), Side::cut),
      lines_(stack.coats().size()),
      weights_(stack.tissues().size(), 0),
      nearby_(stack.coats().size())
{
  if (stack.map() != nullptr) {
    pixels_.emplace(*stack.map(), stack.map_tissues(), raster);
  }
}

void BlockPainter::paint(int band, TissueMap& map, std::vector<CutCell>& cut_cells)
{
  map_ = &map;
  cut_cells_ = &cut_cells;
  cut_.resize(stack_.coats().size());
  for (std::size_t n = 0; n < cut_.size(); ++n) {
    cut_[n] = n;
  }
  const int edge = band_height * cell_size;
  for (int i = 0; i < raster_.nx; i += band_height) {
    visit({i * cell_size, band * edge, edge}, {0, stack_.coats().size()});
  }
}

Point BlockPainter::center_of(const Block& block) const noexcept
{
  const double half = 0.5 * block.size;
  return {raster_.x_of((block.i + half) / cell_size),
          raster_.y_of((block.j + half) / cell_size)};
}

/// Half of the diagonal, with a margin for rounding.
double BlockPainter::radius_of(const Block& block) const noexcept
{
  return (0.5 * std::numbers::sqrt2 * (1.0 + 1e-9)) * block.size / cell_size *
         raster_.cell;
}

void BlockPainter::visit(const Block& block, Range cut)
{
  if (block.i >= raster_.nx * cell_size || block.j >= raster_.ny * cell_size) {
    return;
  }
  const Range still = narrow(block, cut);
  if (in_cell_) {
    visit_part(block, still);
  } else if (still.empty()) {
    fill_cells(block);
  } else if (block.size > cell_size) {
    halve(block, still);
  } else {
    visit_cell(block, still);
  }
  for (std::size_t n = cut.first; n < cut.last; ++n) {
    sides_[cut_[n]] = Side::cut;
  }
  cut_.resize(still.first);
}

void BlockPainter::halve(const Block& block, Range cut)
{
  const int half = block.size / 2;
  for (int n = 0; n < 4; ++n) {
    visit({block.i + (n % 2) * half, block.j + (n / 2) * half, half}, cut);
  }
}

void BlockPainter::fill_cells(const Block& block)
{
  const std::uint16_t tissue = stack_.top(sides_);
  const bool bare = tissue == PaintStack::bare;
  const int last_i = std::min((block.i + block.size) / cell_size, raster_.nx);
  const int last_j = std::min((block.j + block.size) / cell_size, raster_.ny);
  for (int j = block.j / cell_size; j < last_j; ++j) {
    for (int i = block.i / cell_size; i < last_i; ++i) {
      if (bare) {
        fill_from_pixels(i, j);
        continue;
      }
      map_->labels[raster_.at(i, j)] = tissue;
      map_->cells[raster_.at(i, j)] = tissue;
    }
  }
}

void BlockPainter::fill_from_pixels(int i, int j)
{
  const std::size_t index = raster_.at(i, j);
  map_->labels[index] = stack_.under({raster_.x(i), raster_.y(j)});
  map_->cells[index] = map_->labels[index];
  if (averaging_ == Averaging::none || stack_.map()->resampling == Resampling::nearest) {
    return;
  }
  const PixelCutter::Box box = pixels_->box(i * cell_size, j * cell_size, cell_size);
  if (const auto tissue = pixels_->only_tissue(box)) {
    map_->cells[index] = *tissue;
    return;
  }
  std::ranges::fill(weights_, 0);
  pixels_->add(box, weights_);
  cut_cells_->push_back({index, quantise(weights_)});
}

std::uint16_t BlockPainter::showing(Point center) const noexcept
{
  const std::uint16_t tissue = stack_.top(sides_);
  return tissue == PaintStack::bare ? stack_.under(center) : tissue;
}

void BlockPainter::visit_cell(const Block& block, Range cut)
{
  const Point center = center_of(block);
  const double radius = radius_of(block);
  for (std::size_t n = cut.first; n < cut.last; ++n) {
    const std::size_t coat = cut_[n];
    sides_[coat] = stack_.side_of(stack_.coats()[coat], center);
  }
  const std::size_t index = raster_.at(block.i / cell_size, block.j / cell_size);
  map_->labels[index] = showing(center);
  map_->cells[index] = map_->labels[index];
  if (averaging_ == Averaging::none) {
    return;
  }
  for (std::size_t n = cut.first; n < cut.last; ++n) {
    const std::size_t coat = cut_[n];
    sides_[coat] = Side::cut;
    if (const SegmentGrid* outline = stack_.coats()[coat].outline.get()) {
      // The closest segment of any point of the cell is within this of its centre.
      const double reach =
          outline->nearest(center, std::numeric_limits<double>::infinity()).distance +
          2.0 * radius;
      outline->gather(center, reach, nearby_[coat]);
    }
  }
  std::ranges::fill(weights_, 0);
  in_cell_ = true;
  visit_part(block, cut);
  in_cell_ = false;
  cut_cells_->push_back({index, quantise(weights_)});
}

void BlockPainter::visit_part(const Block& block, Range cut)
{
  const std::uint16_t tissue = cut.empty() ? stack_.top(sides_) : PaintStack::bare;
  if (cut.empty() && tissue == PaintStack::bare) {
    pixels_->add(pixels_->box(block.i, block.j, block.size), weights_);
  } else if (cut.empty()) {
    weights_[tissue] += weight_of(block.size);
  } else if (straighten(block, cut)) {
    split(block, ConvexPolygon(1.0), {cut.last, cut_.size()});
  } else {
    halve(block, cut);
  }
}

/// Decides the coats of `cut` that the block lies to one side of, and drops those that
/// show nowhere in it, being under a coat that covers all of it.
BlockPainter::Range BlockPainter::narrow(const Block& block, Range cut)
{
  const Point center = center_of(block);
  const double radius = radius_of(block);
  const std::vector<Coat>& coats = stack_.coats();
  for (std::size_t n = cut.first; n < cut.last; ++n) {
    if (coats[cut_[n]].region) {
      sides_[cut_[n]] = classify(cut_[n], center, radius);
    }
  }
  const auto covers = [&](std::size_t coat) {
    return sides_[coat] == Side::in &&
           (coats[coat].region || any_region_below(coat, false));
  };
  std::size_t floor = coats.size();
  while (floor > 0 && !covers(floor - 1)) {
    --floor;
  }
  for (std::size_t n = cut.first; n < cut.last; ++n) {
    if (!coats[cut_[n]].region && cut_[n] >= floor) {
      sides_[cut_[n]] = classify(cut_[n], center, radius);
    }
  }
  for (std::size_t top = coats.size(); top > floor; --top) {
    if (covers(top - 1)) {
      floor = top;
    }
  }
  const std::size_t first = cut_.size();
  for (std::size_t n = cut.first; n < cut.last; ++n) {
    if (cut_[n] >= floor && sides_[cut_[n]] == Side::cut) {
      cut_.push_back(cut_[n]);
    }
  }
  return {first, cut_.size()};
}

Side BlockPainter::classify(std::size_t coat, Point center, double radius) const
{
  const Coat& paint = stack_.coats()[coat];
  if (paint.region) {
    const Rectangle& box = paint.region->bounds();
    if (center.x + radius < box.min.x || center.x - radius > box.max.x ||
        center.y + radius < box.min.y || center.y - radius > box.max.y) {
      return Side::out;
    }
    if (paint.region->outline_gap(center) <= radius) {
      return Side::cut;
    }
    return paint.region->contains(center) ? Side::in : Side::out;
  }
  if (!any_region_below(coat, true)) {
    return Side::out;
  }
  const double distance = nearest(coat, center, paint.thickness + radius).distance;
  if (distance > paint.thickness + radius) {
    return Side::out;
  }
  return distance + radius < paint.thickness ? Side::in : Side::cut;
}

bool BlockPainter::any_region_below(std::size_t coat, bool count_cut) const noexcept
{
  for (std::size_t n = 0; n < coat; ++n) {
    if (stack_.coats()[n].region &&
        (sides_[n] == Side::in || (count_cut && sides_[n] == Side::cut))) {
      return true;
    }
  }
  return false;
}

Nearest BlockPainter::nearest(std::size_t coat, Point p, double limit) const
{
  return in_cell_ ? nearest_of(nearby_[coat], p)
                  : stack_.coats()[coat].outline->nearest(p, limit);
}

/// Finds a line for every coat that is cut; false if the block must be halved. In the
/// smallest blocks a coat that has no line is decided at the centre. Leaves the coats
/// that have lines on top of cut_, after `cut`.
bool BlockPainter::straighten(const Block& block, Range cut)
{
  const bool smallest = block.size == 1;
  const std::size_t most = smallest ? ConvexPolygon::most_cuts : most_lines;
  if (!smallest && cut.last - cut.first > most) {
    return false;
  }
  const Point center = center_of(block);
  const double edge = block.size * raster_.cell / cell_size;
  const std::size_t start = cut_.size();
  for (std::size_t n = cut.first; n < cut.last; ++n) {
    const std::size_t coat = cut_[n];
    const auto line = line_of(coat, center, edge);
    if (line && cut_.size() - start < most) {
      lines_[coat] = {line->nx, line->ny, line->distance / edge};
      cut_.push_back(coat);
    } else if (smallest) {
      sides_[coat] = stack_.side_of(stack_.coats()[coat], center);
    } else {
      cut_.resize(start);
      return false;
    }
  }
  return true;
}

std::optional<HalfPlane> BlockPainter::line_of(std::size_t coat, Point center,
                                               double edge) const
{
  const Coat& paint = stack_.coats()[coat];
  const double tolerance = straightness * raster_.cell;
  if (paint.region) {
    const double radius = 0.5 * std::numbers::sqrt2 * (1.0 + 1e-9) * edge;
    return paint.region->half_plane(center, radius, tolerance);
  }
  // The distance d from the outline has the gradient (c - q) / d, q being the closest
  // point.
  const Nearest here = nearest_of(nearby_[coat], center);
  if (here.distance <= edge) {
    return std::nullopt;
  }
  const HalfPlane line{(center.x - here.point.x) / here.distance,
                       (center.y - here.point.y) / here.distance,
                       here.distance - paint.thickness};
  for (const double sx : {-0.5 * edge, 0.5 * edge}) {
    for (const double sy : {-0.5 * edge, 0.5 * edge}) {
      const double there =
          nearest_of(nearby_[coat], {center.x + sx, center.y + sy}).distance;
      if (std::abs(there - here.distance - line.nx * sx - line.ny * sy) > tolerance) {
        return std::nullopt;
      }
    }
  }
  return line;
}

/// `piece` is a part of the unit square, which stands for the block.
void BlockPainter::split(const Block& block, const ConvexPolygon& piece, Range lines)
{
  if (piece.empty()) {
    return;
  }
  if (lines.empty()) {
    const std::uint16_t tissue = stack_.top(sides_);
    if (tissue == PaintStack::bare) {
      pixels_->add(pixels_->box(block.i, block.j, block.size), piece, weights_);
    } else {
      weights_[tissue] += static_cast<std::uint64_t>(
          std::llround(piece.area() * static_cast<double>(weight_of(block.size))));
    }
    return;
  }
  const std::size_t coat = cut_[lines.first];
  for (const Side side : {Side::in, Side::out}) {
    sides_[coat] = side;
    split(block, piece.part(lines_[coat], side == Side::in),
          {lines.first + 1, lines.last});
  }
  sides_[coat] = Side::cut;
}

}  // namespace torsowave::geometry
