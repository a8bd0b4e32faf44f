#include "app/film_scene.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <limits>
#include <numbers>
#include <utility>

#include "app/pictures.hpp"
#include "app/run_plan.hpp"
#include "postproc/figure_scale.hpp"
#include "postproc/moment_picture.hpp"
#include "scenarios/input_error.hpp"

namespace torsowave::app {
namespace {

using postproc::Result;
using postproc::Snapshot;

constexpr double range_share = 0.995;  // keeps the source's own cells from the top

/// The stored moments: the nearest one, since none between them was computed.
class StoredScene final : public Scene {
public:
  explicit StoredScene(const FilmSide& side)
      : Scene(side.snapshots.plan()),
        is_row_(side.result.mode == "1D"),
        stored_(side.snapshots)
  {
  }

  [[nodiscard]] Snapshot moment(double when) override
  {
    const std::vector<double>& times = stored_.times();
    const auto above = std::ranges::lower_bound(times, when);
    auto nearest = above == times.end() ? above - 1 : above;
    if (nearest != times.begin() && when - *(nearest - 1) < *nearest - when) {
      --nearest;
    }
    return stored_.frame(static_cast<std::size_t>(nearest - times.begin()));
  }

  [[nodiscard]] std::string title(const Snapshot& moment) const override
  {
    return postproc::moment_title(plan().field, moment.time);
  }

  [[nodiscard]] double usual_range() override
  {
    double largest = 0.0;
    for (const auto& [time, level] : levels()) {
      largest = std::max(largest, level);
    }
    return largest > 0.0 ? largest : 1.0;
  }

  [[nodiscard]] double seen_until(double level) override
  {
    double last = stored_.times().front();
    for (const auto& [time, reached] : levels()) {
      last = reached >= level ? time : last;
    }
    return last;
  }

private:
  /// By time, what all but a fiftieth of the slice stays below, or in mode 1D the largest
  /// value; of a long run every second, third ... moment.
  [[nodiscard]] const std::vector<std::pair<double, double>>& levels()
  {
    constexpr std::size_t most_values = 100'000'000;
    const double share = is_row_ ? 1.0 : 0.98;
    const std::size_t size = stored_.frame(0).values.size();
    const std::size_t step = 1 + stored_.count() * size / most_values;
    for (std::size_t n = step * levels_.size(); n < stored_.count(); n += step) {
      std::vector<double> sizes;
      for (const float value : stored_.frame(n).values) {
        if (std::isfinite(value)) {
          sizes.push_back(static_cast<double>(std::abs(value)));
        }
      }
      levels_.emplace_back(stored_.times()[n],
                           sizes.empty() ? 0.0 : postproc::percentile(sizes, share));
    }
    return levels_;
  }

  bool is_row_;
  const postproc::StoredSnapshots& stored_;
  std::vector<std::pair<double, double>> levels_;
};

/// A phasor E as Re(E exp(j w t)) through its cycles.
class SteadyScene final : public Scene {
public:
  SteadyScene(const Result& result, const postproc::PhasorField& phasor,
              std::size_t frequency)
      : Scene({phasor.name,
               fmt::format("{} per {}", phasor.units, result.source.unit),
               phasor.long_name,
               1,
               {}}),
        frequency_(result.frequencies[frequency].frequency)
  {
    const std::size_t cells = result.labels.size();
    const auto begin =
        phasor.values.begin() + static_cast<std::ptrdiff_t>(frequency * cells);
    values_.assign(begin, begin + static_cast<std::ptrdiff_t>(cells));
  }

  [[nodiscard]] Snapshot moment(double when) override
  {
    const auto turn = std::complex<float>(std::polar(1.0, 2.0 * std::numbers::pi * when));
    Snapshot snapshot{when, {}};
    snapshot.values.reserve(values_.size());
    for (const std::complex<float>& value : values_) {
      snapshot.values.push_back(value.real() * turn.real() - value.imag() * turn.imag());
    }
    return snapshot;
  }

  [[nodiscard]] std::string title(const Snapshot& moment) const override
  {
    return fmt::format("{} at {}, phase {:3.0f}°", plan().field,
                       postproc::frequency_text(frequency_),
                       360.0 * (moment.time - std::floor(moment.time)));
  }

  [[nodiscard]] double usual_range() override
  {
    std::vector<double> sizes;
    for (const std::complex<float>& value : values_) {
      if (const auto size = static_cast<double>(std::abs(value));
          std::isfinite(size) && size > 0.0) {
        sizes.push_back(size);
      }
    }
    return sizes.empty() ? 1.0 : postproc::percentile(sizes, range_share);
  }

  [[nodiscard]] double seen_until(double) override
  {
    return std::numeric_limits<double>::infinity();
  }

private:
  double frequency_;
  std::vector<std::complex<float>> values_;
};

[[nodiscard]] const postproc::PhasorField& phasor_of(const Result& result,
                                                     const std::string& name)
{
  const auto found =
      std::ranges::find(result.phasors, name, &postproc::PhasorField::name);
  if (found == result.phasors.end()) {
    refuse_film(
        fmt::format("the phasor of {} is not stored; add \"phasors: [{}]\" to outputs "
                    "and run again",
                    name, name));
  }
  return *found;
}

}  // namespace

void refuse_film(const std::string& problem)
{
  scenarios::refuse({"animation", 0, 0}, problem);
}

double level_top(double usual_range)
{
  return std::pow(10.0, std::ceil(20.0 * std::log10(usual_range) / 5.0 - 1e-9) / 4.0);
}

std::string usual_quantity(const FilmSide& side)
{
  if (side.snapshots.count() > 0) {
    return "snapshot";
  }
  if (side.result.phasors.empty()) {
    refuse_film(
        "there are neither snapshots nor phasors; add \"snapshots: {every: 0.1 ns}\" to "
        "outputs and run again");
  }
  return side.result.phasors.front().name;
}

std::unique_ptr<Scene> scene_of(const FilmSide& side, const std::string& quantity,
                                double frequency)
{
  if (is_field_name(quantity)) {
    const postproc::PhasorField& phasor = phasor_of(side.result, quantity);
    const auto number = frequency_number(side.result, frequency);
    if (!number) {
      refuse_film(fmt::format("the results have different frequencies: one lacks {}",
                              postproc::frequency_text(frequency)));
    }
    return std::make_unique<SteadyScene>(side.result, phasor, *number);
  }
  if (quantity != "snapshot") {
    refuse_film(fmt::format("{} does not move; an animation shows snapshot or a field",
                            quantity));
  }
  if (side.snapshots.count() == 0) {
    refuse_film(
        "the run took no snapshots; add \"snapshots: {every: 0.1 ns}\" to outputs and "
        "run again");
  }
  return std::make_unique<StoredScene>(side);
}

}  // namespace torsowave::app
