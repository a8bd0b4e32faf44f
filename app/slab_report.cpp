#include "app/slab_report.hpp"

#include <fmt/format.h>

#include <cmath>
#include <numbers>
#include <vector>

#include "app/text_table.hpp"
#include "postproc/result.hpp"

namespace torsowave::app {
namespace {

using postproc::SlabCase;
using postproc::SlabResult;
using postproc::SlabSource;

constexpr std::size_t most_layer_columns = 8;  ///< more layers are summed in the table

/// Where a case stands.
struct Place {
  std::size_t medium = 0;
  std::size_t polarisation = 0;
  std::size_t angle = 0;
  std::size_t frequency = 0;
};

[[nodiscard]] const SlabCase& at(const SlabResult& result, const Place& p)
{
  return result.at(p.medium, p.polarisation, p.angle, p.frequency);
}

/// Frequencies slowest, then angles, polarisations and models: as a reader compares. At
/// normal incidence the polarisations agree, and the first stands for both.
[[nodiscard]] std::vector<Place> table_order(const SlabResult& result)
{
  std::vector<Place> places;
  for (std::size_t f = 0; f < result.frequencies.size(); ++f) {
    for (std::size_t a = 0; a < result.angles_deg.size(); ++a) {
      const std::size_t count =
          result.angles_deg[a] == 0.0 ? 1 : result.polarisations.size();
      for (std::size_t p = 0; p < count; ++p) {
        for (std::size_t m = 0; m < result.media.size(); ++m) {
          places.push_back({m, p, a, f});
        }
      }
    }
  }
  return places;
}

[[nodiscard]] bool is_wave(const SlabResult& result)
{
  return result.source == SlabSource::plane_wave;
}

[[nodiscard]] bool is_oblique(const SlabResult& result)
{
  return result.angles_deg.size() > 1 || result.angles_deg.front() != 0.0;
}

[[nodiscard]] std::string percent(double share)
{
  return std::isfinite(share) ? fmt::format("{:.4g}", 100.0 * share) : "-";
}

[[nodiscard]] std::string decibel(double share)
{
  return share > 0.0 ? fmt::format("{:.2f}", 10.0 * std::log10(share)) : "-";
}

[[nodiscard]] double degrees(std::complex<double> value)
{
  return std::arg(value) * 180.0 / std::numbers::pi;
}

[[nodiscard]] double sum(const std::vector<double>& values)
{
  double total = 0.0;
  for (const double value : values) {
    total += value;
  }
  return total;
}

/// What tells one row from another.
[[nodiscard]] std::vector<Column> place_columns(const SlabResult& result, bool with_media)
{
  std::vector<Column> columns{{"frequency", "MHz"}};
  if (is_oblique(result)) {
    columns.push_back({"angle", "deg"});
    columns.push_back({"wave", "", Align::left});
  }
  if (with_media && result.media.size() > 1) {
    columns.push_back({"media", "", Align::left});
  }
  return columns;
}

[[nodiscard]] std::vector<std::string> place_cells(const SlabResult& result,
                                                   const Place& p, bool with_media)
{
  std::vector<std::string> cells{
      fmt::format("{:.6g}", 1e-6 * result.frequencies[p.frequency])};
  if (is_oblique(result)) {
    const double angle = result.angles_deg[p.angle];
    cells.push_back(fmt::format("{:.4g}", angle));
    cells.push_back(angle == 0.0 ? "any" : result.polarisations[p.polarisation]);
  }
  if (with_media && result.media.size() > 1) {
    cells.push_back(result.media[p.medium]);
  }
  return cells;
}

[[nodiscard]] std::string layers_text(const SlabResult& result, std::size_t most_columns)
{
  TextTable table(
      {{"from", "mm"}, {"to", "mm"}, {"thickness", "mm"}, {"tissue", "", Align::left}});
  const auto length = [](double metres) { return fmt::format("{:.6g}", 1e3 * metres); };
  table.add_row({"", length(result.first_face), "half-space", result.first});
  for (const postproc::SlabLayer& layer : result.layers) {
    table.add_row({length(layer.from), length(layer.to), length(layer.to - layer.from),
                   layer.tissue});
  }
  table.add_row({length(result.last_face), "", "half-space", result.last});
  return table.text(most_columns);
}

[[nodiscard]] std::string source_text(const SlabResult& result)
{
  return is_wave(result)
             ? fmt::format("Plane wave from the {}, in % of the incident power",
                           result.from_right ? "right" : "left")
             : fmt::format(
                   "Current sheet of 1 A/m (peak) at x = {:.6g} mm, in % of the "
                   "power delivered",
                   1e3 * result.sheet_x);
}

[[nodiscard]] std::vector<Column> answer_columns(const SlabResult& result)
{
  std::vector<Column> columns;
  const bool wave = is_wave(result);
  if (wave) {
    columns = {{"reflected", "%"}, {"phase of\nreflection", "deg"}};
    if (result.lossy_incidence) {
      columns.push_back({"entering", "%"});
    }
  } else {
    columns = {{"delivered", "W/m^2"}, {"into\n" + result.first, "%"}, {"", "dB"}};
  }
  if (result.layers.size() > most_layer_columns) {
    columns.push_back({"absorbed\nin layers", "%"});
  } else {
    for (const postproc::SlabLayer& layer : result.layers) {
      columns.push_back({"absorbed in\n" + layer.tissue, "%"});
    }
  }
  columns.push_back({"into\n" + (result.from_right ? result.first : result.last), "%"});
  columns.push_back({"", "dB"});
  if (result.loss_db) {
    columns.push_back({fmt::format("depth of\n{:.4g} dB", *result.loss_db), "mm"});
  }
  return columns;
}

[[nodiscard]] std::vector<std::string> answer_cells(const SlabResult& result,
                                                    const SlabCase& c)
{
  std::vector<std::string> cells;
  if (is_wave(result)) {
    cells = {percent(c.reflectance), fmt::format("{:.2f}", degrees(c.reflection))};
    if (result.lossy_incidence) {
      cells.push_back(percent(c.entering));
    }
  } else {
    cells = {fmt::format("{:.5g}", c.source_flux), percent(c.reflectance),
             decibel(c.reflectance)};
  }
  if (result.layers.size() > most_layer_columns) {
    cells.push_back(percent(sum(c.absorbed)));
  } else {
    for (const double share : c.absorbed) {
      cells.push_back(percent(share));
    }
  }
  cells.push_back(percent(c.transmittance));
  cells.push_back(decibel(c.transmittance));
  if (result.loss_db) {
    cells.push_back(c.loss_depth ? fmt::format("{:.6g}", 1e3 * *c.loss_depth) : "never");
  }
  return cells;
}

template <class Item>
void append(std::vector<Item>& list, const std::vector<Item>& more)
{
  list.insert(list.end(), more.begin(), more.end());
}

[[nodiscard]] std::string shares_text(const SlabResult& result, std::size_t most_columns)
{
  std::vector<Column> columns = place_columns(result, true);
  append(columns, answer_columns(result));
  TextTable table(std::move(columns));
  for (const Place& place : table_order(result)) {
    std::vector<std::string> cells = place_cells(result, place, true);
    append(cells, answer_cells(result, at(result, place)));
    table.add_row(std::move(cells));
  }
  return table.text(most_columns);
}

/// How much more the second model says than the first.
[[nodiscard]] std::string more(double first, double second)
{
  return first > 0.0 && second > 0.0
             ? fmt::format("{:+.4f}", 10.0 * std::log10(second / first))
             : "-";
}

[[nodiscard]] std::string differences_text(const SlabResult& result,
                                           std::size_t most_columns)
{
  std::vector<Column> columns = place_columns(result, false);
  columns.push_back({is_wave(result) ? "reflected" : "into\n" + result.first, "dB"});
  for (const postproc::SlabLayer& layer : result.layers) {
    columns.push_back({"absorbed in\n" + layer.tissue, "dB"});
  }
  columns.push_back({"into\n" + (result.from_right ? result.first : result.last), "dB"});
  TextTable table(std::move(columns));
  for (Place place : table_order(result)) {
    if (place.medium > 0) {
      continue;
    }
    const SlabCase& first = at(result, place);
    std::vector<std::string> cells = place_cells(result, place, false);
    place.medium = 1;
    const SlabCase& second = at(result, place);
    cells.push_back(more(first.reflectance, second.reflectance));
    for (std::size_t i = 0; i < result.layers.size(); ++i) {
      cells.push_back(more(first.absorbed[i], second.absorbed[i]));
    }
    cells.push_back(more(first.transmittance, second.transmittance));
    table.add_row(std::move(cells));
  }
  return fmt::format("\n{} media minus {} media\n\n{}", result.media[1], result.media[0],
                     table.text(most_columns));
}

}  // namespace

std::string slab_text(const SlabResult& result, std::size_t most_columns)
{
  std::string text = result.title.empty() ? "" : result.title + "\n\n";
  text += layers_text(result, most_columns) + "\n" + source_text(result);
  if (result.media.size() == 1) {
    text += fmt::format(", {} media", result.media.front());
  }
  text += "\n\n" + shares_text(result, most_columns);
  return result.media.size() > 1 ? text + differences_text(result, most_columns) : text;
}

std::string slab_notes(const SlabResult& result, double fit_error,
                       std::size_t most_columns)
{
  std::vector<std::string> notes;
  if (is_wave(result)) {
    notes.emplace_back(
        "Reflected: |reflection|^2 of the electric field along the face that the wave "
        "meets first. Into the medium behind: power flux there over that of the incident "
        "wave at the first face.");
  } else {
    notes.emplace_back(
        "Into a half-space: what leaves to infinity or is absorbed in it. The shares add "
        "up to 100 %.");
  }
  if (is_oblique(result)) {
    notes.emplace_back(
        "TE: electric field along z, as in mode TMz. TM: magnetic field along z, as in "
        "mode TEz. At 0 deg both are the same.");
  }
  if (result.lossy_incidence) {
    notes.emplace_back(
        "The wave comes from a medium with loss, where incident and reflected power do "
        "not separate: \"entering\" is the net flux through the first face over that of "
        "the incident wave alone, and what is absorbed and passed on adds up to it. An "
        "angle stands for the wave whose wavenumber along the face is Re(k) sin(angle).");
  }
  if (result.loss_db) {
    notes.push_back(fmt::format(
        "Depth of {:.4g} dB: behind the first face, where the power flux has fallen that "
        "far below the incident power, what is reflected included. (|E|^2 has standing "
        "waves and no such depth.)",
        *result.loss_db));
  }
  if (fit_error > 0.0) {
    notes.push_back(
        fmt::format("debye: the fit on shared relaxation times, at most {:.2g} % off the "
                    "permittivity "
                    "of any tissue here over its band.",
                    100.0 * fit_error));
  }
  notes.emplace_back(postproc::caution);
  std::string text;
  for (const std::string& note : notes) {
    text += wrapped(note, 0, most_columns);
  }
  return text;
}

}  // namespace torsowave::app
