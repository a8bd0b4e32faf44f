#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "postproc/coverage_result.hpp"
#include "postproc/field_picture.hpp"
#include "postproc/figure_check.hpp"
#include "postproc/figure_png.hpp"
#include "postproc/link_around.hpp"

namespace torsowave::postproc {
namespace {

constexpr double most_margin = 40.0;  // either end of the bar [dB]

struct MarginPicture {
  std::vector<float> margin;
  std::string title;
  std::string directions;
  const CoverageFigures& figures;
};

[[nodiscard]] std::string area_text(const CoverageFigures& figures)
{
  return fmt::format("closes in {:.1f} % of {:.0f} cm² of tissue",
                     100.0 * figures.closed / figures.area, 1e4 * figures.area);
}

/// 1 where the link closes.
[[nodiscard]] std::vector<std::uint16_t> closed_cells(const std::vector<float>& margin)
{
  std::vector<std::uint16_t> closed;
  closed.reserve(margin.size());
  for (const float value : margin) {
    closed.push_back(value >= 0.0F ? 1 : 0);
  }
  return closed;
}

[[nodiscard]] Titles titles_of(const CoverageResult& result, const MarginPicture& picture)
{
  return {picture.title,
          describe(result.slice) + "; " + area_text(picture.figures),
          {fmt::format("Bold line: margin of 0 dB, red closes; {}. {}.", result.link,
                       picture.directions),
           fmt::format("Implant: {}, {}; the reader is far away, in the plane.",
                       result.implant, result.capsule),
           caution}};
}

void draw_margin(const CoverageResult& result, const MarginPicture& margin,
                 const std::filesystem::path& path)
{
  const GridInfo& grid = result.slice.grid;
  const ColorScale scale{{-most_margin, most_margin}, "margin [dB]", [](double value) {
                           return std::isnan(value)
                                      ? light_theme.paper
                                      : diverging_color(value / most_margin);
                         }};
  const FieldPicture picture(result.slice, 1, scale, titles_of(result, margin),
                             MapTone::light, {});
  Canvas canvas =
      picture.paint(std::vector<double>(margin.margin.begin(), margin.margin.end()));
  const Box& map = picture.layout().map;
  Coverage border(canvas);
  add_outlines(border, map, grid.nx, grid.ny, closed_cells(margin.margin), 4.0);
  canvas.paint(border, dark_line, 0.95, map);
  write_png(canvas, path);
}

/// "90.00° (front)"
[[nodiscard]] std::string reader_text(const ReaderDirection& direction)
{
  return fmt::format("{:.2f}° ({})", direction.angle_deg,
                     side_of_body(direction.angle_deg));
}

}  // namespace

void draw_coverage(const CoverageResult& result, std::size_t map,
                   const std::filesystem::path& path)
{
  const CoverageMap& one = result.maps.at(map);
  const std::string reader = reader_text(result.directions.at(one.direction));
  draw_margin(result,
              {margin_of(one),
               fmt::format("Where the link closes at {}, reader at {}",
                           frequency_text(one.frequency), reader),
               "Reader at " + reader, one.figures},
              path);
}

void draw_joint_coverage(const CoverageResult& result, std::size_t frequency,
                         const std::filesystem::path& path)
{
  const JointCoverage& one = result.joint.at(frequency);
  std::string angles;
  for (const ReaderDirection& direction : result.directions) {
    angles += (angles.empty() ? "" : ", ") + reader_text(direction);
  }
  draw_margin(result,
              {one.margin_db,
               fmt::format("Where the link closes at {}, best of {} readers",
                           frequency_text(one.frequency), result.directions.size()),
               "Readers at " + angles, one.figures},
              path);
}

}  // namespace torsowave::postproc
