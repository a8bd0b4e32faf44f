#include <fmt/format.h>

#include <functional>

#include "postproc/coverage_result.hpp"
#include "postproc/hdf5_output.hpp"
#include "postproc/hdf5_write.hpp"

namespace torsowave::postproc {
namespace {

constexpr std::int64_t format_version = 1;

void write_attributes(hid_t file, const CoverageResult& result)
{
  using hdf5::write_attribute;
  hdf5::write_head(file, result.slice.title, "torsowave-coverage", format_version);
  write_attribute(file, "created", result.slice.created);
  write_attribute(file, "caution", std::string(caution));
  write_attribute(file, "mode", result.slice.mode);
  write_attribute(file, "scenario_yaml", result.slice.scenario_yaml);
  write_attribute(file, "scenario_sha256", result.slice.scenario_sha256);
  write_attribute(file, "cell_m", result.slice.grid.cell);
  write_attribute(file, "implant", result.implant);
  write_attribute(file, "capsule", result.capsule);
  write_attribute(file, "link", result.link);
  for (std::size_t n = 0; n < result.notes.size(); ++n) {
    write_attribute(file, fmt::format("note_{}", n + 1), result.notes[n]);
  }
}

/// The maps one behind the other.
[[nodiscard]] std::vector<float> joined(
    const std::vector<CoverageMap>& maps,
    const std::function<std::vector<float>(const CoverageMap&)>& values)
{
  std::vector<float> all;
  for (const CoverageMap& map : maps) {
    const std::vector<float> one = values(map);
    all.insert(all.end(), one.begin(), one.end());
  }
  return all;
}

void write_directions(hid_t file, const CoverageResult& result,
                      const hdf5::Axis& direction, const hdf5::Axis& frequency)
{
  std::vector<double> asked;
  for (const ReaderDirection& one : result.directions) {
    asked.push_back(one.asked_deg);
  }
  hdf5::write_variable(file, "asked_direction", asked, {&direction},
                       {"degree", "direction of the reader as asked for"});
  std::vector<double> offsets;
  for (const CoverageMap& map : result.maps) {
    offsets.push_back(map.margin_at_0_dbi);
  }
  hdf5::write_variable(file, "margin_at_0_dbi", offsets, {&direction, &frequency},
                       {"dB", "margin of the link for an implant of 0 dBi"});
}

void write_maps(hid_t file, const CoverageResult& result)
{
  std::vector<double> angles;
  for (const ReaderDirection& one : result.directions) {
    angles.push_back(one.angle_deg);
  }
  const hdf5::Axis direction =
      hdf5::write_axis(file, "direction", angles,
                       {"degree", "towards the reader, counter-clockwise from +x"});
  const hdf5::Axis frequency =
      hdf5::write_axis(file, "frequency", result.frequencies, {"Hz", "frequency"});
  const hdf5::Axis y = hdf5::write_axis(file, "y", result.slice.grid.y,
                                        {"m", "cell centre, to the patient's front"});
  const hdf5::Axis x = hdf5::write_axis(file, "x", result.slice.grid.x,
                                        {"m", "cell centre, to the patient's left"});
  write_directions(file, result, direction, frequency);
  const hdf5::Axes axes{&direction, &frequency, &y, &x};
  hdf5::write_variable(
      file, "gain", joined(result.maps, [](const auto& map) { return map.gain_dbi; }),
      axes, {"dB", "gain in dBi of an implant in the cell, towards the reader"});
  hdf5::write_variable(
      file, "margin", joined(result.maps, [](const auto& map) { return margin_of(map); }),
      axes, {"dB", "margin of the link of an implant in the cell"});
  if (!result.maps.front().best_gain_dbi.empty()) {
    hdf5::write_variable(
        file, "best_gain",
        joined(result.maps, [](const auto& map) { return map.best_gain_dbi; }), axes,
        {"dB", "gain in dBi of a dipole turned to its best direction in the plane"});
  }
  if (!result.joint.empty()) {
    std::vector<float> joint;
    for (const JointCoverage& one : result.joint) {
      joint.insert(joint.end(), one.margin_db.begin(), one.margin_db.end());
    }
    hdf5::write_variable(file, "joint_margin", joint, {&frequency, &y, &x},
                         {"dB", "largest margin of all directions"});
  }
}

}  // namespace

std::vector<float> margin_of(std::vector<float> gain_dbi, double margin_at_0_dbi)
{
  for (float& value : gain_dbi) {
    value += static_cast<float>(margin_at_0_dbi);
  }
  return gain_dbi;
}

std::vector<float> margin_of(const CoverageMap& map)
{
  return margin_of(map.gain_dbi, map.margin_at_0_dbi);
}

void write_coverage_file(const CoverageResult& result, const std::filesystem::path& path)
{
  hdf5::write_file(path, [&](hid_t file) {
    write_attributes(file, result);
    write_maps(file, result);
  });
}

}  // namespace torsowave::postproc
