/// \file
/// \brief Points and rectangles of a slice.

#pragma once

namespace torsowave::geometry {

/// A point of the slice [m]: +x to the patient's left, +y to the front.
struct Point {
  double x = 0.0;
  double y = 0.0;
};

struct Rectangle {
  Point min;
  Point max;
};

}  // namespace torsowave::geometry
