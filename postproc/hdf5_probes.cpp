#include <fmt/format.h>

#include <algorithm>

#include "postproc/hdf5_read.hpp"
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

constexpr std::size_t most_samples = std::size_t{1} << 32U;

/// The fields of one probe's group; the time of the first may be that of the others.
void read_probe(hid_t group, const std::string& label, std::vector<ProbeResult>& probes)
{
  for (const std::string& field : members(group)) {
    if (field == "x" || field == "y" || field.starts_with("time")) {
      continue;
    }
    const std::string time = has(group, "time_" + field) ? "time_" + field : "time";
    const std::size_t samples = length_of(group, time, most_samples);
    probes.push_back(
        {required(text_attribute(group, "name"), fmt::format("name of {}", label)),
         read_doubles(group, "x", {}).front(), read_doubles(group, "y", {}).front(),
         field, read_doubles(group, time, {samples}),
         read_doubles(group, field, {samples})});
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

void read_probes(hid_t file, Result& result)
{
  if (!has(file, "probes")) {
    return;
  }
  const Group group = open_group(file, "probes");
  for (const std::string& name : members(group.id())) {
    read_probe(open_group(group.id(), name).id(), "/probes/" + name, result.probes);
  }
}

}  // namespace torsowave::postproc::hdf5
