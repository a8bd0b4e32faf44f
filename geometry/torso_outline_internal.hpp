/// \file
/// \brief The skin's outline of a torso and the curves at given depths below it [m].

#pragma once

#include "geometry/torso_curves_internal.hpp"

namespace torsowave::geometry::torso {

/// What an outline looks like beside its breadth and depth.
struct OutlineForm {
  double exponent_front = 2.5;  ///< of the superellipse, > 2
  double exponent_back = 3.0;
  double front_share = 0.5;   ///< of the depth, in front of the greatest breadth
  double furrow = 0.0;        ///< depth of the furrow along the spine [m]
  double furrow_width = 0.1;  ///< where it has fallen to 1/e of that [m]
};

/// A smooth closed outline: two halves of superellipses |x/a|^n + |y/b|^n = 1 (G. Lame,
/// "Examen des differentes methodes employees pour resoudre les problemes de geometrie",
/// 1818, from memory) with one breadth, and a furrow furrow * exp(-(x/furrow_width)^2) in
/// the back; or the curve parallel to one, `swell` outside it. Fat thus goes around a
/// body whose inside stays as it is. The bounding box is breadth by depth about the
/// origin.
class TorsoOutline {
public:
  /// \pre breadth, depth > 2 swell; the furrow is shallow beside them.
  TorsoOutline(double breadth, double depth, double swell, const OutlineForm& form);

  /// The point `below` the outline [m], measured along its normal at the point whose
  /// superellipse has the polar angle `angle` [deg].
  [[nodiscard]] Point at(double angle, double below) const noexcept;

  /// All points at that depth: the parallel curve, as chords of 3 mm and less.
  [[nodiscard]] Curve parallel(double below) const;

private:
  [[nodiscard]] Point surface(double radians) const noexcept;
  [[nodiscard]] Point unscaled(double radians) const noexcept;

  double half_breadth_;  ///< of the superellipse
  double depth_;
  double swell_;
  OutlineForm form_;
  double lowest_ = 0.0;  ///< of the unscaled outline
};

}  // namespace torsowave::geometry::torso
