/// \file
/// \brief Where the skin is between the cells: its place to a hundredth of a cell.
///
/// The shares of a column of cells that leads from the air into the body add up to the
/// area under the skin, exactly, whatever its slope. A parabola, fitted to the areas of
/// five columns by least squares (A. Savitzky, M. J. E. Golay, Anal. Chem. 36 (1964)
/// 1627-1639, from memory), less the 1/12 of its bend by which the mean over a column
/// differs from the middle, is the skin: exact for a straight one but for the rounding of
/// shares, and to the fourth order in cell/radius for a round one; steps that are shorter
/// than five cells are smoothed. Columns run along the axis that the skin's normal is
/// nearer to. Where five columns do not all reach the skin three may.

#pragma once

#include <optional>

#include "geometry/body_surface.hpp"

namespace torsowave::geometry {

class SkinFinder {
public:
  /// \param map,body  must outlive the object
  SkinFinder(const TissueMap& map, const Body& body);

  /// Distance to the skin from a point in the air, at most 8 cells [m]. Empty if the skin
  /// is farther, or no surface at all by the measure of its columns: at sharp corners, in
  /// narrow folds, on sheets thinner than a cell.
  /// \param from     [m]
  /// \param towards  unit vector
  [[nodiscard]] std::optional<double> distance(Point from, Point towards) const;

private:
  /// Columns of cells along y, or along x, and which way the air is.
  struct Columns {
    bool along_y = true;
    int outward = 1;
    int row = 0;  ///< where the search begins
  };
  /// The skin about the middle of a column: its row is height + u (slope + u bend), u
  /// columns from there.
  struct Parabola {
    double middle = 0.0;
    double height = 0.0;
    double slope = 0.0;
    double bend = 0.0;
  };

  /// Of the body in a cell [1]; 0 beyond the rim.
  [[nodiscard]] double share(int i, int j) const;
  [[nodiscard]] Columns columns_at(int i, int j) const;
  /// Where the body ends in a column, counted in rows.
  [[nodiscard]] std::optional<double> end_of(const Columns& columns, int column) const;
  /// \param half  columns on each side
  [[nodiscard]] std::optional<Parabola> skin_about(const Columns& columns, int column,
                                                   int half) const;
  /// Where a ray from a column and row meets the skin [cells].
  [[nodiscard]] std::optional<double> way_to_skin(const Columns& columns, Point from,
                                                  Point towards, int half) const;

  const TissueMap& map_;
  const Body& body_;
};

}  // namespace torsowave::geometry
