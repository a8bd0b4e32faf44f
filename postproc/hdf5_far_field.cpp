#include <algorithm>
#include <limits>

#include "postproc/hdf5_result.hpp"

namespace torsowave::postproc::hdf5 {
namespace {

using Values = std::vector<double> FarFieldResult::*;

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
      table.insert(table.end(), result.far_angle_deg.size(),
                   std::numeric_limits<double>::quiet_NaN());
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
  std::vector<double> frequencies;
  for (const FrequencyResult& f : result.frequencies) {
    frequencies.push_back(f.frequency);
  }
  const Axis frequency =
      write_axis(group.id(), "frequency", frequencies, {"Hz", "frequency"});
  const Axis angle = write_axis(group.id(), "angle", result.far_angle_deg,
                                {"degree", "direction, counter-clockwise from +x"});
  const auto write = [&](const char* name, Values values, const char* units,
                         const std::string& what) {
    write_pattern(group.id(), name, result, values, {&frequency, &angle}, {units, what});
  };
  write("gain", &FarFieldResult::gain_db, "dB",
        "10 log10 of 2 pi times the radiation intensity over the power of the source");
  write("intensity", &FarFieldResult::intensity, "W m-1 rad-1",
        "radiation intensity U per metre of slice and (1 " + result.source.unit +
            ")^2 of " + result.source.kind);
  write("insertion_gain", &FarFieldResult::insertion_gain_db, "dB",
        "radiation intensity over that of the same source without the body; NaN where "
        "that one sends nothing");
  write("scattering_width", &FarFieldResult::scattering_width, "m",
        "bistatic scattering width");
  write("grid_error", &FarFieldResult::grid_error_db, "dB",
        "grid error of the radiation intensity, from a second cell size");
}

}  // namespace torsowave::postproc::hdf5
