#include "app/coverage_places.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

namespace torsowave::app {
namespace {

/// Whether cells about (i, j) hold one and the same tissue alone.
[[nodiscard]] bool is_uniform(const geometry::TissueMap& map, int i, int j)
{
  const std::uint16_t entry = map.cells[map.raster.at(i, j)];
  for (int dj = -1; dj <= 1; ++dj) {
    for (int di = -1; di <= 1; ++di) {
      if (map.cells[map.raster.at(i + di, j + dj)] != entry) {
        return false;
      }
    }
  }
  return map.palette[entry].size() == 1;
}

/// A source may be in the cell: tissue at its centre, no conductor in it or beside it.
[[nodiscard]] bool is_place(const RunPlan& plan, int i, int j)
{
  const geometry::TissueMap& map = plan.map;
  if (map.labels[map.raster.at(i, j)] == 0) {
    return false;
  }
  for (int dj = -1; dj <= 1; ++dj) {
    for (int di = -1; di <= 1; ++di) {
      for (const geometry::Share& share :
           map.palette[map.cells[map.raster.at(i + di, j + dj)]]) {
        if (materials::is_conductor(plan.tissues[share.tissue])) {
          return false;
        }
      }
    }
  }
  return true;
}

/// The nearest cell inside the tissue of (i, j), itself or up to two cells away; -1:
/// none.
[[nodiscard]] std::ptrdiff_t nearest_inside(const geometry::TissueMap& map, int i, int j)
{
  constexpr int reach = 2;
  const geometry::Raster& raster = map.raster;
  const std::uint16_t label = map.labels[raster.at(i, j)];
  std::ptrdiff_t found = -1;
  int nearest = 2 * reach * reach + 1;  // squared, in cells
  for (int dj = -reach; dj <= reach; ++dj) {
    for (int di = -reach; di <= reach; ++di) {
      const int square = di * di + dj * dj;
      const std::size_t at = raster.at(i + di, j + dj);
      if (square < nearest && map.labels[at] == label &&
          is_uniform(map, i + di, j + dj)) {
        nearest = square;
        found = static_cast<std::ptrdiff_t>(at);
      }
    }
  }
  return found;
}

/// Cells of one sort by tissue, the tissue with the most cells first.
[[nodiscard]] std::vector<std::vector<Cell>> cells_by_tissue(const RunPlan& plan,
                                                             bool at_interfaces)
{
  const geometry::Raster& raster = plan.map.raster;
  std::vector<std::vector<Cell>> cells(plan.map.tissues.size());
  for (int j = 1; j + 1 < raster.ny; ++j) {
    for (int i = 1; i + 1 < raster.nx; ++i) {
      if (is_place(plan, i, j) && is_uniform(plan.map, i, j) != at_interfaces) {
        cells[plan.map.labels[raster.at(i, j)]].push_back({i, j});
      }
    }
  }
  std::erase_if(cells, [](const std::vector<Cell>& some) { return some.empty(); });
  std::ranges::stable_sort(cells, std::ranges::greater{}, &std::vector<Cell>::size);
  return cells;
}

/// Multiples of the golden ratio are spread over the list as evenly as can be, however
/// many there are.
void add_places(const RunPlan& plan, bool at_interfaces, int count,
                std::vector<CheckPlace>& places)
{
  const auto cells = cells_by_tissue(plan, at_interfaces);
  for (int n = 0; n < count && !cells.empty(); ++n) {
    const std::vector<Cell>& some = cells[static_cast<std::size_t>(n) % cells.size()];
    const double turn = (n + 1) * std::numbers::phi;
    const auto at = static_cast<std::size_t>((turn - std::floor(turn)) *
                                             static_cast<double>(some.size()));
    const Cell cell = some[at];
    const std::uint16_t tissue = plan.map.labels[plan.map.raster.at(cell.i, cell.j)];
    places.push_back({cell, plan.map.tissues[tissue], at_interfaces, {}});
  }
}

}  // namespace

std::vector<CheckPlace> coverage_places(const RunPlan& plan, const PlaceCounts& counts)
{
  std::vector<CheckPlace> places;
  add_places(plan, false, counts.inside, places);
  add_places(plan, true, counts.at_interfaces, places);
  return places;
}

std::vector<std::ptrdiff_t> cells_inside(const RunPlan& plan)
{
  const geometry::Raster& raster = plan.map.raster;
  std::vector<std::ptrdiff_t> cells(raster.size(), -1);
  constexpr int rim = 3;  // no tissue: a plane wave needs more air than that
  for (int j = rim; j < raster.ny - rim; ++j) {
    for (int i = rim; i < raster.nx - rim; ++i) {
      if (plan.map.labels[raster.at(i, j)] != 0) {
        cells[raster.at(i, j)] = nearest_inside(plan.map, i, j);
      }
    }
  }
  return cells;
}

double visible_direction(std::span<const postproc::PlaneField> fields)
{
  constexpr int directions = 180;
  double found = 0.0;
  double largest = -1.0;
  for (int n = 0; n < directions; ++n) {
    const double direction = std::numbers::pi * n / directions;
    double smallest = 1.0;
    for (const postproc::PlaneField& e : fields) {
      const double best =
          postproc::dipole_coupling(e, postproc::best_dipole_direction(e));
      smallest = std::min(smallest, postproc::dipole_coupling(e, direction) / best);
    }
    if (smallest > largest) {
      largest = smallest;
      found = direction;
    }
  }
  return found;
}

}  // namespace torsowave::app
