/// \file
/// \brief From values to pixels along one axis of a figure of curves.

#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <vector>

#include "postproc/figure_scale.hpp"
#include "postproc/line_figure.hpp"

namespace torsowave::postproc {

/// An axis with its range chosen.
class ScaledAxis {
public:
  /// \param values  all values that it should hold; those not finite (or not positive on
  ///                a logarithmic axis) do not count
  /// \param air     of the range, left free at both ends
  /// \throws std::invalid_argument  \see draw_lines()
  ScaledAxis(const LineAxis& axis, std::span<const double> values, double air);

  /// 0 at the low end, 1 at the high end; not finite where the value has no place.
  [[nodiscard]] double share(double value) const;

  /// \param count  at most, with a text
  [[nodiscard]] std::vector<AxisTick> ticks(std::size_t count) const;

  [[nodiscard]] double low() const noexcept { return range_.low; }

private:
  bool logarithmic_;
  Range range_;
};

}  // namespace torsowave::postproc
