#include "app/observers.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>
#include <utility>

#include "materials/constants.hpp"

namespace torsowave::app {
namespace {

/// When the wave is inside the body, at its surface, and outside [s].
[[nodiscard]] std::vector<double> shown_times(const RunPlan& plan)
{
  // The source is strongest in the middle of its waveform; from there the wave takes
  // `crossing` to the skin of a round body of this area, with the index of muscle-like
  // tissue, about 7.
  const double begin = std::isfinite(plan.waveform.end) ? 0.5 * plan.waveform.end : 0.0;
  const double crossing = plan.extent * 7.0 / materials::speed_of_light;
  std::vector<double> times;
  for (const double part : {0.3, 0.7, 1.2}) {
    times.push_back(begin + part * crossing);
  }
  return times;
}

}  // namespace

ProbeRecorder::ProbeRecorder(const RunPlan& plan) : cells_(plan.probe_cells)
{
  const geometry::Raster& raster = plan.grid.raster;
  for (std::size_t p = 0; p < cells_.size(); ++p) {
    probes_.push_back({plan.scenario.outputs.probes[p].name,
                       raster.x(cells_[p].i),
                       raster.y(cells_[p].j),
                       plan.centre_field(),
                       {},
                       {}});
  }
}

template <class Real>
void ProbeRecorder::sample(const solver::YeeStepper<Real>& stepper)
{
  for (std::size_t p = 0; p < cells_.size(); ++p) {
    probes_[p].time.push_back(stepper.grid().time(stepper.step()));
    probes_[p].value.push_back(stepper.centre_scale() *
                               static_cast<double>(stepper.centre_row(
                                   cells_[p].j)[static_cast<std::size_t>(cells_[p].i)]));
  }
}

void ProbeRecorder::save(solver::StateWriter& out) const
{
  for (const postproc::ProbeResult& probe : probes_) {
    out.write("probe_time", probe.time);
    out.write("probe", probe.value);
  }
}

void ProbeRecorder::restore(solver::StateReader& in, std::size_t samples)
{
  for (postproc::ProbeResult& probe : probes_) {
    in.read_growing("probe_time", probe.time, samples);
    in.read_growing("probe", probe.value, samples);
  }
}

SnapshotRecorder::SnapshotRecorder(const RunPlan& plan, postproc::ResultFile* file,
                                   FrameSpool* spool)
    : plan_(plan), spool_(spool)
{
  if (!plan.scenario.outputs.snapshots) {
    next_ = std::numeric_limits<double>::infinity();
    return;
  }
  if (file != nullptr) {
    writer_ = std::make_unique<SnapshotWriter>(*file);
  }
  moments_.plan = plan_for(plan);
  shown_times_ = moments_.plan->shown;
  const auto& images = plan.scenario.outputs.images;
  keeps_history_ = images && std::ranges::find(images->quantities, "spacetime") !=
                                 images->quantities.end();
}

/// Keeps every moment, or, when they become too many, every second, fourth, ... one.
void SnapshotRecorder::remember(const postproc::Snapshot& snapshot)
{
  std::vector<postproc::Snapshot>& history = moments_.history;
  if (taken_++ % history_stride_ != 0) {
    return;
  }
  history.push_back(snapshot);
  if (history.size() < most_history) {
    return;
  }
  for (std::size_t kept = 0; 2 * kept < history.size(); ++kept) {
    std::swap(history[kept], history[2 * kept]);
  }
  history.resize(history.size() / 2);
  history_stride_ *= 2;
}

std::optional<postproc::SnapshotPlan> SnapshotRecorder::plan_for(const RunPlan& plan)
{
  if (!plan.scenario.outputs.snapshots) {
    return std::nullopt;
  }
  const scenarios::SnapshotSpec& spec = *plan.scenario.outputs.snapshots;
  const bool electric = spec.field.starts_with('E');
  return postproc::SnapshotPlan{
      spec.field, electric ? "V/m" : "A/m",
      (electric ? "electric field along " : "magnetic field along ") +
          spec.field.substr(1),
      spec.stride, shown_times(plan)};
}

bool SnapshotRecorder::is_centred() const
{
  return plan_.scenario.outputs.snapshots->field == plan_.centre_field();
}

template <class Real>
std::vector<float> SnapshotRecorder::take(const solver::YeeStepper<Real>& stepper) const
{
  const scenarios::SnapshotSpec& spec = *plan_.scenario.outputs.snapshots;
  const geometry::Raster& raster = plan_.grid.raster;
  const bool centre = is_centred();
  const double scale = centre ? stepper.centre_scale() : stepper.edge_scale();
  std::vector<float> values;
  for (int j = 0; j < raster.ny; j += spec.stride) {
    const auto row = centre                      ? stepper.centre_row(j)
                     : spec.field.ends_with('x') ? stepper.x_edge_row(j)
                                                 : stepper.y_edge_row(j);
    for (int i = 0; i < raster.nx; i += spec.stride) {
      values.push_back(static_cast<float>(
          scale * static_cast<double>(row[static_cast<std::size_t>(i)])));
    }
  }
  return values;
}

template <class Real>
void SnapshotRecorder::sample(const solver::YeeStepper<Real>& stepper)
{
  const double now = stepper.grid().time(stepper.step());
  if (now < next_) {
    return;
  }
  std::vector<float> values = take(stepper);
  if (spool_ != nullptr) {
    spool_->append(now, values);
  }
  accept(now, std::move(values));
}

/// All that a moment does, whether it was just taken or comes from the spool.
/// \param now  of the centre field [s]
void SnapshotRecorder::accept(double now, std::vector<float> values)
{
  const double every = plan_.scenario.outputs.snapshots->every;
  next_ = every * (std::floor(now / every) + 1.0);
  postproc::Snapshot snapshot{is_centred() ? now : now - 0.5 * plan_.grid.time_step,
                              std::move(values)};
  if (writer_) {
    writer_->append(snapshot);
  }
  if (keeps_history_) {
    remember(snapshot);
  }
  std::vector<postproc::Snapshot>& shown = moments_.shown;
  if (shown.size() < shown_times_.size() && now >= shown_times_[shown.size()]) {
    shown.push_back(std::move(snapshot));
  }
}

void SnapshotRecorder::save(solver::StateWriter& out) const
{
  if (spool_ != nullptr) {
    spool_->sync();
    out.write_value("frames", spool_->frames());
    out.write_value("frames_sum", spool_->check_sum());
  }
}

void SnapshotRecorder::restore(solver::StateReader& in)
{
  if (spool_ != nullptr) {
    std::uint64_t frames = 0;
    std::uint32_t check_sum = 0;
    in.read_value("frames", frames);
    in.read_value("frames_sum", check_sum);
    spool_->replay(frames, check_sum, [this](double now, std::vector<float> values) {
      accept(now, std::move(values));
    });
  }
}

void SnapshotRecorder::finish()
{
  if (writer_) {
    writer_->finish();
  }
}

template void ProbeRecorder::sample<float>(const solver::YeeStepper<float>&);
template void ProbeRecorder::sample<double>(const solver::YeeStepper<double>&);
template void SnapshotRecorder::sample<float>(const solver::YeeStepper<float>&);
template void SnapshotRecorder::sample<double>(const solver::YeeStepper<double>&);

}  // namespace torsowave::app
