#include "app/stop_rules.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <utility>

namespace torsowave::app {
namespace {

/// Ez is zero there for good.
[[nodiscard]] bool holds_conductor(const RunPlan& plan, int i, int j)
{
  const geometry::Mixture& mixture =
      plan.map.palette[plan.map.cells[plan.grid.raster.at(i, j)]];
  return std::ranges::any_of(mixture, [&](const geometry::Share& share) {
    return materials::is_conductor(plan.tissues[share.tissue]);
  });
}

}  // namespace

double SteadyState::change(const RunPlan& plan, const solver::PhasorRecorder& phasors)
{
  std::vector<std::complex<double>> now;
  const geometry::Raster& raster = plan.grid.raster;
  if (plan.scenario.implant) {
    now.push_back(phasors.row(0, plan.source_j)[static_cast<std::size_t>(plan.source_i)]);
  }
  // A coarse net over the domain: the far corners settle last.
  for (int j = raster.ny / 16; j < raster.ny; j += std::max(1, raster.ny / 8)) {
    for (int i = raster.nx / 16; i < raster.nx; i += std::max(1, raster.nx / 8)) {
      if (!holds_conductor(plan, i, j)) {
        now.push_back(phasors.row(0, j)[static_cast<std::size_t>(i)]);
      }
    }
  }
  if (!before_.empty() && before_.size() != now.size()) {
    throw std::logic_error("other phasors are watched than in the period before");
  }
  double worst = before_.empty() ? 1.0 : 0.0;
  for (std::size_t p = 0; p < before_.size(); ++p) {
    const double size = std::abs(now[p]);
    worst = size > 0.0 ? std::max(worst, std::abs(now[p] - before_[p]) / size) : 1.0;
  }
  before_ = std::move(now);
  return worst;
}

void SteadyState::save(solver::StateWriter& out) const
{
  out.write("steady", before_);
}

void SteadyState::restore(solver::StateReader& in)
{
  constexpr std::size_t most_watched = 16 * 16 + 1;  // see change()
  in.read_growing("steady", before_, most_watched);
}

Ending::Ending(const RunPlan& plan) : plan_(plan), fade_(plan.fade_time)
{
  const scenarios::DurationSpec& duration = plan.scenario.duration;
  if (duration.time) {
    // The time asked for is kept; the source itself is never faded.
    fade_ = std::clamp(*duration.time - plan.waveform.end, 0.0, fade_);
    begin_ = *duration.time - fade_;
    reason_ = "the time asked for";
  }
}

void Ending::look(double now, double below)
{
  if (!reason_.empty()) {
    return;
  }
  if (now > plan_.waveform.end && below >= plan_.scenario.duration.decay_db) {
    reason_ = fmt::format("energy {:.0f} dB below its peak", below);
  } else if (now >= patience * plan_.expected_time) {
    reason_ = fmt::format("not decayed after {:.3g} ns: {:.0f} dB below the peak",
                          now * 1e9, below);
  }
  begin_ = now;
}

double Ending::weight(double now) const
{
  return known() && fade_ > 0.0 ? solver::fade_weight((now - begin_) / fade_) : 1.0;
}

void Ending::save(solver::StateWriter& out) const
{
  out.write_value("fade_begin", begin_);
  out.write("stop", reason_);
}

void Ending::restore(solver::StateReader& in)
{
  in.read_value("fade_begin", begin_);
  in.read_growing("stop", reason_, longest_reason);
}

}  // namespace torsowave::app
