/// \file
/// \brief How a figure looks, whatever it shows: colours of the page, size, crop.

#pragma once

#include "postproc/color_map.hpp"

namespace torsowave::postproc {

/// The colours of everything that is not data.
struct Theme {
  Color ink{28, 30, 36};
  Color soft_ink{88, 92, 102};
  Color grid_line{222, 225, 230};
  Color paper{255, 255, 255};
  bool dark = false;

  /// A colour chosen for a line on white, light enough for this page.
  [[nodiscard]] Color line(Color chosen) const noexcept;

  /// A pale tint chosen for white paper, turned dark where the page is.
  [[nodiscard]] Color tint(Color chosen) const noexcept;
};

inline constexpr Theme light_theme{};
inline constexpr Theme dark_theme{
    {232, 234, 238}, {164, 169, 180}, {62, 66, 76}, {24, 26, 31}, true};

/// Size and colours of a figure.
struct Look {
  Theme theme{};
  int width = 0;               ///< [px]; 0: as the figure is laid out, about 1400
  bool core_only = false;      ///< without titles, axes, legend: for thumbnails
  double dots_per_inch = 0.0;  ///< noted in the file; 0: not
};

}  // namespace torsowave::postproc
