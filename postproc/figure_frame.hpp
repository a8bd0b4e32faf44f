/// \file
/// \brief What surrounds the drawing: titles, axes, colour bar, notes.

#pragma once

#include <functional>
#include <string>
#include <vector>

#include "postproc/canvas.hpp"
#include "postproc/figure_scale.hpp"
#include "postproc/result.hpp"

namespace torsowave::postproc {

/// The colours of everything that is not data.
inline constexpr Color ink{28, 30, 36};
inline constexpr Color soft_ink{88, 92, 102};
inline constexpr Color grid_line{222, 225, 230};
inline constexpr Color paper{255, 255, 255};

/// Where a slice lies on its figure.
struct SliceLayout {
  int width = 0;   ///< of the figure [px]
  int height = 0;  ///< of the figure [px]
  Box map;         ///< the slice; whole pixels
  Range x;         ///< outer edges of the slice [m]
  Range y;         ///< outer edges of the slice [m]

  /// Place of a point of the slice [m].
  [[nodiscard]] Point at(double x_metres, double y_metres) const noexcept;
};

/// Room for a legend or a colour bar right of the slice [px], and for lines below it.
struct SliceMargins {
  int right = 190;
  int panel_height = 0;  ///< what stands at the right needs this much
  int notes = 0;         ///< lines below the axis
};

/// \throws std::invalid_argument  The grid is not a slice of at least 2 x 2 cells, or its
///         arrays disagree in size.
[[nodiscard]] SliceLayout slice_layout(const GridInfo& grid, const SliceMargins& margins);

/// The texts around a drawing.
struct Titles {
  std::string title;
  std::string subtitle;
  std::vector<std::string> notes;  ///< small, at the bottom
};

void draw_titles(Canvas& canvas, const Font& font, const Titles& titles);

/// Frame, ticks and names of both axes of a slice, with the patient's sides.
void draw_slice_axes(Canvas& canvas, const Font& font, const SliceLayout& layout);

/// A ring around the implant, if it is inside the slice, and its name if asked for.
void draw_implant(Canvas& canvas, const Font& font, const SliceLayout& layout,
                  const Result& result, bool named);

/// A rectangle of one pixel's width around `box`.
void draw_frame(Canvas& canvas, const Box& box, Color color);

/// What a colour means: `color_of` takes values within `range`.
struct ColorScale {
  Range range;
  std::string label;
  std::function<Color(double)> color_of;
};

/// Colour bar at the right of `map`, as high as it.
void draw_color_bar(Canvas& canvas, const Font& font, const Box& map,
                    const ColorScale& scale);

}  // namespace torsowave::postproc
