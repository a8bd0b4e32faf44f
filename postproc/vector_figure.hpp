/// \file
/// \brief A figure of lines and text alone: as pixels, or as SVG (W3C, *Scalable Vector
/// Graphics 1.1*, 2011) or PDF (pdf_figure.hpp) for papers.

#pragma once

#include <filesystem>
#include <functional>
#include <string>

#include "postproc/canvas.hpp"

namespace torsowave::postproc {

struct VectorFigure {
  std::string title;  ///< for readers that do not see the drawing
  Box page;
  Box core;  ///< what a thumbnail shows
  std::function<void(Drawing&)> draw;
};

[[nodiscard]] Canvas as_pixels(const VectorFigure& figure, const Look& look);

/// The text of an SVG file. Texts stay texts, in the font of the figures or one like it.
[[nodiscard]] std::string as_svg(const VectorFigure& figure, const Look& look);

/// SVG if the name ends in .svg, PDF if in .pdf, else PNG; written beside its final name
/// and renamed. \throws WriteError, FontError
void write_figure(const VectorFigure& figure, const std::filesystem::path& path,
                  const Look& look);

}  // namespace torsowave::postproc
