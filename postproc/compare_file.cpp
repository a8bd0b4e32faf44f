#include "postproc/compare_result.hpp"
#include "postproc/hdf5_output.hpp"
#include "postproc/hdf5_write.hpp"

namespace torsowave::postproc {
namespace {

constexpr std::int64_t format_version = 1;

void write_attributes(hid_t file, const CompareResult& result)
{
  using hdf5::write_attribute;
  hdf5::write_head(file, result.title, "torsowave-compare", format_version);
  write_attribute(file, "created", result.created);
  write_attribute(file, "caution", std::string(caution));
  write_attribute(file, "mode", result.mode);
  write_attribute(file, "exact", result.exact);
  write_attribute(file, "source", result.source.kind);
  write_attribute(file, "source_unit", result.source.unit);
  write_attribute(file, "scenario_yaml", result.scenario_yaml);
  write_attribute(file, "scenario_sha256", result.scenario_sha256);
  write_attribute(file, "cell_m", result.grid.cell);
  write_attribute(file, "dt_s", result.grid.time_step);
  write_attribute(file, "steps", static_cast<std::int64_t>(result.grid.steps));
  write_attribute(file, "stopped_because", result.run.stopped_because);
  write_attribute(file, "end_error_db", result.end_error_db);
  write_attribute(file, "fit_max_relative_error", result.fit_max_relative_error);
}

/// By model, one behind the other.
[[nodiscard]] std::vector<double> joined(const std::vector<std::vector<double>>& models)
{
  std::vector<double> all;
  for (const std::vector<double>& model : models) {
    all.insert(all.end(), model.begin(), model.end());
  }
  return all;
}

/// The parts of all samples, part by part.
[[nodiscard]] std::vector<double> parts_of(const CompareResult& result, std::size_t q)
{
  std::vector<double> all;
  for (std::size_t p = 0; p < result.parts.size(); ++p) {
    for (std::size_t s = 0; s < samples(result.quantities[q]); ++s) {
      all.push_back(difference_at(result, q, s).parts_db[p]);
    }
  }
  return all;
}

/// A group for each quantity, with axes of its own.
void write_quantity(hid_t file, const CompareResult& result, std::size_t q)
{
  const ComparedQuantity& quantity = result.quantities[q];
  const hdf5::Group group = hdf5::create_group(file, quantity.key);
  hdf5::write_attribute(group.id(), "counts_above_db", quantity.counts_above_db);
  const hdf5::Axis model =
      hdf5::write_axis(group.id(), "model", result.models, {"", "from exact to run"});
  const hdf5::Axis part = hdf5::write_axis(group.id(), "part", result.parts,
                                           {"", "what a model adds to the one before"});
  const hdf5::Axis frequency =
      hdf5::write_axis(group.id(), "frequency", result.frequencies, {"Hz", "frequency"});
  hdf5::Axis angle;
  hdf5::Axes places{&frequency};
  if (quantity.field) {
    angle = hdf5::write_axis(
        group.id(), "angle", result.angles_deg,
        {"degree", "about the body's centre, counter-clockwise from +x"});
    hdf5::write_attribute(group.id(), "circle_radius_m", result.circle_radius);
    places.push_back(&angle);
  }
  const auto with = [&places](const hdf5::Axis& first) {
    hdf5::Axes axes{&first};
    axes.insert(axes.end(), places.begin(), places.end());
    return axes;
  };
  hdf5::write_variable(group.id(), "value", joined(quantity.values), with(model),
                       {quantity.unit, quantity.name});
  if (!quantity.phases_deg.empty()) {
    hdf5::write_variable(group.id(), "phase", joined(quantity.phases_deg), with(model),
                         {"degree", "its phase"});
  }
  hdf5::write_variable(group.id(), "difference", parts_of(result, q), with(part),
                       {"dB", "of each part; their sum is run minus cole-cole"});
}

}  // namespace

void write_compare_file(const CompareResult& result, const std::filesystem::path& path)
{
  hdf5::write_file(path, [&](hid_t file) {
    write_attributes(file, result);
    for (std::size_t q = 0; q < result.quantities.size(); ++q) {
      write_quantity(file, result, q);
    }
  });
}

}  // namespace torsowave::postproc
