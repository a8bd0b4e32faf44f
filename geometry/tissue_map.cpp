#include "geometry/tissue_map.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <optional>
#include <stdexcept>
#include <variant>

#include "geometry/block_painter.hpp"
#include "geometry/paint_stack.hpp"
#include "geometry/palette.hpp"
#include "geometry/region.hpp"

namespace torsowave::geometry {
namespace {

constexpr int most_cells_along = 1 << 22;  // times 64, as an int

void require_cells(const Raster& raster)
{
  const bool ok = raster.nx > 0 && raster.ny > 0 && raster.nx <= most_cells_along &&
                  raster.ny <= most_cells_along && std::isfinite(raster.cell) &&
                  raster.cell > 0.0 && std::isfinite(raster.corner.x) &&
                  std::isfinite(raster.corner.y);
  if (!ok) {
    throw std::invalid_argument(fmt::format(
        "a raster needs 1 to {} cells each way, a cell > 0 [m] and a finite corner, got "
        "{} x {} cells of {} m at ({}, {})",
        most_cells_along, raster.nx, raster.ny, raster.cell, raster.corner.x,
        raster.corner.y));
  }
}

/// Each band has a list of its own, so that the result does not depend on the threads.
std::vector<CutCell> paint_bands(const PaintStack& stack, Averaging averaging,
                                 TissueMap& map)
{
  const int bands =
      (map.raster.ny + BlockPainter::band_height - 1) / BlockPainter::band_height;
  std::vector<std::vector<CutCell>> by_band(static_cast<std::size_t>(bands));
#pragma omp parallel
  {
    BlockPainter painter(stack, map.raster, averaging);
#pragma omp for schedule(dynamic)
    for (int band = 0; band < bands; ++band) {
      painter.paint(band, map, by_band[static_cast<std::size_t>(band)]);
    }
  }
  std::vector<CutCell> all;
  for (std::vector<CutCell>& cells : by_band) {
    std::ranges::move(cells, std::back_inserter(all));
  }
  return all;
}

Rectangle bounds_of_shape(const Shape& shape, std::size_t number)
{
  if (const auto* map = std::get_if<LabelMap>(&shape.outline)) {
    require_sound(*map->grid);
    return map->grid->body;
  }
  return Region(shape.outline, fmt::format("shape {} ({})", number, shape.tissue))
      .bounds();
}

}  // namespace

TissueMap voxelise(const Raster& raster, const std::string& background,
                   const std::vector<Shape>& shapes, const std::vector<Shape>& capsules,
                   Averaging averaging)
{
  require_cells(raster);
  const PaintStack stack(background, shapes, capsules);
  TissueMap map;
  map.raster = raster;
  map.tissues = stack.tissues();
  map.cells.resize(raster.size());
  map.labels.resize(raster.size());
  std::vector<CutCell> cut = paint_bands(stack, averaging, map);
  if (stack.map() != nullptr) {
    map.share_step = coarsen_to_fit(map.tissues.size(), cut);
  }
  fill_palette(map, cut);
  return map;
}

std::vector<double> areas_by_tissue(const TissueMap& map)
{
  std::vector<std::uint64_t> count(map.palette.size(), 0);
  for (const std::uint16_t entry : map.cells) {
    ++count[entry];
  }
  std::vector<std::uint64_t> quanta(map.tissues.size(), 0);
  for (std::size_t entry = 0; entry < map.palette.size(); ++entry) {
    for (const Share& share : map.palette[entry]) {
      quanta[share.tissue] += share.quanta * count[entry];
    }
  }
  std::vector<double> areas;
  areas.reserve(quanta.size());
  const double quantum = map.raster.cell * map.raster.cell / fraction_quantum;
  for (const std::uint64_t n : quanta) {
    areas.push_back(static_cast<double>(n) * quantum);
  }
  return areas;
}

std::string tissue_at(Point point, const std::string& background,
                      const std::vector<Shape>& shapes)
{
  const PaintStack stack(background, shapes, {});
  return stack.tissues()[stack.tissue_at(point)];
}

std::vector<std::string> tissues_in(const Shape& shape)
{
  const auto* map = std::get_if<LabelMap>(&shape.outline);
  return map != nullptr ? map->grid->tissues : std::vector<std::string>{shape.tissue};
}

Rectangle bounding_box(const std::vector<Shape>& shapes)
{
  std::optional<Rectangle> all;
  for (std::size_t n = 0; n < shapes.size(); ++n) {
    if (std::holds_alternative<Shell>(shapes[n].outline)) {
      continue;
    }
    const Rectangle box = bounds_of_shape(shapes[n], n + 1);
    if (!all) {
      all = box;
      continue;
    }
    all->min = {std::min(all->min.x, box.min.x), std::min(all->min.y, box.min.y)};
    all->max = {std::max(all->max.x, box.max.x), std::max(all->max.y, box.max.y)};
  }
  if (!all) {
    throw std::invalid_argument(
        "a bounding box needs at least one shape that is no shell");
  }
  return *all;
}

}  // namespace torsowave::geometry
