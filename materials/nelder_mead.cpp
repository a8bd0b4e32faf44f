#include "materials/nelder_mead.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>

namespace torsowave::materials {
namespace {

using Point = std::vector<double>;

/// from + factor (to - from)
Point towards(const Point& from, const Point& to, double factor)
{
  Point point(from.size());
  for (std::size_t i = 0; i < point.size(); ++i) {
    point[i] = from[i] + factor * (to[i] - from[i]);
  }
  return point;
}

class Simplex {
public:
  Simplex(const std::function<double(std::span<const double>)>& function,
          std::span<const double> start, double step)
      : function_(function)
  {
    corners_.push_back(evaluated({start.begin(), start.end()}));
    for (std::size_t i = 0; i < start.size(); ++i) {
      Point corner{start.begin(), start.end()};
      corner[i] += step;
      corners_.push_back(evaluated(std::move(corner)));
    }
    order();
  }

  [[nodiscard]] int evaluations() const { return evaluations_; }
  [[nodiscard]] const Minimum& best() const { return corners_.front(); }

  [[nodiscard]] bool converged(const SearchLimits& limits) const
  {
    double size = 0.0;
    for (const Minimum& corner : corners_) {
      for (std::size_t i = 0; i < corner.point.size(); ++i) {
        size = std::max(size, std::abs(corner.point[i] - best().point[i]));
      }
    }
    return size < limits.tolerance;
  }

  /// Reflect the worst corner through the others, stretch, contract, or shrink all.
  void advance()
  {
    const Minimum worst = corners_.back();
    const double second = corners_[corners_.size() - 2].value;
    const Point centre = centre_of_others();
    Minimum reflected = evaluated(towards(centre, worst.point, -1.0));
    if (reflected.value < best().value) {
      Minimum stretched = evaluated(towards(centre, worst.point, -2.0));
      replace(stretched.value < reflected.value ? stretched : reflected);
    } else if (reflected.value < second) {
      replace(reflected);
    } else {
      const double factor = reflected.value < worst.value ? -0.5 : 0.5;
      Minimum contracted = evaluated(towards(centre, worst.point, factor));
      if (contracted.value < std::min(reflected.value, worst.value)) {
        replace(contracted);
      } else {
        shrink();
      }
    }
    order();
  }

private:
  Minimum evaluated(Point point)
  {
    ++evaluations_;
    const double value = function_(point);
    return {std::move(point), value};
  }

  [[nodiscard]] Point centre_of_others() const
  {
    Point centre(best().point.size(), 0.0);
    for (std::size_t c = 0; c + 1 < corners_.size(); ++c) {
      for (std::size_t i = 0; i < centre.size(); ++i) {
        centre[i] += corners_[c].point[i] / static_cast<double>(centre.size());
      }
    }
    return centre;
  }

  void replace(const Minimum& corner) { corners_.back() = corner; }

  void shrink()
  {
    for (std::size_t c = 1; c < corners_.size(); ++c) {
      corners_[c] = evaluated(towards(best().point, corners_[c].point, 0.5));
    }
  }

  void order() { std::ranges::stable_sort(corners_, {}, &Minimum::value); }

  const std::function<double(std::span<const double>)>& function_;
  std::vector<Minimum> corners_;
  int evaluations_ = 0;
};

}  // namespace

Minimum nelder_mead(const std::function<double(std::span<const double>)>& function,
                    std::span<const double> start, const SearchLimits& limits)
{
  Simplex simplex(function, start, limits.step);
  while (!simplex.converged(limits) && simplex.evaluations() < limits.evaluations) {
    simplex.advance();
  }
  return simplex.best();
}

}  // namespace torsowave::materials
