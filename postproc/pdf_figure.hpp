/// \file
/// \brief A figure of lines and text as PDF (ISO 32000-1), for papers.

#pragma once

#include <string>

#include "postproc/vector_figure.hpp"

namespace torsowave::postproc {

/// The bytes of a PDF file of one page, with the part of the figures' font that it uses.
///
/// With a resolution the page has its size on paper, width over resolution; without one a
/// pixel is 1/96 inch, as in CSS and SVG (W3C, *CSS Values and Units 3*, 5.2).
/// \throws FontError  The font cannot be loaded.
/// \throws std::runtime_error  The page cannot be drawn: too large, or a text that is not
/// UTF-8.
[[nodiscard]] std::string as_pdf(const VectorFigure& figure, const Look& look);

}  // namespace torsowave::postproc
