#include "postproc/row_of_slice.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <stdexcept>

#include "postproc/figure_raster.hpp"

namespace torsowave::postproc {
namespace {

/// Every value on a line of an (n, rows, columns) array.
template <class Value>
[[nodiscard]] std::vector<Value> on_line(const std::vector<Value>& values, int columns,
                                         int rows, const SliceLine& line)
{
  const auto nx = static_cast<std::size_t>(columns);
  const std::size_t plane = nx * static_cast<std::size_t>(rows);
  const auto fixed = static_cast<std::size_t>(line.index);
  std::vector<Value> kept_values;
  for (std::size_t first = 0; first + plane <= values.size(); first += plane) {
    const int count = line.along == SliceAxis::x ? columns : rows;
    for (std::size_t n = 0; n < static_cast<std::size_t>(count); ++n) {
      kept_values.push_back(
          values[first + (line.along == SliceAxis::x ? fixed * nx + n : n * nx + fixed)]);
    }
  }
  return kept_values;
}

/// Runs of equal labels; the first and the last go on for good.
[[nodiscard]] std::vector<LayerInfo> layers_of(const Result& row)
{
  constexpr double far = std::numeric_limits<double>::infinity();
  std::vector<LayerInfo> layers;
  for (std::size_t i = 0; i < row.labels.size(); ++i) {
    const double face = row.grid.x[i] - 0.5 * row.grid.cell;
    if (i == 0 || row.labels[i] != row.labels[i - 1]) {
      if (!layers.empty()) {
        layers.back().to = face;
      }
      layers.push_back({row.tissues[row.labels[i]], i == 0 ? -far : face, far});
    }
  }
  return layers;
}

}  // namespace

SliceLine line_through(const Result& slice, SliceAxis along, std::optional<double> at)
{
  const bool horizontal = along == SliceAxis::x;
  const std::vector<double>& places = horizontal ? slice.grid.y : slice.grid.x;
  double wanted = 0.5 * (places.front() + places.back());
  if (at) {
    wanted = *at;
  } else if (slice.implant) {
    wanted = horizontal ? slice.implant->y : slice.implant->x;
  }
  const double rim = 0.5 * slice.grid.cell * (1.0 + 1e-9);
  if (!(wanted >= places.front() - rim && wanted <= places.back() + rim)) {
    throw std::invalid_argument(fmt::format(
        "{} = {:.6g} mm is outside the slice, which goes from {:.6g} to {:.6g} mm",
        horizontal ? "y" : "x", 1e3 * wanted, 1e3 * (places.front() - rim),
        1e3 * (places.back() + rim)));
  }
  const auto nearest = std::ranges::min_element(
      places, {}, [&](double place) { return std::abs(place - wanted); });
  return {along, static_cast<int>(nearest - places.begin())};
}

Result row_of(const Result& slice, const SliceLine& line)
{
  const GridInfo& grid = slice.grid;
  Result row = slice;
  row.grid.x = line.along == SliceAxis::x ? grid.x : grid.y;
  row.grid.nx = static_cast<int>(row.grid.x.size());
  row.grid.ny = 1;
  row.grid.y = {0.0};
  row.labels = on_line(slice.labels, grid.nx, grid.ny, line);
  row.sar = on_line(slice.sar, grid.nx, grid.ny, line);
  for (PhasorField& field : row.phasors) {
    field.values = on_line(field.values, grid.nx, grid.ny, line);
  }
  row.layers = layers_of(row);
  if (slice.implant) {
    const bool horizontal = line.along == SliceAxis::x;
    const double off =
        horizontal ? slice.implant->y - grid.y[static_cast<std::size_t>(line.index)]
                   : slice.implant->x - grid.x[static_cast<std::size_t>(line.index)];
    row.implant = geometry::Point{horizontal ? slice.implant->x : slice.implant->y, 0.0};
    if (std::abs(off) > grid.cell) {
      row.implant.reset();  // the line passes it by
    }
  }
  return row;
}

Snapshot row_of(const Snapshot& moment, const Result& slice, int stride,
                const SliceLine& line)
{
  const int columns = kept(slice.grid.nx, stride);
  const int rows = kept(slice.grid.ny, stride);
  const int last = (line.along == SliceAxis::x ? rows : columns) - 1;
  const SliceLine thinned{line.along, std::min(last, (line.index + stride / 2) / stride)};
  return {moment.time, on_line(moment.values, columns, rows, thinned)};
}

RowLine name_of(const Result& slice, const SliceLine& line)
{
  const bool horizontal = line.along == SliceAxis::x;
  const auto index = static_cast<std::size_t>(line.index);
  return {horizontal ? "x" : "y",
          fmt::format("along {} at {} = {:.4g} mm", horizontal ? "x" : "y",
                      horizontal ? "y" : "x",
                      1e3 * (horizontal ? slice.grid.y[index] : slice.grid.x[index]))};
}

}  // namespace torsowave::postproc
