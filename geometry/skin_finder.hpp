/// \file
/// \brief Where the skin is between the cells: its place to a hundredth of a cell.
///
/// The shares of a column of cells that leads from the air into the body add up to how
/// far the body reaches in it, on the average over the column's width: the area under the
/// skin, exactly, whatever its slope. Straight lines between the middles of neighbouring
/// columns make that the skin: exact for a straight one, off by cell^2/(3 radius) at most
/// for a round one (derived here). Columns run along the axis that the skin's normal
/// is nearer to. A slice without averaging has its skin on the edges of cells.

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
  /// Of the body in a cell [1]; 0 beyond the rim.
  [[nodiscard]] double share(int i, int j) const;
  [[nodiscard]] Columns columns_at(int i, int j) const;
  [[nodiscard]] double share_in(const Columns& columns, int column, int row) const;
  /// Where the body ends in a column, counted in rows.
  [[nodiscard]] std::optional<double> end_of(const Columns& columns, int column) const;
  /// How far outside the skin a place is, along its column [cells].
  [[nodiscard]] std::optional<double> height(const Columns& columns, double column,
                                             double row) const;

  const TissueMap& map_;
  const Body& body_;
};

}  // namespace torsowave::geometry
