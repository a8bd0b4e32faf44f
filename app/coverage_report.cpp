#include "app/coverage_report.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "app/text_table.hpp"
#include "postproc/link_around.hpp"
#include "postproc/result.hpp"

namespace torsowave::app {
namespace {

using postproc::CoverageFigures;
using postproc::CoverageResult;
using postproc::CoveredPlace;

/// What a line of the tables is about.
struct Row {
  std::string reader;
  std::string angle_deg;  ///< empty: of several directions
  double frequency = 0.0;
  std::string orientation;
  const CoverageFigures* figures = nullptr;
};

[[nodiscard]] std::vector<Row> rows_of(const CoverageResult& result)
{
  std::vector<Row> rows;
  for (const postproc::CoverageMap& map : result.maps) {
    const double angle = result.directions[map.direction].angle_deg;
    const std::string reader =
        fmt::format("{:.2f} deg {}", angle, postproc::side_of_body(angle));
    const std::string exact = fmt::format("{}", angle);
    rows.push_back({reader, exact, map.frequency, "as given", &map.figures});
    if (map.best_figures) {
      rows.push_back({reader, exact, map.frequency, "best", &*map.best_figures});
    }
  }
  for (const postproc::JointCoverage& joint : result.joint) {
    rows.push_back({"any of them", "", joint.frequency, "as given", &joint.figures});
  }
  return rows;
}

[[nodiscard]] std::string share_text(double part, double whole)
{
  return fmt::format("{:.1f}", 100.0 * part / whole);
}

[[nodiscard]] std::string depth_text(const std::optional<CoveredPlace>& place)
{
  return place ? fmt::format("{:.0f}", 1e3 * place->depth) : "-";
}

[[nodiscard]] std::string place_text(const std::optional<CoveredPlace>& place)
{
  return place ? fmt::format("({}, {})", std::lround(1e3 * place->at.x),
                             std::lround(1e3 * place->at.y))
               : "-";
}

[[nodiscard]] std::string margin_text(const std::optional<CoveredPlace>& place)
{
  return place ? fmt::format("{:.1f}", place->margin_db) : "-";
}

[[nodiscard]] TextTable summary_table(const CoverageResult& result)
{
  const bool turned = result.maps.front().best_figures.has_value();
  std::vector<Column> columns{{"reader at", ""}, {"frequency", "MHz"}};
  if (turned) {
    columns.push_back({"dipole", "", Align::left});
  }
  columns.insert(columns.end(), {{"closes in", "% of area"},
                                 {"deepest\nplace", "mm"},
                                 {"it lies at", "mm"},
                                 {"its tissue", "", Align::left},
                                 {"best\nmargin", "dB"},
                                 {"worst\nmargin", "dB"}});
  TextTable table(columns);
  for (const Row& row : rows_of(result)) {
    const CoverageFigures& figures = *row.figures;
    std::vector<std::string> cells{row.reader,
                                   fmt::format("{:.6g}", 1e-6 * row.frequency)};
    if (turned) {
      cells.push_back(row.orientation);
    }
    cells.insert(cells.end(), {share_text(figures.closed, figures.area),
                               depth_text(figures.deepest), place_text(figures.deepest),
                               figures.deepest ? figures.deepest->tissue : "nowhere",
                               margin_text(figures.best), margin_text(figures.worst)});
    table.add_row(cells);
  }
  return table;
}

/// Share of each tissue's area where the link closes, a column for each row of the
/// summary.
[[nodiscard]] TextTable tissue_table(const CoverageResult& result)
{
  std::vector<Row> rows = rows_of(result);
  if (!result.joint.empty()) {
    std::erase_if(rows, [](const Row& row) { return !row.angle_deg.empty(); });
  }
  std::vector<Column> columns{{"tissue", "", Align::left}, {"area", "cm²"}};
  for (const Row& row : rows) {
    columns.push_back({fmt::format("{}\n{:.6g} MHz{}", row.reader, 1e-6 * row.frequency,
                                   row.orientation == "best" ? ", best" : ""),
                       "%"});
  }
  TextTable table(columns);
  const std::vector<postproc::CoveredTissue>& tissues = rows.front().figures->tissues;
  for (std::size_t t = 0; t < tissues.size(); ++t) {
    std::vector<std::string> cells{tissues[t].tissue,
                                   fmt::format("{:.1f}", 1e4 * tissues[t].area)};
    for (const Row& row : rows) {
      const postproc::CoveredTissue& at = row.figures->tissues[t];
      cells.push_back(share_text(at.closed, at.area));
    }
    table.add_row(cells);
  }
  return table;
}

/// The largest |difference| of a place [dB].
[[nodiscard]] double largest_difference_db(const std::vector<CoverageCheck>& checks,
                                           std::size_t place)
{
  double largest = 0.0;
  for (const CoverageCheck& check : checks) {
    if (check.place == place) {
      largest = std::max(largest, std::abs(check.difference_db()));
    }
  }
  return largest;
}

}  // namespace

std::string coverage_text(const CoverageResult& result, std::size_t most_columns)
{
  std::string text = wrapped(
      fmt::format(
          "Coverage: where in the body an implant would be heard, a {} {}. Margin of the "
          "link, {}; by reciprocity from {} of the reader's wave.",
          result.implant, result.capsule, result.link,
          result.directions.size() == 1
              ? std::string("one run")
              : fmt::format("{} runs", result.directions.size())),
      0, most_columns);
  text += '\n' + summary_table(result).text(most_columns) + '\n';
  text += "Share of each tissue's area where the link closes\n\n";
  return text + tissue_table(result).text(most_columns);
}

std::string coverage_notes(const CoverageResult& result, std::size_t most_columns,
                           bool brief)
{
  std::string warning = wrapped(postproc::caution, 0, most_columns);
  if (brief) {
    return warning;
  }
  std::string text;
  for (const postproc::ReaderDirection& direction : result.directions) {
    const double off = std::remainder(direction.angle_deg - direction.asked_deg, 360.0);
    if (std::abs(off) > 1e-6) {
      text += wrapped(fmt::format("A reader at {:.6g} deg was asked for; {:.4f} deg is "
                                  "the nearest direction that fits the grid.",
                                  direction.asked_deg, direction.angle_deg),
                      0, most_columns);
    }
  }
  for (const std::string& note : result.notes) {
    text += wrapped(note, 0, most_columns);
  }
  return text + warning;
}

bool agrees(const std::vector<CoverageCheck>& checks)
{
  return std::ranges::all_of(checks, [](const CoverageCheck& check) {
    return std::abs(check.difference_db()) <= coverage_limit_db;
  });
}

std::string check_text(const LinkCoverage& coverage,
                       const std::vector<CoverageCheck>& checks, std::size_t most_columns)
{
  const geometry::Raster& raster = coverage.plan.grid.raster;
  TextTable table({{"x", "mm"},
                   {"y", "mm"},
                   {"tissue", "", Align::left},
                   {"where", "", Align::left},
                   {"gain on\nthe map", "dBi"},
                   {"of a\ndirect run", "dBi"},
                   {"largest\ndifference", "dB"}});
  double largest = 0.0;
  for (std::size_t p = 0; p < coverage.places.size(); ++p) {
    const CheckPlace& place = coverage.places[p];
    const auto first = std::ranges::find(checks, p, &CoverageCheck::place);
    const double difference = largest_difference_db(checks, p);
    largest = std::max(largest, difference);
    table.add_row({fmt::format("{:.1f}", 1e3 * raster.x(place.cell.i)),
                   fmt::format("{:.1f}", 1e3 * raster.y(place.cell.j)), place.tissue,
                   place.interface ? "at an interface" : "inside",
                   fmt::format("{:.3f}", first->map_dbi),
                   fmt::format("{:.3f}", first->direct_dbi),
                   fmt::format("{:.5f}", difference)});
  }
  const std::string verdict = fmt::format(
      "The map is within {:.5f} dB of {} direct runs at all directions and frequencies: "
      "{} the limit of {} dB. Gains shown are those of the first.",
      largest, coverage.places.size(), agrees(checks) ? "inside" : "OUTSIDE",
      coverage_limit_db);
  return table.text(most_columns) + '\n' + wrapped(verdict, 0, most_columns);
}

std::string coverage_csv(const CoverageResult& result)
{
  std::string text = csv_record(std::vector<std::string>{
      "reader [deg]", "frequency [Hz]", "dipole", "tissue", "area [m2]", "closed [m2]",
      "deepest depth [m]", "deepest x [m]", "deepest y [m]", "best margin [dB]",
      "worst margin [dB]"});
  const auto add = [&](const Row& row, const std::string& tissue, double area,
                       double closed, const CoverageFigures* whole) {
    std::vector<std::string> cells{row.angle_deg.empty() ? "any" : row.angle_deg,
                                   csv_number(row.frequency),
                                   row.orientation,
                                   tissue,
                                   csv_number(area),
                                   csv_number(closed)};
    const bool deep = whole != nullptr && whole->deepest.has_value();
    cells.push_back(deep ? csv_number(whole->deepest->depth) : "");
    cells.push_back(deep ? csv_number(whole->deepest->at.x) : "");
    cells.push_back(deep ? csv_number(whole->deepest->at.y) : "");
    cells.push_back(whole && whole->best ? csv_number(whole->best->margin_db) : "");
    cells.push_back(whole && whole->worst ? csv_number(whole->worst->margin_db) : "");
    text += csv_record(cells);
  };
  for (const Row& row : rows_of(result)) {
    add(row, "all", row.figures->area, row.figures->closed, row.figures);
    for (const postproc::CoveredTissue& tissue : row.figures->tissues) {
      add(row, tissue.tissue, tissue.area, tissue.closed, nullptr);
    }
  }
  return text;
}

}  // namespace torsowave::app
