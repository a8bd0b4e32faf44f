#include <fmt/format.h>

#include <cmath>
#include <numbers>

#include "postproc/hdf5_output.hpp"
#include "postproc/hdf5_write.hpp"
#include "postproc/result.hpp"
#include "postproc/slab_result.hpp"

namespace torsowave::postproc {
namespace {

constexpr std::int64_t format_version = 1;

template <class Get>
[[nodiscard]] std::vector<double> by_case(const SlabResult& result, Get get)
{
  std::vector<double> values;
  for (const SlabCase& at : result.cases) {
    values.push_back(get(at));
  }
  return values;
}

/// Lists of the cases, one behind the other.
template <class Value>
[[nodiscard]] std::vector<Value> joined(const SlabResult& result,
                                        std::vector<double> SlabCase::*member)
{
  std::vector<Value> values;
  for (const SlabCase& at : result.cases) {
    for (const double value : at.*member) {
      values.push_back(static_cast<Value>(value));
    }
  }
  return values;
}

[[nodiscard]] double degrees(std::complex<double> value)
{
  return std::arg(value) * 180.0 / std::numbers::pi;
}

/// The four dimensions of all cases; those that a sheet lacks have length 1.
struct CaseAxes {
  hdf5::Axis media;
  hdf5::Axis polarisation;
  hdf5::Axis angle;
  hdf5::Axis frequency;

  CaseAxes(hid_t group, const SlabResult& result)
      : media(hdf5::write_axis(group, "media", result.media, {"", "model of the media"})),
        polarisation(hdf5::write_axis(group, "polarisation", result.polarisations,
                                      {"", "TE: E, TM: H along z"})),
        angle(hdf5::write_axis(group, "angle", result.angles_deg,
                               {"degree", "angle of incidence from the normal"})),
        frequency(
            hdf5::write_axis(group, "frequency", result.frequencies, {"Hz", "frequency"}))
  {
  }
  [[nodiscard]] hdf5::Axes all() const
  {
    return {&media, &polarisation, &angle, &frequency};
  }
};

void write_attributes(hid_t file, const SlabResult& result)
{
  using hdf5::write_attribute;
  hdf5::write_head(file, result.title, "torsowave-slab", format_version);
  write_attribute(file, "created", result.created);
  write_attribute(file, "caution", std::string(caution));
  write_attribute(file, "scenario_yaml", result.scenario_yaml);
  write_attribute(file, "scenario_sha256", result.scenario_sha256);
  write_attribute(file, "source",
                  std::string(result.source == SlabSource::plane_wave ? "plane_wave"
                                                                      : "current_sheet"));
  write_attribute(file, "first_medium", result.first);
  write_attribute(file, "last_medium", result.last);
  write_attribute(file, "first_face_m", result.first_face);
  write_attribute(file, "last_face_m", result.last_face);
}

void write_layers(hid_t file, const SlabResult& result)
{
  if (result.layers.empty()) {
    return;
  }
  const hdf5::Group group = hdf5::create_group(file, "layers");
  std::vector<double> number;
  std::vector<std::string> tissue;
  std::vector<double> from;
  std::vector<double> to;
  for (const SlabLayer& layer : result.layers) {
    number.push_back(static_cast<double>(number.size()));
    tissue.push_back(layer.tissue);
    from.push_back(layer.from);
    to.push_back(layer.to);
  }
  const hdf5::Axis axis =
      hdf5::write_axis(group.id(), "layer", number, {"1", "layer, from left to right"});
  hdf5::write_variable(group.id(), "tissue", tissue, {&axis}, {"", "tissue"});
  hdf5::write_variable(group.id(), "from", from, {&axis}, {"m", "x of the left face"});
  hdf5::write_variable(group.id(), "to", to, {&axis}, {"m", "x of the right face"});
}

void write_plane_wave(hid_t group, const SlabResult& result, const hdf5::Axes& axes)
{
  const auto write = [&](const char* name, const char* units, const char* what,
                         auto get) {
    hdf5::write_variable(group, name, by_case(result, get), axes, {units, what});
  };
  write("incident_flux", "W/m2", "power of the incident wave of 1 V/m (peak) per area",
        [](const SlabCase& c) { return c.source_flux; });
  write("reflectance", "1", "|reflection|^2 of tangential E at the first face met",
        [](const SlabCase& c) { return c.reflectance; });
  write("reflection_phase", "degree", "phase of the reflection of tangential E",
        [](const SlabCase& c) { return degrees(c.reflection); });
  write("entering", "1", "net power through the first face met over the incident power",
        [](const SlabCase& c) { return c.entering; });
  write("transmittance", "1", "power into the medium behind over the incident power",
        [](const SlabCase& c) { return c.transmittance; });
  write("transmission_magnitude", "1",
        "tangential E at the last face over the incident one at the first",
        [](const SlabCase& c) { return std::abs(c.transmission); });
  write("transmission_phase", "degree", "its phase",
        [](const SlabCase& c) { return degrees(c.transmission); });
  if (result.loss_db) {
    write("loss_depth", "m",
          "depth at which the power flux has fallen by loss_db below the incident power; "
          "NaN where it never does",
          [](const SlabCase& c) { return c.loss_depth.value_or(hdf5::missing); });
    hdf5::write_attribute(group, "loss_db", *result.loss_db);
  }
}

void write_sheet(hid_t group, const SlabResult& result, const hdf5::Axes& axes)
{
  const auto write = [&](const char* name, const char* units, const char* what,
                         auto get) {
    hdf5::write_variable(group, name, by_case(result, get), axes, {units, what});
  };
  hdf5::write_attribute(group, "sheet_x_m", result.sheet_x);
  write("delivered", "W/m2", "power out of the sheet of 1 A/m (peak) per area",
        [](const SlabCase& c) { return c.source_flux; });
  write("into_first", "1", "share that the medium left of all layers takes",
        [](const SlabCase& c) { return c.reflectance; });
  write("into_last", "1", "share that the medium right of all layers takes",
        [](const SlabCase& c) { return c.transmittance; });
}

void write_powers(hid_t file, const SlabResult& result)
{
  const hdf5::Group group = hdf5::create_group(file, "slab");
  hdf5::write_attribute(group.id(), "caution", std::string(caution));
  const CaseAxes axes(group.id(), result);
  if (result.source == SlabSource::plane_wave) {
    write_plane_wave(group.id(), result, axes.all());
  } else {
    write_sheet(group.id(), result, axes.all());
  }
  if (!result.layers.empty()) {
    std::vector<double> number;
    for (std::size_t i = 0; i < result.layers.size(); ++i) {
      number.push_back(static_cast<double>(i));
    }
    const hdf5::Axis layer =
        hdf5::write_axis(group.id(), "layer", number, {"1", "layer, from left to right"});
    hdf5::Axes all = axes.all();
    all.push_back(&layer);
    hdf5::write_variable(group.id(), "absorbed",
                         joined<double>(result, &SlabCase::absorbed), all,
                         {"1", "power absorbed in the layer over the source's"});
  }
}

void write_profiles(hid_t file, const SlabResult& result)
{
  if (result.x.empty()) {
    return;
  }
  const hdf5::Group group = hdf5::create_group(file, "profile");
  const CaseAxes axes(group.id(), result);
  const hdf5::Axis x =
      hdf5::write_axis(group.id(), "x", result.x, {"m", "across the layers"});
  hdf5::Axes all = axes.all();
  all.push_back(&x);
  const char* per =
      result.source == SlabSource::plane_wave ? "incident wave of 1 V/m" : "1 A/m";
  hdf5::write_variable(group.id(), "e_magnitude",
                       joined<float>(result, &SlabCase::e_magnitude), all,
                       {"V/m", fmt::format("peak electric field for {}", per)});
  hdf5::write_variable(group.id(), "flux", joined<float>(result, &SlabCase::flux), all,
                       {"W/m2", fmt::format("power flux along +x for {}", per)});
}

}  // namespace

void write_slab_file(const SlabResult& result, const std::filesystem::path& path)
{
  hdf5::write_file(path, [&](hid_t file) {
    write_attributes(file, result);
    write_layers(file, result);
    write_powers(file, result);
    write_profiles(file, result);
  });
}

}  // namespace torsowave::postproc
