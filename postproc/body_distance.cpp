#include "postproc/body_distance.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <stdexcept>

#include "geometry/body_surface.hpp"
#include "postproc/figure_check.hpp"

namespace torsowave::postproc {
namespace {

constexpr double infinite = std::numeric_limits<double>::infinity();

/// Lower envelope of the parabolas f(q) + (x - q)^2 at x = 0, 1, ..., in place.
void transform(std::vector<double>& f)
{
  std::vector<std::size_t> apex;
  std::vector<double> begin;
  for (std::size_t q = 0; q < f.size(); ++q) {
    if (f[q] == infinite) {
      continue;
    }
    double from = -infinite;
    const auto at = static_cast<double>(q);
    while (!apex.empty()) {
      const auto other = static_cast<double>(apex.back());
      from = (f[q] + at * at - f[apex.back()] - other * other) / (2.0 * (at - other));
      if (from > begin.back()) {
        break;
      }
      apex.pop_back();
      begin.pop_back();
      from = -infinite;
    }
    apex.push_back(q);
    begin.push_back(from);
  }
  if (apex.empty()) {
    return;
  }
  const std::vector<double> heights = f;
  std::size_t k = 0;
  for (std::size_t x = 0; x < f.size(); ++x) {
    while (k + 1 < apex.size() && begin[k + 1] < static_cast<double>(x)) {
      ++k;
    }
    const double step = static_cast<double>(x) - static_cast<double>(apex[k]);
    f[x] = heights[apex[k]] + step * step;
  }
}

/// Squared distances from 0 where the body is and infinity elsewhere.
void spread(std::vector<double>& squares, std::size_t nx, std::size_t ny)
{
  std::vector<double> line(ny);
  for (std::size_t i = 0; i < nx; ++i) {
    for (std::size_t j = 0; j < ny; ++j) {
      line[j] = squares[j * nx + i];
    }
    transform(line);
    for (std::size_t j = 0; j < ny; ++j) {
      squares[j * nx + i] = line[j];
    }
  }
  line.resize(nx);
  for (std::size_t j = 0; j < ny; ++j) {
    const auto row = squares.begin() + static_cast<std::ptrdiff_t>(j * nx);
    std::copy_n(row, nx, line.begin());
    transform(line);
    std::ranges::copy(line, row);
  }
}

}  // namespace

BodyDistance body_distance(const Result& result)
{
  require_tissues(result);
  const auto nx = static_cast<std::size_t>(result.grid.nx);
  const geometry::Raster raster{result.grid.nx, result.grid.ny, result.grid.cell, {}};
  std::vector<std::uint8_t> tissue(result.labels.size());
  std::ranges::transform(result.labels, tissue.begin(), [](std::uint16_t label) {
    return static_cast<std::uint8_t>(label != 0);
  });
  const std::vector<std::uint8_t> inside = geometry::fill_holes(raster, tissue);
  BodyDistance body;
  body.cells.resize(inside.size());
  double count = 0.0;
  for (std::size_t cell = 0; cell < inside.size(); ++cell) {
    body.cells[cell] = inside[cell] != 0 ? 0.0 : infinite;
    if (inside[cell] != 0) {
      body.centroid.x += result.grid.x[cell % nx];
      body.centroid.y += result.grid.y[cell / nx];
      count += 1.0;
    }
  }
  if (count == 0.0) {
    throw std::invalid_argument("the slice shows no body");
  }
  body.centroid = {body.centroid.x / count, body.centroid.y / count};
  spread(body.cells, nx, static_cast<std::size_t>(result.grid.ny));
  for (double& value : body.cells) {
    value = std::sqrt(value);
  }
  return body;
}

}  // namespace torsowave::postproc
