/// \file
/// \brief Where things lie in a torso of given size, and what is painted there.
///
/// A level is drawn in millimetres as it is in a man of about median size: x from the
/// midline to the patient's left, y forward from the front of the spine. Layout puts that
/// into the room which skin, fat and muscle leave: in front of the spine everything
/// shifts with the breadth and the depth of that room; the spine and what lies beside it
/// keep their size and their distance from the back.

#pragma once

#include <string>
#include <vector>

#include "geometry/torso.hpp"
#include "geometry/torso_outline_internal.hpp"

namespace torsowave::geometry::torso {

/// What is fixed at a level; lengths [m].
struct LevelForm {
  OutlineForm outline;
  double layers = 0.0;        ///< skin, fat and muscle for which it is a superellipse
  double spine = 0.0;         ///< from the fat of the back to the front of the spine
  double half_breadth = 0.0;  ///< of the room inside the muscles of that man
  double forward = 0.0;       ///< its depth in front of the spine
  TorsoLimits half_breadths;  ///< for which the organs have room
  TorsoLimits forwards;
};

class Layout {
public:
  /// \throws TorsoError  There is no room for the organs, or more than they can fill.
  Layout(const TorsoParameters& parameters, const LevelForm& form);

  /// A point of the drawing [mm] in the slice [m].
  [[nodiscard]] Point at(double x, double y) const noexcept;

  /// A point of an organ about `middle` of the drawing [mm]: in a larger room than that
  /// man's the organ grows by the square root of the factor alone.
  [[nodiscard]] Point organ(Point middle, double x, double y) const noexcept;

  /// A curve through points of the drawing [mm].
  [[nodiscard]] Curve through(const std::vector<Point>& knots) const;

  /// The point on the inner side of the wall of muscle [m], moved inward by `within`
  /// [mm]; angles as of TorsoOutline::at().
  [[nodiscard]] Point wall(double angle, double within) const noexcept;

  /// Points along the wall every few degrees, both ends included, to put between others.
  [[nodiscard]] std::vector<Point> along(double from, double to, double within) const;

  /// A strip along the wall with round ends between two depths [mm]; negative depths lie
  /// in the muscle.
  [[nodiscard]] Curve strip(double from, double to, double outer, double inner) const;

  /// Depth below the skin of the outer and the inner side of the wall of muscle [m].
  [[nodiscard]] double under_fat() const noexcept { return under_fat_; }
  [[nodiscard]] double under_muscle() const noexcept { return under_muscle_; }
  [[nodiscard]] double muscle() const noexcept { return under_muscle_ - under_fat_; }
  [[nodiscard]] const TorsoOutline& outline() const noexcept { return outline_; }

  /// How much wider and deeper the room is than that man's.
  [[nodiscard]] double wider() const noexcept { return wider_; }
  [[nodiscard]] double deeper() const noexcept { return deeper_; }

private:
  TorsoOutline outline_;
  double under_fat_;
  double under_muscle_;
  double spine_front_;  ///< y of the front of the spine [m]
  double wider_ = 1.0;
  double deeper_ = 1.0;
};

/// Collects shapes in the order of painting. Nothing gets into the fat under the skin,
/// and soft organs not into the wall of muscle: they are pressed against it, as in life.
class Painter {
public:
  /// Begins with the wall of muscle and the fat of the room inside it.
  explicit Painter(const Layout& in);

  void fill(const std::string& tissue, const Curve& curve);
  void fill(const std::string& tissue, const Blob& blob);

  /// The curve and its mirror image.
  void both(const std::string& tissue, const Curve& curve);
  void both(const std::string& tissue, const Blob& blob);

  /// A vessel or a gut: a rind of `wall` [m] around what it holds.
  void tube(const std::string& rind, const std::string& content, const Blob& blob,
            double wall);
  void tube(const std::string& rind, const std::string& content, const Curve& curve,
            double wall);

  /// The same with gas in front; `level` is the share of its height that the gas takes.
  void tube_with_gas(const std::string& rind, const std::string& content,
                     const Curve& curve, double wall, double level);

  [[nodiscard]] std::vector<Shape> take() { return std::move(shapes_); }

private:
  [[nodiscard]] Curve inside(const std::string& tissue, const Curve& curve) const;

  Curve wall_;  ///< outer and
  Curve room_;  ///< inner side of the wall of muscle
  std::vector<Shape> shapes_;
};

/// The levels; each paints what lies inside the wall of muscle, and bones within it.
[[nodiscard]] LevelForm thorax_form();
[[nodiscard]] LevelForm upper_abdomen_form();
[[nodiscard]] LevelForm kidneys_form();
[[nodiscard]] LevelForm pelvis_form();
void paint_thorax(Painter& paint, const Layout& in);
void paint_upper_abdomen(Painter& paint, const Layout& in);
void paint_kidneys(Painter& paint, const Layout& in);
void paint_pelvis(Painter& paint, const Layout& in);

}  // namespace torsowave::geometry::torso
