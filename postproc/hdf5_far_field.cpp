#include <algorithm>
#include <array>
#include <utility>

#include "postproc/hdf5_read.hpp"
#include "postproc/hdf5_result.hpp"

namespace torsowave::postproc::hdf5 {
namespace {

using Values = std::vector<double> FarFieldResult::*;

constexpr std::array<std::pair<const char*, Values>, 5> variables{
    {{"gain", &FarFieldResult::gain_db},
     {"intensity", &FarFieldResult::intensity},
     {"insertion_gain", &FarFieldResult::insertion_gain_db},
     {"scattering_width", &FarFieldResult::scattering_width},
     {"grid_error", &FarFieldResult::grid_error_db}}};

constexpr std::size_t most_directions = 1000000;

/// One variable by frequency and angle, NaN where a frequency lacks it; none if all do.
void write_pattern(hid_t group, const char* name, const Result& result, Values values,
                   const Axes& axes, const Description& description)
{
  std::vector<double> table;
  bool any = false;
  for (const FrequencyResult& f : result.frequencies) {
    if (f.far_field && !((*f.far_field).*values).empty()) {
      const std::vector<double>& row = (*f.far_field).*values;
      table.insert(table.end(), row.begin(), row.end());
      any = true;
    } else {
      table.insert(table.end(), result.far_angle_deg.size(), missing);
    }
  }
  if (any) {
    write_variable(group, name, table, axes, description);
  }
}

}  // namespace

void write_far_field(hid_t file, const Result& result)
{
  if (std::ranges::none_of(result.frequencies,
                           [](const auto& f) { return f.far_field.has_value(); })) {
    return;
  }
  const Group group = create_group(file, "far_field");
  write_attribute(group.id(), "caution", std::string(caution));
  const Axis frequency = write_frequency(group.id(), result);
  const Axis angle = write_axis(group.id(), "angle", result.far_angle_deg,
                                {"degree", "direction, counter-clockwise from +x"});
  const std::array<Description, variables.size()> descriptions{
      {{"dB",
        "10 log10 of 2 pi times the radiation intensity over the power of the source"},
       {"W m-1 rad-1", "radiation intensity U per metre of slice and (1 " +
                           result.source.unit + ")^2 of " + result.source.kind},
       {"dB",
        "radiation intensity over that of the same source without the body; NaN where "
        "that one sends nothing"},
       {"m", "bistatic scattering width"},
       {"dB", "grid error of the radiation intensity, from a second cell size"}}};
  for (std::size_t n = 0; n < variables.size(); ++n) {
    write_pattern(group.id(), variables[n].first, result, variables[n].second,
                  {&frequency, &angle}, descriptions[n]);
  }
}

void read_far_field(hid_t file, Result& result)
{
  if (!has(file, "far_field")) {
    return;
  }
  const Group group = open_group(file, "far_field");
  const std::size_t angles = length_of(group.id(), "angle", most_directions);
  result.far_angle_deg = read_doubles(group.id(), "angle", {angles});
  for (const auto& [name, values] : variables) {
    auto rows = read_rows(group.id(), name, result.frequencies.size(), angles);
    for (std::size_t f = 0; f < rows.size(); ++f) {
      if (!rows[f].empty()) {
        std::optional<FarFieldResult>& far = result.frequencies[f].far_field;
        (far ? *far : far.emplace()).*values = std::move(rows[f]);
      }
    }
  }
}

}  // namespace torsowave::postproc::hdf5
