/// \file
/// \brief Which cells of a body a coverage map is tried at.

#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <vector>

#include "app/run_plan.hpp"
#include "postproc/coverage.hpp"

namespace torsowave::app {

/// A cell, and the fields that the reader's wave leaves in it.
struct CheckPlace {
  Cell cell;
  std::string tissue;      ///< at its centre
  bool interface = false;  ///< an outline crosses it or a neighbour
  /// (direction, frequency), frequency fastest: Ez and 0, or Ex and Ey [V/m per V/m].
  std::vector<postproc::PlaneField> fields;
};

/// How many places of each sort.
struct PlaceCounts {
  int inside = 0;         ///< the cell and its neighbours hold one tissue alone
  int at_interfaces = 0;  ///< they do not
};

/// The tissues in turn, the largest first, and in each of them cells far apart; the same
/// ones for the same plan. Fewer if the body has not so many.
[[nodiscard]] std::vector<CheckPlace> coverage_places(const RunPlan& plan,
                                                      const PlaceCounts& counts);

/// For each cell that holds tissue the cell in which an in-plane dipole there is looked
/// for: itself inside a tissue; at an interface, where the field across it jumps and that
/// of a mixed cell is of neither side, the nearest cell inside the same tissue, up to two
/// cells away. -1 where there is none. (ny, nx)
[[nodiscard]] std::vector<std::ptrdiff_t> cells_inside(const RunPlan& plan);

/// Direction of an in-plane dipole that none of the fields crosses at a right angle: the
/// one with the largest smallest |E . p|^2 beside the best direction of each field [rad].
[[nodiscard]] double visible_direction(std::span<const postproc::PlaneField> fields);

}  // namespace torsowave::app
