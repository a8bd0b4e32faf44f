#include "postproc/hdf5_result.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "postproc/hdf5_output.hpp"

namespace torsowave::postproc::hdf5 {
namespace {

/// Raised whenever a reader of the last version could misread the new one.
constexpr std::int64_t format_version = 1;

/// Every stride-th value.
[[nodiscard]] std::vector<double> thinned(const std::vector<double>& values, int stride)
{
  std::vector<double> kept;
  for (std::size_t i = 0; i < values.size(); i += static_cast<std::size_t>(stride)) {
    kept.push_back(values[i]);
  }
  return kept;
}

template <class Get>
[[nodiscard]] std::vector<double> by_frequency(const Result& result, Get get)
{
  std::vector<double> values;
  for (const FrequencyResult& frequency : result.frequencies) {
    values.push_back(get(frequency));
  }
  return values;
}

/// CF: blank-separated words, one for each flag value.
[[nodiscard]] std::string flag_meanings(const std::vector<std::string>& names)
{
  std::string words;
  for (std::string name : names) {
    std::replace(name.begin(), name.end(), ' ', '_');
    words += (words.empty() ? "" : " ") + name;
  }
  return words;
}

/// One value for each tissue from the materials, NaN where a tissue has none.
template <class Get>
[[nodiscard]] std::vector<double> by_tissue(const Result& result, Get get)
{
  std::vector<double> values;
  for (const std::string& name : result.tissues) {
    const auto found = std::find_if(
        result.materials.begin(), result.materials.end(),
        [&](const MaterialInfo& material) { return material.tissue == name; });
    values.push_back(found == result.materials.end() ? missing : get(*found));
  }
  return values;
}

using Named = std::map<std::string, double>;

/// Writes the maps of all frequencies as (frequency, name), with the names as a
/// coordinate; NaN where a frequency lacks a name.
void write_by_name(hid_t group, const std::string& name, const std::string& axis_name,
                   const Axis& frequency, const std::vector<Named>& maps,
                   const Description& description)
{
  Named all;
  for (const Named& map : maps) {
    all.insert(map.begin(), map.end());
  }
  if (all.empty()) {
    return;
  }
  std::vector<std::string> names;
  for (const auto& [key, value] : all) {
    names.push_back(key);
  }
  std::vector<double> values;
  for (const Named& map : maps) {
    for (const std::string& key : names) {
      const auto found = map.find(key);
      values.push_back(found == map.end() ? missing : found->second);
    }
  }
  const Axis axis = write_axis(group, axis_name, names, {"", axis_name});
  write_variable(group, name, values, {&frequency, &axis}, description);
}

template <class Get>
[[nodiscard]] std::vector<Named> maps_of(const Result& result, Get get)
{
  std::vector<Named> maps;
  for (const FrequencyResult& frequency : result.frequencies) {
    maps.push_back(get(frequency));
  }
  return maps;
}

/// How powers are counted, for a long_name.
[[nodiscard]] std::string per_source(const Result& result)
{
  return std::string(result.mode == "1D" ? " per area" : " per metre of slice") +
         " and (1 " + result.source.unit + ")^2 of " + result.source.kind;
}

/// One row of sectors for each frequency, NaN where it has none.
template <class Get>
[[nodiscard]] std::vector<double> by_sector(const Result& result, Get get)
{
  std::vector<double> values;
  for (const FrequencyResult& f : result.frequencies) {
    const std::vector<double>& row = get(f);
    if (row.empty()) {
      values.insert(values.end(), result.sector_angle_deg.size(), missing);
    } else {
      values.insert(values.end(), row.begin(), row.end());
    }
  }
  return values;
}

template <class Get>
[[nodiscard]] bool any_sectors(const Result& result, Get get)
{
  return !result.sector_angle_deg.empty() &&
         std::ranges::any_of(result.frequencies,
                             [&](const auto& f) { return !get(f).empty(); });
}

}  // namespace

Axis write_frequency(hid_t group, const Result& result)
{
  return write_axis(group, "frequency",
                    by_frequency(result, [](const auto& f) { return f.frequency; }),
                    {"Hz", "frequency"});
}

PlaneAxes write_plane(hid_t group, const GridInfo& grid, int stride)
{
  Axis y = write_axis(group, "y", thinned(grid.y, stride),
                      {"m", "cell centre, towards the front of the body"});
  Axis x = write_axis(group, "x", thinned(grid.x, stride),
                      {"m", "cell centre, towards the patient's left"});
  return {std::move(y), std::move(x)};
}

void write_root_attributes(hid_t file, const Result& result)
{
  write_head(file, result.title, "torsowave-result", format_version);
  write_attribute(file, "created", result.created);
  write_attribute(file, "caution", std::string(caution));
  write_attribute(file, "mode", result.mode);
  write_attribute(file, "scenario_yaml", result.scenario_yaml);
  write_attribute(file, "scenario_sha256", result.scenario_sha256);
}

void write_run(hid_t file, const Result& result)
{
  const Group group = create_group(file, "run");
  const RunInfo& run = result.run;
  write_attribute(group.id(), "wall_s", run.wall_seconds);
  write_attribute(group.id(), "threads", std::int64_t{run.threads});
  write_attribute(group.id(), "cell_updates_per_s", run.cell_updates_per_second);
  write_attribute(group.id(), "peak_memory_bytes",
                  static_cast<std::int64_t>(run.peak_memory_bytes));
  write_attribute(group.id(), "stopped_because", run.stopped_because);
  write_attribute(group.id(), "instruction_set", run.instruction_set);
  write_attribute(group.id(), "source", result.source.kind);
  write_attribute(group.id(), "per", result.source.unit);
  write_attribute(group.id(), "power_unit", result.source.power_unit);
  if (result.transmit_power) {
    write_attribute(group.id(), "transmit_power_w", *result.transmit_power);
  }
  if (result.implant) {
    write_attribute(group.id(), "implant_x_m", result.implant->x);
    write_attribute(group.id(), "implant_y_m", result.implant->y);
  }
  if (result.scattered_rim) {
    write_attribute(group.id(), "scattered_rim_m", *result.scattered_rim);
  }
  if (!result.notes.empty()) {
    static_cast<void>(write_axis(group.id(), "note", result.notes,
                                 {"", "what users have to know of the figures"}));
  }
}

void write_refinement(hid_t file, const Result& result)
{
  if (!result.refinement) {
    return;
  }
  const Group group = create_group(file, "refinement");
  const Refinement& refinement = *result.refinement;
  write_attribute(group.id(), "cell_m", refinement.cell);
  write_attribute(group.id(), "ratio", refinement.ratio);
  write_attribute(group.id(), "order", refinement.order);
  write_attribute(group.id(), "steps", std::int64_t{refinement.steps});
  write_attribute(group.id(), "wall_s", refinement.wall_seconds);
}

void write_grid(hid_t file, const GridInfo& grid)
{
  const Group group = create_group(file, "grid");
  static_cast<void>(write_plane(group.id(), grid));
  write_attribute(group.id(), "cell_m", grid.cell);
  write_attribute(group.id(), "dt_s", grid.time_step);
  write_attribute(group.id(), "steps", std::int64_t{grid.steps});
  write_attribute(group.id(), "absorbing_cells", std::int64_t{grid.absorbing_cells});
}

void write_tissue(hid_t file, const Result& result)
{
  if (result.labels.empty()) {
    return;
  }
  const Group group = create_group(file, "tissue");
  const PlaneAxes plane = write_plane(group.id(), result.grid);
  const Dataset label =
      write_variable(group.id(), "label", result.labels, {&plane.y, &plane.x},
                     {"1", "tissue at the cell's centre, as an index into name"});
  std::vector<std::uint16_t> values(result.tissues.size());
  std::iota(values.begin(), values.end(), std::uint16_t{0});
  write_attribute(label.id(), "flag_values", values);
  write_attribute(label.id(), "flag_meanings", flag_meanings(result.tissues));
  const Axis name = write_axis(group.id(), "name", result.tissues,
                               {"", "tissue, the first is outside"});
  if (!result.tissue_titles.empty()) {
    write_variable(group.id(), "title", result.tissue_titles, {&name},
                   {"", "tissue in words"});
  }
  write_variable(group.id(), "area",
                 by_tissue(result, [](const auto& m) { return m.area; }), {&name},
                 {"m2", "area of the tissue in the slice"});
  write_variable(
      group.id(), "fit_max_relative_error",
      by_tissue(result, [](const auto& m) { return m.fit_max_relative_error; }), {&name},
      {"1", "largest relative error of the Debye fit"});
  write_variable(
      group.id(), "poles",
      by_tissue(result, [](const auto& m) { return static_cast<double>(m.poles); }),
      {&name}, {"1", "Debye poles of the fit"});
}

void write_phasors(hid_t file, const Result& result)
{
  if (result.phasors.empty()) {
    return;
  }
  const Type complex = commit_complex_type(file);
  const Group group = create_group(file, "phasors");
  const Axis frequency = write_frequency(group.id(), result);
  const PlaneAxes plane = write_plane(group.id(), result.grid);
  for (const PhasorField& field : result.phasors) {
    const Dataset dataset =
        write_variable(group.id(), field.name, complex.id(), field.values,
                       {&frequency, &plane.y, &plane.x}, {field.units, field.long_name});
    write_attribute(dataset.id(), "time_convention", std::string("exp(+j omega t)"));
  }
}

void write_sar(hid_t file, const Result& result)
{
  if (result.sar.empty()) {
    return;
  }
  const Axis frequency = write_frequency(file, result);
  const PlaneAxes plane = write_plane(file, result.grid);
  const Dataset sar = write_variable(
      file, "sar", result.sar, {&frequency, &plane.y, &plane.x},
      {fmt::format("(W/kg)/({})", result.source.power_unit),
       result.mode == "1D" ? "specific absorption rate per watt per square metre of "
                             "source power"
                           : "specific absorption rate per watt per metre of source "
                             "power"});
  write_attribute(sar.id(), "caution", std::string(caution));
}

void write_surface(hid_t file, const Result& result)
{
  const auto power = [](const FrequencyResult& f) -> const auto&
  {
    return f.sector_power;
  };
  const auto error = [](const FrequencyResult& f) -> const auto&
  {
    return f.sector_grid_error_db;
  };
  if (!any_sectors(result, power)) {
    return;
  }
  const Group group = create_group(file, "surface");
  write_attribute(group.id(), "caution", std::string(caution));
  const Axis frequency = write_frequency(group.id(), result);
  const Axis angle = write_axis(group.id(), "angle", result.sector_angle_deg,
                                {"degree",
                                 "centre of the sector about the body's centroid, "
                                 "counter-clockwise from +x"});
  write_variable(group.id(), "power", by_sector(result, power), {&frequency, &angle},
                 {"W/m", "net power outward through the body's surface in the sector" +
                             per_source(result)});
  if (any_sectors(result, error)) {
    write_variable(group.id(), "grid_error", by_sector(result, error),
                   {&frequency, &angle},
                   {"dB", "grid error of the power, from a second cell size"});
  }
}

void write_powers(hid_t file, const Result& result)
{
  if (result.frequencies.empty()) {
    return;
  }
  const Group group = create_group(file, "powers");
  write_attribute(group.id(), "caution", std::string(caution));
  const Axis frequency = write_frequency(group.id(), result);
  const std::string& unit = result.source.power_unit;
  const std::string per = per_source(result);
  const auto write = [&](const char* name, const std::string& what, auto get) {
    write_variable(group.id(), name, by_frequency(result, get), {&frequency},
                   {unit, what});
  };
  using F = FrequencyResult;
  write("source", "power of the source" + per, [](const F& f) { return f.source_power; });
  write("absorbed", "power absorbed" + per, [](const F& f) { return f.absorbed_power; });
  write("body_surface",
        "net power outward through the body's surface" + per +
            "; NaN where the body meets the absorber",
        [](const F& f) { return f.body_surface_power.value_or(missing); });
  write("radiated", "power radiated" + per, [](const F& f) { return f.radiated_power; });
  write_variable(
      group.id(), "residual",
      by_frequency(result, [](const F& f) { return f.power_balance_residual; }),
      {&frequency}, {"1", "|source - absorbed - radiated| / source"});
  write_by_name(group.id(), "absorbed_by_tissue", "tissue", frequency,
                maps_of(result, [](const F& f) { return f.absorbed_by_tissue; }),
                {unit, "power absorbed in the tissue" + per});
  write_by_name(group.id(), "uncertainty", "cause", frequency,
                maps_of(result, [](const F& f) { return f.uncertainty_db; }),
                {"dB", "uncertainty of what leaves, by cause"});
  write_by_name(group.id(), "grid_error", "power", frequency,
                maps_of(result, [](const F& f) { return f.grid_error_db; }),
                {"dB", "grid error of each power"});
}

void write_energy(hid_t file, const EnergyTrace& energy)
{
  if (energy.time.empty()) {
    return;
  }
  const Group group = create_group(file, "energy");
  const Axis time = write_axis(group.id(), "time", energy.time, {"s", "time"});
  write_variable(group.id(), "total", energy.total, {&time},
                 {"J/m", "electromagnetic energy in the grid per metre of slice"});
}

}  // namespace torsowave::postproc::hdf5
