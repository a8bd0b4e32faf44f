#include <algorithm>

#include "postproc/hdf5_result.hpp"

namespace torsowave::postproc::hdf5 {
namespace {

/// A slash would nest groups, and "." is HDF5's name for the group itself.
[[nodiscard]] std::string group_name(std::string name)
{
  std::replace(name.begin(), name.end(), '/', '_');
  return name.empty() || name == "." ? "probe" : name;
}

[[nodiscard]] const char* units_of(const std::string& field)
{
  return field.starts_with('H') ? "A/m" : "V/m";
}

void write_field(hid_t group, const ProbeResult& probe, const Axis& time)
{
  const Dataset field = write_variable(
      group, probe.field, probe.value, {&time},
      {units_of(probe.field), probe.field + " at the probe, for the waveform as it is"});
  write_attribute(field.id(), "coordinates", std::string("x y"));
}

/// Position and first field; further fields of the same probe share them.
[[nodiscard]] Axis write_first(hid_t group, const ProbeResult& probe)
{
  write_attribute(group, "name", probe.name);
  const Axes scalar;
  write_variable(group, "x", std::span(&probe.x, 1), scalar, {"m", "cell centre, x"});
  write_variable(group, "y", std::span(&probe.y, 1), scalar, {"m", "cell centre, y"});
  Axis time = write_axis(group, "time", probe.time, {"s", "time"});
  write_field(group, probe, time);
  return time;
}

/// A probe in the file, with what its later fields need.
struct Written {
  const ProbeResult* first = nullptr;
  Group group;
  Axis time;
};

void write_probe(hid_t probes, const ProbeResult& probe, std::vector<Written>& written)
{
  const auto found = std::find_if(written.begin(), written.end(), [&](const Written& w) {
    return group_name(w.first->name) == group_name(probe.name);
  });
  if (found == written.end()) {
    Group group = create_group(probes, group_name(probe.name));
    Axis time = write_first(group.id(), probe);
    written.push_back({&probe, std::move(group), std::move(time)});
  } else if (found->first->time == probe.time) {
    write_field(found->group.id(), probe, found->time);
  } else {
    const Axis time = write_axis(found->group.id(), "time_" + probe.field, probe.time,
                                 {"s", "time of " + probe.field});
    write_field(found->group.id(), probe, time);
  }
}

}  // namespace

void write_probes(hid_t file, const Result& result)
{
  if (result.probes.empty()) {
    return;
  }
  const Group group = create_group(file, "probes");
  std::vector<Written> written;
  for (const ProbeResult& probe : result.probes) {
    if (!probe.time.empty()) {
      write_probe(group.id(), probe, written);
    }
  }
}

}  // namespace torsowave::postproc::hdf5
