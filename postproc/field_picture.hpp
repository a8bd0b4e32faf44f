/// \file
/// \brief Values over a slice as a picture: the part that all maps of fields share.

#pragma once

#include <span>
#include <string>
#include <vector>

#include "postproc/figure_frame.hpp"
#include "postproc/figure_raster.hpp"

namespace torsowave::postproc {

/// Which lines stand out from the colours of a map.
enum class MapTone {
  dark,  ///< mostly dark colours: light lines with a dark rim
  light  ///< mostly light colours: dark lines
};

/// A map of a slice with everything but the values: drawn once, used for every frame.
///
/// paint() may be called from several threads at once.
class FieldPicture {
public:
  /// \param result  must outlive the object; labels and grid are used
  /// \param stride  every how many cells a value is given, in x and y
  /// \throws std::invalid_argument, FontError
  FieldPicture(const Result& result, int stride, ColorScale scale, const Titles& titles,
               MapTone tone, const Look& look);

  /// The map. \param values  in the coordinates of the colour bar, (ny_kept, nx_kept)
  /// \throws std::invalid_argument  Another number of values.
  [[nodiscard]] Canvas paint(std::span<const double> values) const;

  /// Adds the title, which is left out if the titles have none.
  void add_title(Canvas& canvas, const std::string& title) const;

  [[nodiscard]] const SliceLayout& layout() const noexcept { return layout_; }
  [[nodiscard]] const Font& font() const noexcept { return font_; }

private:
  const Result& result_;
  int stride_;
  ColorScale scale_;
  MapTone tone_;
  bool core_only_;
  SliceLayout layout_;
  Font font_;
  Canvas base_;  ///< page with titles, axes and colour bar
  Coverage rim_;
  Coverage outlines_;
};

}  // namespace torsowave::postproc
