#include <fmt/format.h>

#include <cmath>
#include <stdexcept>

#include "postproc/figure.hpp"
#include "postproc/figure_check.hpp"
#include "postproc/figure_scale.hpp"
#include "postproc/polar_figure.hpp"

namespace torsowave::postproc {
namespace {

/// The pattern that a result is about: of what a source radiates, or of what scatters.
[[nodiscard]] std::vector<double> levels_of(const FarFieldResult& far)
{
  if (far.scattering_width.empty()) {
    return far.gain_db;
  }
  std::vector<double> levels;
  for (const double width : far.scattering_width) {
    levels.push_back(10.0 * std::log10(width));
  }
  return levels;
}

}  // namespace

void draw_far_field(const Result& result, const std::filesystem::path& path,
                    const Look& look)
{
  PolarFigure figure;
  bool scattered = false;
  for (const FrequencyResult& f : result.frequencies) {
    if (f.far_field) {
      scattered = !f.far_field->scattering_width.empty();
      figure.series.push_back(
          {frequency_text(f.frequency), result.far_angle_deg, levels_of(*f.far_field)});
    }
  }
  if (figure.series.empty()) {
    throw std::invalid_argument(
        "the result has no far field (mode 1D, or more than one medium, or one with "
        "losses, reaches the absorbing boundary)");
  }
  figure.title = scattered ? "Scattering width over the direction"
                           : "Gain over the direction, in the plane of the slice";
  figure.subtitle = describe(result);
  figure.level_label = scattered ? "scattering width [dB re 1 m]"
                                 : "10 log₁₀ of 2πU over the source’s power [dB]";
  figure.widest_span = 60.0;
  figure.notes.emplace_back(caution);
  write_figure(polar_picture(figure), path, look);
}

}  // namespace torsowave::postproc
