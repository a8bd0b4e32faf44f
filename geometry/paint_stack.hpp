/// \file
/// \brief The coats of paint of a slice, ready for questions about points and small
/// discs.

#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "geometry/region.hpp"
#include "geometry/segment_grid.hpp"
#include "geometry/shape.hpp"

namespace torsowave::geometry {

/// How a set of points lies to a coat's own line: the outline of its region, or for a
/// shell the curve at its thickness from the union's outline ("in" is nearer than that).
enum class Side : std::uint8_t { out, in, cut };

/// One coat: a region, or a rind that covers the part of all regions below it that is
/// nearer than `thickness` to the outline of their union.
struct Coat {
  std::uint16_t tissue = 0;
  std::optional<Region> region;  ///< empty for a shell
  double thickness = 0.0;        ///< of a shell [m]
  std::shared_ptr<const SegmentGrid>
      outline;  ///< of a shell; consecutive shells share it
};

/// Immutable; threads may share one.
class PaintStack {
public:
  /// \throws std::invalid_argument  As voxelise().
  PaintStack(const std::string& background, const std::vector<Shape>& shapes,
             const std::vector<Shape>& capsules);

  /// The background, then all other tissues in order of first appearance.
  [[nodiscard]] const std::vector<std::string>& tissues() const noexcept
  {
    return tissues_;
  }

  /// From bottom to top.
  [[nodiscard]] const std::vector<Coat>& coats() const noexcept { return coats_; }

  /// Index of the tissue at a point.
  [[nodiscard]] std::uint16_t tissue_at(Point p) const noexcept;

  /// Side of a point; never cut.
  [[nodiscard]] Side side_of(const Coat& coat, Point p) const noexcept;

  /// What top() says where no coat covers the pixels of a label map.
  static constexpr std::uint16_t bare = 65535;

  /// Index of the tissue where the sides are these, one for each coat. Coats that are cut
  /// count as out. Where no coat is: the background, or `bare` over a label map.
  [[nodiscard]] std::uint16_t top(std::span<const Side> sides) const noexcept;

  /// The label map under all coats, or nothing.
  [[nodiscard]] const LabelGrid* map() const noexcept { return map_.get(); }

  /// Index of each of the map's tissues.
  [[nodiscard]] const std::vector<std::uint16_t>& map_tissues() const noexcept
  {
    return map_tissues_;
  }

  /// Index of the tissue under all coats.
  [[nodiscard]] std::uint16_t under(Point p) const noexcept;

private:
  std::uint16_t intern(const std::string& tissue);
  void add(const Shape& shape, const std::string& name);
  void add_map(const LabelMap& map, const std::string& name);
  void add_shell(const Shell& shell, const std::string& name, Coat& coat) const;

  std::vector<std::string> tissues_;
  std::shared_ptr<const LabelGrid> map_;
  std::vector<std::uint16_t> map_tissues_;
  std::vector<Coat> coats_;
};

}  // namespace torsowave::geometry
