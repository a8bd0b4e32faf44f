/// \file
/// \brief Ready-made cross-sections of an invented adult torso, made from a few lengths.
///
/// What is published and what is invented stands in docs/torso.md. Planning and teaching
/// only: no real person stands behind any of them.

#pragma once

#include <stdexcept>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "geometry/shape.hpp"

namespace torsowave::geometry {

/// Where the torso is cut: thorax through the heart, upper abdomen through liver,
/// stomach and spleen, the kidneys, pelvis above the hip joints.
enum class TorsoLevel { thorax, upper_abdomen, kidneys, pelvis };

/// Which percentile of an adult man's outer dimensions: 5th, 50th, 95th.
enum class TorsoBuild { lean, median, heavy };

/// The lengths that a slice is made from [m].
struct TorsoParameters {
  TorsoLevel level = TorsoLevel::kidneys;
  double breadth = 0.0;  ///< outer, left to right
  double depth = 0.0;    ///< outer, front to back
  double skin = 0.0;     ///< thickness, measured at right angles to the surface
  double fat = 0.0;      ///< thickness of the fat under the skin, likewise
  double muscle = 0.0;   ///< thickness of the wall of muscle under it, likewise
};

/// A parameter is outside the range for which the slice can be drawn.
class TorsoError : public std::runtime_error {
public:
  /// \param parameter  the member of TorsoParameters, e.g. "fat".
  TorsoError(std::string parameter, const std::string& problem)
      : std::runtime_error(problem), parameter_(std::move(parameter))
  {
  }
  [[nodiscard]] const std::string& parameter() const noexcept { return parameter_; }

private:
  std::string parameter_;
};

/// Least and largest of one parameter [m].
struct TorsoLimits {
  double least = 0.0;
  double largest = 0.0;
};

/// The parameters of a build at a level.
[[nodiscard]] TorsoParameters torso_defaults(TorsoLevel level, TorsoBuild build);

/// What a thickness may be: "skin", "fat" or "muscle", whatever the others are.
[[nodiscard]] TorsoLimits torso_thickness_limits(std::string_view parameter);

/// The slice as shapes in the order of painting, the skin's outline first. The middle of
/// the bounding box is the origin; +x is the patient's left, +y the front. The layers are
/// exact to the chords of their polygons (0.05 mm); the organs fill what they leave.
/// \throws TorsoError  A thickness is outside its limits, or the skin, the fat and the
/// muscle leave too little or too much room inside the outline; what() tells the range.
[[nodiscard]] std::vector<Shape> torso_shapes(const TorsoParameters& parameters);

}  // namespace torsowave::geometry
