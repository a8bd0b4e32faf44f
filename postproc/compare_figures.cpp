#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <stdexcept>

#include "postproc/compare_result.hpp"
#include "postproc/figure_scale.hpp"
#include "postproc/line_figure.hpp"

namespace torsowave::postproc {
namespace {

constexpr double missing = std::numeric_limits<double>::quiet_NaN();
constexpr double shown_span = 60.0;  // [dB]
constexpr Color dark{28, 30, 36};    // of the second model, over the first
constexpr double full_turn = 360.0;
constexpr double least_shown = 1e-12;  // of a part on a logarithmic axis [dB]

[[nodiscard]] std::string body_text(const CompareResult& result)
{
  std::string text;
  for (const std::string& body : result.bodies) {
    text += (text.empty() ? "" : " | ") + body;
  }
  return text;
}

[[nodiscard]] std::vector<double> gigahertz(const CompareResult& result)
{
  if (result.frequencies.size() < 2) {
    throw std::invalid_argument("a picture over frequency needs two frequencies or more");
  }
  std::vector<double> values;
  for (const double frequency : result.frequencies) {
    values.push_back(1e-9 * frequency);
  }
  return values;
}

[[nodiscard]] LineFigure figure_of(const CompareResult& result, std::string title,
                                   std::string x, std::string y)
{
  LineFigure figure;
  figure.title = std::move(title);
  figure.subtitle = body_text(result);
  figure.x.label = std::move(x);
  figure.y.label = std::move(y);
  return figure;
}

/// The models of a quantity over x: the first as a line, the second dashed over it, the
/// run as dots.
template <class Value>
void add_models(const CompareResult& result, const std::string& name, Color color,
                const std::vector<double>& x, Value value, LineFigure& figure)
{
  const std::size_t run = result.models.size() - 1;
  for (const std::size_t m : {std::size_t{0}, std::size_t{1}, run}) {
    LineSeries series;
    series.x = x;
    for (std::size_t s = 0; s < x.size(); ++s) {
      series.y.push_back(value(m, s));
    }
    series.name = m == 0 ? name : "";
    series.style = m == 0   ? LineStyle::solid
                   : m == 1 ? LineStyle::dashed
                            : LineStyle::dots;
    series.color = m == 1 ? dark : color;
    figure.series.push_back(std::move(series));
  }
}

[[nodiscard]] bool has_gap(const LineFigure& figure)
{
  return std::ranges::any_of(figure.series, [](const LineSeries& series) {
    return std::ranges::any_of(series.y, [](double y) { return !std::isfinite(y); });
  });
}

[[nodiscard]] std::string models_note()
{
  return "Lines: exact, the tissues' own media. Dashed: exact, fitted Debye media. Dots: "
         "the run.";
}

[[nodiscard]] const ComparedQuantity& field_of(const CompareResult& result,
                                               std::size_t frequency)
{
  const auto found = std::ranges::find(result.quantities, true, &ComparedQuantity::field);
  if (found == result.quantities.end() || frequency >= result.frequencies.size()) {
    throw std::invalid_argument("the comparison has no such field");
  }
  return *found;
}

[[nodiscard]] std::string circle_text(const CompareResult& result, std::size_t frequency)
{
  return fmt::format("at {} on a circle of {:.4g} mm",
                     frequency_text(result.frequencies[frequency]),
                     1e3 * result.circle_radius);
}

}  // namespace

void draw_compared_powers(const CompareResult& result, const std::filesystem::path& path)
{
  const std::vector<double> x = gigahertz(result);
  const std::string& unit = result.quantities.back().unit;
  LineFigure figure = figure_of(
      result, "Powers: run and exact answer", "frequency [GHz]",
      unit == "1" ? "share of the incident power [dB]"
                  : fmt::format("power for 1 {} [dB re 1 {}]", result.source.unit, unit));
  figure.y.widest_span = shown_span;
  std::size_t color = 0;
  for (const ComparedQuantity& quantity : result.quantities) {
    if (!quantity.field) {
      add_models(
          result, quantity.name, line_color(color++), x,
          [&](std::size_t m, std::size_t s) {
            return decibels(quantity, quantity.values[m][s]);
          },
          figure);
    }
  }
  figure.notes = {models_note(), caution};
  write_lines(figure, path);
}

void draw_compared_phases(const CompareResult& result, const std::filesystem::path& path)
{
  const std::vector<double> x = gigahertz(result);
  LineFigure figure =
      figure_of(result, "Phase: run and exact answer", "frequency [GHz]", "phase [°]");
  std::size_t color = 0;
  for (const ComparedQuantity& quantity : result.quantities) {
    if (quantity.field || quantity.phases_deg.empty()) {
      continue;
    }
    // Without turns: each sample within half a turn of the one before, the models within
    // half a turn of the first.
    std::vector<double> smooth;
    for (const double phase : quantity.phases_deg.front()) {
      smooth.push_back(smooth.empty() ? phase
                                      : smooth.back() +
                                            std::remainder(phase - smooth.back(), 360.0));
    }
    add_models(
        result, quantity.name, line_color(color++), x,
        [&](std::size_t m, std::size_t s) {
          return smooth[s] + std::remainder(quantity.phases_deg[m][s] - smooth[s], 360.0);
        },
        figure);
  }
  figure.notes = {models_note(), caution};
  write_lines(figure, path);
}

void draw_power_differences(const CompareResult& result,
                            const std::filesystem::path& path)
{
  const std::vector<double> x = gigahertz(result);
  LineFigure figure = figure_of(result, "Run minus exact answer, the tissues' own media",
                                "frequency [GHz]", "difference [dB]");
  for (std::size_t q = 0; q < result.quantities.size(); ++q) {
    if (result.quantities[q].field) {
      continue;
    }
    LineSeries series;
    series.name = result.quantities[q].name;
    series.x = x;
    for (std::size_t s = 0; s < x.size(); ++s) {
      const Difference d = difference_at(result, q, s);
      series.y.push_back(d.counts ? d.total_db : missing);
    }
    figure.series.push_back(std::move(series));
  }
  if (has_gap(figure)) {
    figure.notes.emplace_back(
        "Gaps: the power is too low there for its difference to count.");
  }
  figure.notes.emplace_back(caution);
  write_lines(figure, path);
}

void draw_difference_parts(const CompareResult& result, const std::filesystem::path& path)
{
  const std::vector<double> x = gigahertz(result);
  LineFigure figure = figure_of(result, "What the difference consists of",
                                "frequency [GHz]", "largest of any power [dB]");
  figure.y.logarithmic = true;
  for (std::size_t p = 0; p < result.parts.size(); ++p) {
    LineSeries series;
    series.name = result.parts[p];
    series.x = x;
    for (std::size_t s = 0; s < x.size(); ++s) {
      double largest = missing;
      for (std::size_t q = 0; q < result.quantities.size(); ++q) {
        if (result.quantities[q].field) {
          continue;
        }
        const Difference d = difference_at(result, q, s);
        if (d.counts) {
          largest = std::fmax(largest, std::max(least_shown, std::abs(d.parts_db[p])));
        }
      }
      series.y.push_back(largest);
    }
    figure.series.push_back(std::move(series));
  }
  figure.notes = {
      "fit: Debye media in place of the tissues' own. rest: the run minus the "
      "exact answer on its grid.",
      caution};
  if (std::ranges::count(result.models, "grid") == 0) {
    figure.notes.front() =
        "fit: Debye media in place of the tissues' own. grid and rest: the run minus the "
        "exact answer for those.";
  }
  write_lines(figure, path);
}

void draw_compared_field(const CompareResult& result, std::size_t frequency,
                         const std::filesystem::path& path)
{
  const ComparedQuantity& field = field_of(result, frequency);
  LineFigure figure =
      figure_of(result, fmt::format("{} {}", field.name, circle_text(result, frequency)),
                "angle about the centre [°]",
                fmt::format("{} for 1 {} [dB re 1 {}]", field.name, result.source.unit,
                            field.unit));
  figure.y.widest_span = shown_span;
  figure.x.range = {0.0, full_turn};
  const std::size_t first = frequency * result.angles_deg.size();
  add_models(
      result, "exact", line_color(0), result.angles_deg,
      [&](std::size_t m, std::size_t s) {
        return decibels(field, field.values[m][first + s]);
      },
      figure);
  figure.series[1].name = "exact, fitted";
  figure.series[2].name = "run";
  figure.series[2].color = line_color(1);
  figure.notes = {models_note(), caution};
  write_lines(figure, path);
}

void draw_field_differences(const CompareResult& result, std::size_t frequency,
                            const std::filesystem::path& path)
{
  const ComparedQuantity& field = field_of(result, frequency);
  const auto q = static_cast<std::size_t>(&field - result.quantities.data());
  LineFigure figure = figure_of(
      result,
      fmt::format("{}, run minus exact, {}", field.name, circle_text(result, frequency)),
      "angle about the centre [°]", "difference [dB]");
  for (std::size_t p = 0; p <= result.parts.size(); ++p) {
    const bool whole = p == result.parts.size();
    LineSeries series;
    series.name = whole ? "run minus exact" : result.parts[p];
    series.style = whole ? LineStyle::solid : LineStyle::dashed;
    series.color = line_color(whole ? 0 : p + 1);
    series.x = result.angles_deg;
    for (std::size_t s = 0; s < result.angles_deg.size(); ++s) {
      const Difference d =
          difference_at(result, q, frequency * result.angles_deg.size() + s);
      series.y.push_back(!d.counts ? missing : whole ? d.total_db : d.parts_db[p]);
    }
    figure.series.push_back(std::move(series));
  }
  figure.x.range = {0.0, full_turn};
  if (has_gap(figure)) {
    figure.notes.push_back(
        fmt::format("Gaps: the field is more than {:.0f} dB below its largest.",
                    -field.counts_above_db));
  }
  figure.notes.emplace_back(caution);
  write_lines(figure, path);
}

}  // namespace torsowave::postproc
