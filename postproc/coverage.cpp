#include "postproc/coverage.hpp"

#include <cmath>
#include <limits>
#include <numbers>
#include <stdexcept>

#include "materials/constants.hpp"
#include "solver/grid_dispersion.hpp"
#include "solver/medium.hpp"

namespace torsowave::postproc {
namespace {

/// Distance of the nearest edge of the body's surface; remembers where it was found, as
/// the next place asked for is mostly a neighbour.
class SkinDistance {
public:
  SkinDistance(const geometry::Raster& raster, const geometry::Contour& surface)
      : cell_(raster.cell)
  {
    for (const geometry::ContourEdge& edge : surface.edges) {
      points_.push_back({raster.x_of(edge.i + 0.5 + 0.5 * edge.di),
                         raster.y_of(edge.j + 0.5 + 0.5 * edge.dj)});
    }
  }

  /// Depth below the skin, or nothing as soon as it is known to be at most `known` [m].
  /// The surface runs one cell outside the body.
  [[nodiscard]] std::optional<double> deeper_than(double known, geometry::Point at)
  {
    double nearest = std::numeric_limits<double>::infinity();
    for (std::size_t n = 0; n < points_.size(); ++n) {
      const std::size_t p = (hint_ + n) % points_.size();
      const double distance = std::hypot(points_[p].x - at.x, points_[p].y - at.y);
      if (distance - cell_ <= known) {
        hint_ = p;
        return std::nullopt;
      }
      nearest = std::min(nearest, distance);
    }
    return nearest - cell_;
  }

  [[nodiscard]] double depth(geometry::Point at)
  {
    return deeper_than(-std::numeric_limits<double>::infinity(), at).value();
  }

private:
  double cell_;
  std::vector<geometry::Point> points_;
  std::size_t hint_ = 0;
};

/// Collects places; depths are asked for at the end, except for the deepest one.
class PlaceFinder {
public:
  PlaceFinder(const geometry::TissueMap& map, const geometry::Contour& surface)
      : map_(map), skin_(map.raster, surface)
  {
  }

  void look(int i, int j, double margin)
  {
    const CoveredPlace place = at(i, j, margin);
    if (margin >= 0.0) {
      const double known =
          deepest_ ? deepest_->depth : -std::numeric_limits<double>::infinity();
      if (const auto depth = skin_.deeper_than(known, place.at)) {
        deepest_ = place;
        deepest_->depth = *depth;
      }
    }
    if (!best_ || margin > best_->margin_db) {
      best_ = place;
    }
    if (!worst_ || margin < worst_->margin_db) {
      worst_ = place;
    }
  }

  void store(CoverageFigures& figures)
  {
    for (std::optional<CoveredPlace>* place : {&best_, &worst_}) {
      if (*place) {
        (*place)->depth = skin_.depth((*place)->at);
      }
    }
    figures.deepest = deepest_;
    figures.best = best_;
    figures.worst = worst_;
  }

private:
  [[nodiscard]] CoveredPlace at(int i, int j, double margin) const
  {
    const geometry::Raster& raster = map_.raster;
    return {{raster.x(i), raster.y(j)},
            map_.tissues[map_.labels[raster.at(i, j)]],
            0.0,
            margin};
  }

  const geometry::TissueMap& map_;
  SkinDistance skin_;
  std::optional<CoveredPlace> deepest_, best_, worst_;
};

/// 10 log10 of gain per unit of U by tissue [dB]; NaN where no implant can be.
[[nodiscard]] std::vector<double> gain_per_intensity(const CoverageCase& of)
{
  std::vector<double> result;
  const std::vector<double> unit{1.0};
  for (const std::optional<solver::Capsule>& capsule : of.capsules) {
    result.push_back(
        capsule ? antenna_gain(unit, of.zone, *capsule, {of.kind, false}).gain_dbi.front()
                : std::numeric_limits<double>::quiet_NaN());
  }
  return result;
}

}  // namespace

double reciprocal_intensity(const solver::Grid& grid, const FarZone& zone, double angle)
{
  const double c = std::cos(angle);
  const double s = std::sin(angle);
  const double z =
      solver::numerical_wavenumber(grid, angle, zone.frequency, zone.eps).real() *
      grid.raster.cell;
  const double g = z / (c * std::sin(z * c) + s * std::sin(z * s));
  const double eps = zone.polarisation == solver::Polarisation::tez ? zone.eps : 1.0;
  return g * solver::discrete_omega(zone.frequency, grid.time_step) *
         materials::vacuum_permeability * eps / (16.0 * std::numbers::pi);
}

double dipole_coupling(const PlaneField& e, double direction)
{
  return std::norm(std::cos(direction) * e.x + std::sin(direction) * e.y);
}

double best_dipole_direction(const PlaneField& e)
{
  // |E . p|^2 = A + B cos(2 a) + C sin(2 a)
  const double b = 0.5 * (std::norm(e.x) - std::norm(e.y));
  const double c = (e.x * std::conj(e.y)).real();
  return 0.5 * std::atan2(c, b);
}

std::vector<float> gain_map(const CoverageCase& of, std::span<const double> coupling)
{
  const geometry::TissueMap& map = of.map;
  if (coupling.size() != map.cells.size() || of.capsules.size() != map.tissues.size()) {
    throw std::invalid_argument("coverage: sizes of the map and its values disagree");
  }
  const std::vector<double> per_intensity = gain_per_intensity(of);
  const double constant = reciprocal_intensity(of.grid, of.zone, of.angle);
  std::vector<float> gain;
  gain.reserve(coupling.size());
  for (std::size_t p = 0; p < coupling.size(); ++p) {
    const double intensity = constant * coupling[p];
    gain.push_back(
        static_cast<float>(per_intensity[map.labels[p]] + 10.0 * std::log10(intensity)));
  }
  return gain;
}

CoverageFigures coverage_figures(const geometry::TissueMap& map,
                                 const geometry::Contour& surface,
                                 std::span<const float> margin)
{
  const geometry::Raster& raster = map.raster;
  if (margin.size() != raster.size()) {
    throw std::invalid_argument("coverage: a margin for each cell of the map is needed");
  }
  CoverageFigures figures;
  std::vector<CoveredTissue> tissues;
  for (const std::string& tissue : map.tissues) {
    tissues.push_back({tissue, 0.0, 0.0});
  }
  PlaceFinder finder(map, surface);
  const double area = raster.cell * raster.cell;
  for (int j = 0; j < raster.ny; ++j) {
    for (int i = 0; i < raster.nx; ++i) {
      const std::size_t p = raster.at(i, j);
      const auto here = static_cast<double>(margin[p]);
      if (std::isnan(here)) {
        continue;
      }
      CoveredTissue& tissue = tissues[map.labels[p]];
      tissue.area += area;
      tissue.closed += here >= 0.0 ? area : 0.0;
      finder.look(i, j, here);
    }
  }
  for (const CoveredTissue& tissue : tissues) {
    if (tissue.area > 0.0) {
      figures.area += tissue.area;
      figures.closed += tissue.closed;
      figures.tissues.push_back(tissue);
    }
  }
  finder.store(figures);
  return figures;
}

}  // namespace torsowave::postproc
