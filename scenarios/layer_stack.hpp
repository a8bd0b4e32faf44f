/// \file
/// \brief The layers of mode 1D with their places: interfaces, outer media, what lies
/// where.

#pragma once

#include <string>
#include <vector>

#include "scenarios/scenario.hpp"

namespace torsowave::scenarios {

/// A layer between two faces.
struct Slab {
  std::string tissue;
  double from = 0.0;  ///< x of its left face [m]
  double to = 0.0;    ///< x of its right face [m], > from
};

/// Planar layers between two half-spaces.
struct LayerStack {
  std::string first;           ///< medium left of all faces
  std::vector<Slab> slabs;     ///< from left to right; may be none
  std::string last;            ///< medium right of all faces
  bool first_in_body = false;  ///< it is a half-space of the body, no background
  bool last_in_body = false;   ///< likewise
  double first_face = 0.0;     ///< x of the leftmost interface [m]
  double last_face = 0.0;      ///< x of the rightmost one [m]; the same with no slabs

  /// The medium at x [m]; on a face the one right of it.
  [[nodiscard]] const std::string& tissue_at(double x) const noexcept;
};

/// The stack that a body of mode 1D describes.
/// \param body  with at least one layer, half-spaces only outermost, not one half-space
///        alone (the reader sees to it)
[[nodiscard]] LayerStack layer_stack(const BodySpec& body);

}  // namespace torsowave::scenarios
