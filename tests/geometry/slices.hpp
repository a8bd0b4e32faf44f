/// \file
/// \brief Rasters and invented slices that the geometry tests share.

#pragma once

#include <cmath>
#include <numbers>
#include <string>
#include <vector>

#include "geometry/tissue_map.hpp"

namespace torsowave::geometry {

inline constexpr double mm = 1e-3;
inline constexpr double pi = std::numbers::pi;

/// nx x ny cells about the origin.
inline Raster centred(int nx, int ny, double cell)
{
  return {nx, ny, cell, {-0.5 * nx * cell, -0.5 * ny * cell}};
}

/// Area of the tissue called `name`, 0 if there is none [m^2].
inline double area_of(const TissueMap& map, const std::string& name)
{
  const std::vector<double> areas = areas_by_tissue(map);
  for (std::size_t t = 0; t < map.tissues.size(); ++t) {
    if (map.tissues[t] == name) {
      return areas[t];
    }
  }
  return 0.0;
}

/// Least-squares slope of log(error) over log(cell).
inline double order_of_convergence(const std::vector<double>& cells,
                                   const std::vector<double>& errors)
{
  double sx = 0.0;
  double sy = 0.0;
  double sxx = 0.0;
  double sxy = 0.0;
  const auto n = static_cast<double>(cells.size());
  for (std::size_t k = 0; k < cells.size(); ++k) {
    const double x = std::log(cells[k]);
    const double y = std::log(errors[k]);
    sx += x;
    sy += y;
    sxx += x * x;
    sxy += x * y;
  }
  return (n * sxy - sx * sy) / (n * sxx - sx * sx);
}

/// An invented slice with the mirror plane x = 0: a body with three rinds, paired and
/// single organs, two polygons, a gas bubble.
inline std::vector<Shape> mirrored_slice()
{
  const auto wedge = [](double side) {
    return Polygon{{{side * 8 * mm, -30 * mm},
                    {side * 31 * mm, -36.3 * mm},
                    {side * 22 * mm, -11.7 * mm},
                    {side * 15 * mm, -20 * mm}}};
  };
  return {{"muscle", Ellipse{{0.0, 0.0}, 60 * mm, 45 * mm, 0.0}},
          {"muscle", Ellipse{{-50 * mm, -5 * mm}, 21 * mm, 13 * mm, 0.4}},
          {"muscle", Ellipse{{50 * mm, -5 * mm}, 21 * mm, 13 * mm, -0.4}},
          {"fat", Shell{7.3 * mm}},
          {"skin", Shell{1.7 * mm}},
          {"film", Shell{0.13 * mm}},
          {"lung", Ellipse{{-24 * mm, 10 * mm}, 17 * mm, 11 * mm, 0.7}},
          {"lung", Ellipse{{24 * mm, 10 * mm}, 17 * mm, 11 * mm, -0.7}},
          {"bone", wedge(-1.0)},
          {"bone", wedge(1.0)},
          {"blood", Circle{{0.0, 3.1 * mm}, 9.9 * mm}},
          {"air", Rectangle{{-2.2 * mm, -4 * mm}, {2.2 * mm, 1.05 * mm}}}};
}

}  // namespace torsowave::geometry
