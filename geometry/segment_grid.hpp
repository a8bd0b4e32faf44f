/// \file
/// \brief Distance from a point to a set of segments, by a uniform grid of buckets.

#pragma once

#include <cstdint>
#include <vector>

#include "geometry/region.hpp"

namespace torsowave::geometry {

/// The closest point of an outline.
struct Nearest {
  double distance = 0.0;  ///< [m]
  Point point;            ///< undefined where nothing was found
};

/// Immutable; threads may share one.
class SegmentGrid {
public:
  explicit SegmentGrid(std::vector<Segment> segments);

  /// The closest point within `limit` [m]; distance is infinite if there is none.
  [[nodiscard]] Nearest nearest(Point p, double limit) const noexcept;

  /// Puts into `found` every segment within `radius` of `p`, some of them more than once.
  void gather(Point p, double radius, std::vector<Segment>& found) const;

  [[nodiscard]] const std::vector<Segment>& segments() const noexcept
  {
    return segments_;
  }

private:
  [[nodiscard]] int column(double x) const noexcept;
  [[nodiscard]] int row(double y) const noexcept;
  template <class Visit>
  void each_bucket(const Rectangle& box, Visit visit) const;
  void search_bucket(int i, int j, Point p, Nearest& best,
                     double& squared) const noexcept;

  std::vector<Segment> segments_;
  Point corner_;
  double bucket_ = 1.0;  ///< edge of a bucket [m]
  int nx_ = 1;
  int ny_ = 1;
  std::vector<std::uint32_t> first_;    ///< of each bucket in entries_; nx_ * ny_ + 1
  std::vector<std::uint32_t> entries_;  ///< segments, bucket by bucket
};

/// The closest point among `segments`.
[[nodiscard]] Nearest nearest_of(const std::vector<Segment>& segments, Point p) noexcept;

}  // namespace torsowave::geometry
