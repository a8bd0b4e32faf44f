#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <stdexcept>

#include "postproc/figure_scale.hpp"
#include "postproc/line_figure.hpp"
#include "postproc/result.hpp"
#include "postproc/slab_result.hpp"

namespace torsowave::postproc {
namespace {

constexpr double shown_span = 80.0;  // [dB]

[[nodiscard]] double decibel(double share)
{
  return share > 0.0 ? 10.0 * std::log10(share)
                     : std::numeric_limits<double>::quiet_NaN();
}

/// "air | skin_dry 2 mm | muscle"
[[nodiscard]] std::string stack_text(const SlabResult& result)
{
  std::string text = result.first;
  for (const SlabLayer& layer : result.layers) {
    text += fmt::format(" | {} {:.4g} mm", layer.tissue, 1e3 * (layer.to - layer.from));
  }
  return text + " | " + result.last;
}

/// Where a share of the power goes, and how to read it off a case.
struct Destination {
  std::string name;
  double (*share)(const SlabCase& at, std::size_t layer);
  std::size_t layer = 0;
};

[[nodiscard]] std::vector<Destination> destinations(const SlabResult& result)
{
  const bool wave = result.source == SlabSource::plane_wave;
  const std::string& behind = result.from_right ? result.first : result.last;
  std::vector<Destination> all;
  all.push_back({wave ? "reflected" : fmt::format("into {} (left)", result.first),
                 [](const SlabCase& at, std::size_t) { return at.reflectance; }});
  for (std::size_t i = 0; i < result.layers.size(); ++i) {
    all.push_back(
        {"in " + result.layers[i].tissue,
         [](const SlabCase& at, std::size_t layer) { return at.absorbed[layer]; }, i});
  }
  all.push_back(
      {wave ? fmt::format("into {}", behind) : fmt::format("into {} (right)", behind),
       [](const SlabCase& at, std::size_t) { return at.transmittance; }});
  return all;
}

/// Curves of all destinations over `x`; those of a second model dashed.
template <class CaseAt>
void add_destinations(const SlabResult& result, const std::vector<double>& x,
                      CaseAt case_at, LineFigure& figure)
{
  const std::vector<Destination> all = destinations(result);
  for (std::size_t m = 0; m < result.media.size(); ++m) {
    for (std::size_t d = 0; d < all.size(); ++d) {
      LineSeries series;
      series.x = x;
      for (std::size_t i = 0; i < x.size(); ++i) {
        series.y.push_back(decibel(all[d].share(case_at(m, i), all[d].layer)));
      }
      series.color = line_color(d);
      series.style = m == 0 ? LineStyle::solid : LineStyle::dashed;
      series.name = m == 0 ? all[d].name : "";
      figure.series.push_back(std::move(series));
    }
  }
  if (result.media.size() > 1) {
    figure.notes.push_back(fmt::format("Solid: {} media; dashed: {} media.",
                                       result.media[0], result.media[1]));
  }
  figure.notes.emplace_back(caution);
}

[[nodiscard]] std::string share_label(const SlabResult& result)
{
  return result.source == SlabSource::plane_wave ? "share of the incident power [dB]"
                                                 : "share of the power delivered [dB]";
}

/// ", TE at 30°", where it says anything.
[[nodiscard]] std::string incidence_text(const SlabResult& result,
                                         std::size_t polarisation, std::size_t angle)
{
  if (result.source == SlabSource::current_sheet) {
    return fmt::format(", current sheet at x = {:.4g} mm", 1e3 * result.sheet_x);
  }
  const double degrees = result.angles_deg[angle];
  return degrees == 0.0 ? std::string(", plane wave at normal incidence")
                        : fmt::format(", {} plane wave at {:.4g}°",
                                      result.polarisations[polarisation], degrees);
}

/// Pale tints that take turns, so that neighbours differ.
[[nodiscard]] std::vector<LineBand> bands_of(const SlabResult& result)
{
  constexpr Color light{226, 232, 240};
  constexpr Color dark{203, 213, 225};
  std::vector<LineBand> bands;
  bands.push_back({result.x.front(), result.first_face, result.first, {255, 255, 255}});
  for (std::size_t i = 0; i < result.layers.size(); ++i) {
    const SlabLayer& layer = result.layers[i];
    bands.push_back({layer.from, layer.to, layer.tissue, i % 2 == 0 ? dark : light});
  }
  bands.push_back({result.last_face, result.x.back(), result.last,
                   result.layers.size() % 2 == 0 ? dark : light});
  for (LineBand& band : bands) {
    band.from *= 1e3;
    band.to *= 1e3;
  }
  return bands;
}

/// At most four, first and last among them: with both polarisations no more curves than
/// there are colours.
[[nodiscard]] std::vector<std::size_t> shown_angles(const SlabResult& result)
{
  constexpr std::size_t most = 4;
  const std::size_t count = result.angles_deg.size();
  const std::size_t kept = std::min(count, most);
  std::vector<std::size_t> shown;
  for (std::size_t i = 0; i < kept; ++i) {
    shown.push_back(kept == 1 ? 0 : i * (count - 1) / (kept - 1));
  }
  return shown;
}

[[nodiscard]] std::string profile_name(const SlabResult& result, std::size_t polarisation,
                                       std::size_t angle)
{
  const double degrees = result.angles_deg[angle];
  if (result.source == SlabSource::current_sheet ||
      (degrees == 0.0 && result.angles_deg.size() == 1)) {
    return "";
  }
  return degrees == 0.0
             ? "normal"
             : fmt::format("{} {:.4g}°", result.polarisations[polarisation], degrees);
}

/// The field of one case; \param color counts the curves of a model.
[[nodiscard]] LineSeries profile_of(const SlabResult& result, const SlabCase& at,
                                    std::size_t model, std::size_t color)
{
  LineSeries series;
  for (const double x : result.x) {
    series.x.push_back(1e3 * x);
  }
  for (const double e : at.e_magnitude) {
    series.y.push_back(2.0 * decibel(e));
  }
  series.style = model == 0 ? LineStyle::solid : LineStyle::dashed;
  series.color = line_color(color);
  return series;
}

void add_profiles(const SlabResult& result, std::size_t frequency, LineFigure& figure)
{
  const std::vector<std::size_t> angles = shown_angles(result);
  for (std::size_t m = 0; m < result.media.size(); ++m) {
    std::size_t color = 0;
    for (const std::size_t a : angles) {
      // At normal incidence the second polarisation would repeat the first.
      const std::size_t count =
          result.angles_deg[a] == 0.0 ? 1 : result.polarisations.size();
      for (std::size_t p = 0; p < count; ++p) {
        LineSeries series = profile_of(result, result.at(m, p, a, frequency), m, color++);
        series.name = m == 0 ? profile_name(result, p, a) : "";
        figure.series.push_back(std::move(series));
      }
    }
  }
  if (angles.size() < result.angles_deg.size()) {
    figure.notes.push_back(fmt::format("{} of {} angles are shown; all are in slab.h5.",
                                       angles.size(), result.angles_deg.size()));
  }
}

}  // namespace

void draw_slab_spectrum(const SlabResult& result, std::size_t polarisation,
                        std::size_t angle, const std::filesystem::path& path)
{
  if (result.frequencies.size() < 2) {
    throw std::invalid_argument("a spectrum needs two frequencies or more");
  }
  LineFigure figure;
  figure.title = "Where the power goes" + incidence_text(result, polarisation, angle);
  figure.subtitle = stack_text(result);
  figure.x.label = "frequency [GHz]";
  figure.y = {.label = share_label(result), .range = {}, .widest_span = shown_span};
  std::vector<double> gigahertz;
  for (const double frequency : result.frequencies) {
    gigahertz.push_back(1e-9 * frequency);
  }
  const auto case_at = [&](std::size_t m, std::size_t f) -> const SlabCase& {
    return result.at(m, polarisation, angle, f);
  };
  add_destinations(result, gigahertz, case_at, figure);
  write_lines(figure, path);
}

void draw_slab_angles(const SlabResult& result, std::size_t polarisation,
                      std::size_t frequency, const std::filesystem::path& path)
{
  if (result.angles_deg.size() < 2) {
    throw std::invalid_argument("a picture over the angle needs two angles or more");
  }
  LineFigure figure;
  figure.title = fmt::format("Where the power goes, {} plane wave at {}",
                             result.polarisations[polarisation],
                             frequency_text(result.frequencies[frequency]));
  figure.subtitle = stack_text(result);
  figure.x.label = "angle of incidence [°]";
  figure.y = {.label = share_label(result), .range = {}, .widest_span = shown_span};
  const auto case_at = [&](std::size_t m, std::size_t a) -> const SlabCase& {
    return result.at(m, polarisation, a, frequency);
  };
  add_destinations(result, result.angles_deg, case_at, figure);
  write_lines(figure, path);
}

void draw_slab_profile(const SlabResult& result, std::size_t frequency,
                       const std::filesystem::path& path)
{
  if (result.x.empty()) {
    throw std::invalid_argument("the result has no profiles over x");
  }
  const bool wave = result.source == SlabSource::plane_wave;
  LineFigure figure;
  figure.title = fmt::format("Electric field across the layers at {}",
                             frequency_text(result.frequencies[frequency]));
  figure.subtitle = wave ? fmt::format("plane wave of 1 V/m (peak) travelling to the {}",
                                       result.from_right ? "left" : "right")
                         : fmt::format("current sheet of 1 A/m (peak) at x = {:.4g} mm",
                                       1e3 * result.sheet_x);
  figure.x.label = "x [mm]";
  figure.y = {.label = "|E| [dB re 1 V/m]", .range = {}, .widest_span = 120.0};
  figure.bands = bands_of(result);
  if (!wave) {
    figure.marks.push_back({1e3 * result.sheet_x, "sheet"});
  }
  add_profiles(result, frequency, figure);
  if (result.media.size() > 1) {
    figure.notes.push_back(fmt::format("Solid: {} media; dashed: {} media.",
                                       result.media[0], result.media[1]));
  }
  figure.notes.emplace_back(caution);
  write_lines(figure, path);
}

}  // namespace torsowave::postproc
