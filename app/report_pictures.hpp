/// \file
/// \brief The pictures of a report page: those of `render`, inside the page.

#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "app/pictures.hpp"

namespace torsowave::app {

/// Draws pictures of a result for pages on light and on dark screens.
class ReportPictures {
public:
  /// \param result, moments  outlive the object
  /// \param width  of a picture [px]
  ReportPictures(const postproc::Result& result, const Moments& moments, int width)
      : result_(result), moments_(moments), width_(width)
  {
  }

  /// [{name, alt, light, dark}] of a quantity (\see quantities_of()), pictures as data
  /// URIs; empty where the result cannot show it.
  /// \throws postproc::WriteError, postproc::FontError
  [[nodiscard]] nlohmann::ordered_json of(const std::string& quantity) const;

  /// Frequencies that of() leaves out, since a page has to stay small.
  [[nodiscard]] std::size_t left_out() const;

private:
  const postproc::Result& result_;
  const Moments& moments_;
  int width_;
};

}  // namespace torsowave::app
