/// \file
/// \brief A run seen as planar layers: what errors of media and grid are carried along.
///
/// In mode 1D the layers are the scenario itself. In a slice they are a model, and the
/// errors that it gives are estimates:
/// - implant in the body: the shortest straight way to the skin, cut into the tissues
///   that it crosses (capsule left out, as it is small against the wave), the tissue at
///   the implant going on behind it, the background in front of the skin; a current sheet
///   at the implant;
/// - implant outside the body: the body along the line to its nearest point;
/// - plane wave: the body along the wave's line through the body's centroid.
/// Waves that take another way, and the curvature of the faces, are left out. Perfect
/// conductors inside a slice are left out too: waves go round them.

#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "app/run_plan.hpp"

namespace torsowave::app {

/// What the layers stand for.
enum class PathKind {
  layers,   ///< mode 1D: no model but the thing itself
  way_out,  ///< implant in the body
  outside,  ///< implant outside the body
  shadow    ///< plane wave on a slice
};

/// Planar layers of a plan's tissues, x from the first face.
struct PathStack {
  PathKind kind = PathKind::layers;
  std::vector<std::size_t> tissues;  ///< of plan.tissues: first half-space, layers, last
  std::vector<double> thickness;     ///< of the layers [m]
  std::optional<double> sheet;       ///< x of a current sheet [m]; empty: a plane wave
                                     ///< from the first half-space
  double edge = 0.0;  ///< x of an edge between cells, where the grid's cells matter [m]

  [[nodiscard]] double depth() const;  ///< of the last face [m]
};

/// The layers of a plan; empty where a slice has no way out (the body fills the domain).
[[nodiscard]] std::optional<PathStack> path_stack(const RunPlan& plan);

}  // namespace torsowave::app
