#include "postproc/result_file.hpp"

#include <fmt/format.h>

#include <stdexcept>
#include <utility>

#include "postproc/hdf5_output.hpp"
#include "postproc/hdf5_result.hpp"

namespace torsowave::postproc {
namespace {

/// The growing group /snapshots.
class SnapshotGroup {
public:
  SnapshotGroup(hid_t file, const GridInfo& grid, const SnapshotPlan& plan)
      : group_(hdf5::create_group(file, "snapshots")),
        time_(hdf5::create_unlimited_axis(group_.id(), "time", {"s", "time"})),
        plane_(hdf5::write_plane(group_.id(), grid, plan.stride)),
        field_(hdf5::create_variable(
            group_.id(), plan.field, H5T_NATIVE_FLOAT, {&time_, &plane_.y, &plane_.x},
            {plan.units, plan.long_name.empty() ? plan.field : plan.long_name}))
  {
    hdf5::write_attribute(group_.id(), "stride", std::int64_t{plan.stride});
    if (!plan.shown.empty()) {
      hdf5::write_attribute(group_.id(), "shown_s", plan.shown);
    }
  }

  void append(const Snapshot& snapshot)
  {
    const std::size_t expected = plane_.y.size * plane_.x.size;
    if (snapshot.values.size() != expected) {
      throw std::invalid_argument(fmt::format("a snapshot holds {} values, expected {}",
                                              snapshot.values.size(), expected));
    }
    hdf5::append_coordinate(time_, snapshot.time);
    hdf5::append_frame(field_.id(), {&time_, &plane_.y, &plane_.x}, snapshot.values);
  }

private:
  hdf5::Group group_;
  hdf5::Axis time_;
  hdf5::PlaneAxes plane_;
  hdf5::Dataset field_;
};

}  // namespace

struct ResultFile::State {
  State(std::filesystem::path path, GridInfo grid_info, std::optional<SnapshotPlan> plan_)
      : file(std::move(path)), grid(std::move(grid_info)), plan(std::move(plan_))
  {
  }

  hdf5::OutputFile file;
  GridInfo grid;
  std::optional<SnapshotPlan> plan;
  std::optional<SnapshotGroup> snapshots;

  void require_open() const
  {
    if (!file.is_open()) {
      throw std::logic_error(
          fmt::format("{} is already committed", file.path().string()));
    }
  }

  void write_all(const Result& result) const
  {
    hdf5::write_root_attributes(file.id(), result);
    hdf5::write_run(file.id(), result);
    hdf5::write_grid(file.id(), result.grid);
    hdf5::write_tissue(file.id(), result);
    hdf5::write_phasors(file.id(), result);
    hdf5::write_sar(file.id(), result);
    hdf5::write_sar_peaks(file.id(), result);
    hdf5::write_surface(file.id(), result);
    hdf5::write_far_field(file.id(), result);
    hdf5::write_antenna_gain(file.id(), result);
    hdf5::write_powers(file.id(), result);
    hdf5::write_probes(file.id(), result);
    hdf5::write_energy(file.id(), result.energy);
    hdf5::write_layers(file.id(), result);
    hdf5::write_refinement(file.id(), result);
  }
};

ResultFile::ResultFile(std::filesystem::path path, const GridInfo& grid,
                       const std::optional<SnapshotPlan>& snapshots)
{
  if (snapshots && snapshots->stride < 1) {
    throw std::invalid_argument(
        fmt::format("the stride of snapshots must be >= 1, got {}", snapshots->stride));
  }
  state_ = std::make_unique<State>(std::move(path), grid, snapshots);
}

ResultFile::~ResultFile()
{
  const hdf5::QuietErrors quiet;
  state_.reset();
}

void ResultFile::append(const Snapshot& snapshot)
{
  state_->require_open();
  if (!state_->plan) {
    throw std::logic_error("a snapshot came, but none was planned");
  }
  state_->file.write([&] {
    if (!state_->snapshots) {
      state_->snapshots.emplace(state_->file.id(), state_->grid, *state_->plan);
    }
    state_->snapshots->append(snapshot);
  });
}

void ResultFile::commit(const Result& result)
{
  state_->require_open();
  state_->file.write([&] {
    state_->write_all(result);
    state_->snapshots.reset();
  });
  state_->file.commit();
}

}  // namespace torsowave::postproc
