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

/// Lines over a map, whatever the page: one of them stands out from any colour.
inline constexpr Color dark_line{28, 30, 36};
inline constexpr Color light_line{255, 255, 255};

/// Where a slice lies on its figure.
struct SliceLayout {
  Box page;
  Box map;  ///< the slice; its sides are whole numbers
  Range x;  ///< outer edges of the slice [m]
  Range y;  ///< outer edges of the slice [m]

  /// Place of a point of the slice [m].
  [[nodiscard]] Point at(double x_metres, double y_metres) const noexcept;

  /// The picture to draw on.
  [[nodiscard]] Canvas canvas(const Look& look) const { return {page, map, look}; }
};

/// Room for a legend or a colour bar right of the slice, and for lines below it.
struct SliceMargins {
  int right = 190;
  int panel_height = 0;  ///< what stands at the right needs this much
  int notes = 0;         ///< lines below the axis
};

/// \throws std::invalid_argument  The grid is not a slice of at least 2 x 2 cells, or its
///         arrays disagree in size.
[[nodiscard]] SliceLayout slice_layout(const GridInfo& grid, const SliceMargins& margins);

/// Colour of a tissue on a page; the background goes with it.
[[nodiscard]] Color tissue_on(const Theme& theme, std::size_t tissue) noexcept;

/// The texts around a drawing.
struct Titles {
  std::string title;
  std::string subtitle;
  std::vector<std::string> notes;  ///< small, at the bottom
};

void draw_titles(Drawing& drawing, const Font& font, const Titles& titles);

/// Frame, ticks and names of both axes of a slice, with the patient's sides.
void draw_slice_axes(Canvas& canvas, const Font& font, const SliceLayout& layout);

/// A round length as a bar right of the slice. \param top  on the page; it needs 44 below
void draw_scale_bar(Canvas& canvas, const Font& font, const SliceLayout& layout,
                    double top);

/// A ring around the implant, if it is inside the slice, and its name if asked for.
void draw_implant(Canvas& canvas, const Font& font, const SliceLayout& layout,
                  const Result& result, bool named);

/// A rectangle of one unit's width around `box`.
void draw_frame(Drawing& drawing, const Box& box, Color color);

/// What a colour means: `color_of` takes values within `range`.
struct ColorScale {
  Range range;
  std::string label;
  std::function<Color(double)> color_of;
  std::vector<AxisTick> ticks{};  ///< empty: round ones
};

/// Colour bar at the right of `map`, as high as it.
void draw_color_bar(Canvas& canvas, const Font& font, const Box& map,
                    const ColorScale& scale);

}  // namespace torsowave::postproc
