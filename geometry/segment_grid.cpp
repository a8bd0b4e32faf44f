#include "geometry/segment_grid.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>
#include <utility>

namespace torsowave::geometry {
namespace {

constexpr double buckets_along = 128.0;
constexpr double infinity = std::numeric_limits<double>::infinity();

Rectangle box_of(const Segment& s) noexcept
{
  return {{std::min(s.a.x, s.b.x), std::min(s.a.y, s.b.y)},
          {std::max(s.a.x, s.b.x), std::max(s.a.y, s.b.y)}};
}

Rectangle box_of(const std::vector<Segment>& segments) noexcept
{
  Rectangle box{{infinity, infinity}, {-infinity, -infinity}};
  for (const Segment& s : segments) {
    const Rectangle one = box_of(s);
    box.min = {std::min(box.min.x, one.min.x), std::min(box.min.y, one.min.y)};
    box.max = {std::max(box.max.x, one.max.x), std::max(box.max.y, one.max.y)};
  }
  return box;
}

/// Bucket of a coordinate, clamped to a range that an int holds with room to spare.
int bucket_of(double offset, double bucket) noexcept
{
  return static_cast<int>(std::floor(std::clamp(offset / bucket, -1e6, 1e6)));
}

}  // namespace

SegmentGrid::SegmentGrid(std::vector<Segment> segments) : segments_(std::move(segments))
{
  if (segments_.empty()) {
    first_ = {0, 0};
    return;
  }
  const Rectangle box = box_of(segments_);
  corner_ = box.min;
  bucket_ = std::max(box.max.x - box.min.x, box.max.y - box.min.y) / buckets_along;
  nx_ = column(box.max.x) + 1;
  ny_ = row(box.max.y) + 1;
  first_.assign(static_cast<std::size_t>(nx_) * static_cast<std::size_t>(ny_) + 1, 0);
  for (const Segment& s : segments_) {
    each_bucket(box_of(s), [&](std::size_t b) { ++first_[b + 1]; });
  }
  for (std::size_t b = 1; b < first_.size(); ++b) {
    first_[b] += first_[b - 1];
  }
  entries_.resize(first_.back());
  std::vector<std::uint32_t> next(first_.begin(), first_.end() - 1);
  for (std::size_t n = 0; n < segments_.size(); ++n) {
    each_bucket(box_of(segments_[n]), [&](std::size_t b) {
      entries_[next[b]++] = static_cast<std::uint32_t>(n);
    });
  }
}

int SegmentGrid::column(double x) const noexcept
{
  return bucket_of(x - corner_.x, bucket_);
}

int SegmentGrid::row(double y) const noexcept
{
  return bucket_of(y - corner_.y, bucket_);
}

template <class Visit>
void SegmentGrid::each_bucket(const Rectangle& box, Visit visit) const
{
  const int last_i = std::min(column(box.max.x), nx_ - 1);
  const int last_j = std::min(row(box.max.y), ny_ - 1);
  for (int j = std::max(row(box.min.y), 0); j <= last_j; ++j) {
    for (int i = std::max(column(box.min.x), 0); i <= last_i; ++i) {
      visit(static_cast<std::size_t>(j) * static_cast<std::size_t>(nx_) +
            static_cast<std::size_t>(i));
    }
  }
}

void SegmentGrid::search_bucket(int i, int j, Point p, Nearest& best,
                                double& squared) const noexcept
{
  if (i < 0 || i >= nx_ || j < 0 || j >= ny_) {
    return;
  }
  const std::size_t b = static_cast<std::size_t>(j) * static_cast<std::size_t>(nx_) +
                        static_cast<std::size_t>(i);
  for (std::uint32_t e = first_[b]; e < first_[b + 1]; ++e) {
    Point point;
    const double here = squared_distance(p, segments_[entries_[e]], point);
    if (here <= squared) {
      squared = here;
      best = {std::sqrt(here), point};
    }
  }
}

/// Square rings of buckets about p's own: whatever lies beyond ring k is at least k
/// buckets away.
Nearest SegmentGrid::nearest(Point p, double limit) const noexcept
{
  Nearest best{infinity, {}};
  double squared = limit * limit;
  const int ci = column(p.x);
  const int cj = row(p.y);
  const int beyond = std::max({-ci, ci - (nx_ - 1), -cj, cj - (ny_ - 1), 0});
  const int last = std::max(
      {std::abs(ci), std::abs(ci - (nx_ - 1)), std::abs(cj), std::abs(cj - (ny_ - 1))});
  for (int k = beyond; k <= last && (k - 1) * bucket_ <= std::sqrt(squared); ++k) {
    for (int i = ci - k; i <= ci + k; ++i) {
      search_bucket(i, cj - k, p, best, squared);
      if (k > 0) {
        search_bucket(i, cj + k, p, best, squared);
      }
    }
    for (int j = cj - k + 1; j < cj + k; ++j) {
      search_bucket(ci - k, j, p, best, squared);
      search_bucket(ci + k, j, p, best, squared);
    }
  }
  return best;
}

void SegmentGrid::gather(Point p, double radius, std::vector<Segment>& found) const
{
  found.clear();
  const Rectangle box{{p.x - radius, p.y - radius}, {p.x + radius, p.y + radius}};
  each_bucket(box, [&](std::size_t b) {
    for (std::uint32_t e = first_[b]; e < first_[b + 1]; ++e) {
      Point point;
      const Segment& s = segments_[entries_[e]];
      if (squared_distance(p, s, point) <= radius * radius) {
        found.push_back(s);
      }
    }
  });
}

Nearest nearest_of(const std::vector<Segment>& segments, Point p) noexcept
{
  Nearest best{infinity, {}};
  double squared = infinity;
  for (const Segment& s : segments) {
    Point point;
    const double here = squared_distance(p, s, point);
    if (here < squared) {
      squared = here;
      best.point = point;
    }
  }
  best.distance = std::sqrt(squared);
  return best;
}

}  // namespace torsowave::geometry
