#include "postproc/moment_picture.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <vector>

#include "postproc/field_picture.hpp"
#include "postproc/figure_check.hpp"
#include "postproc/figure_png.hpp"

namespace torsowave::postproc {
namespace {

constexpr double snapshot_share = 0.995;  // of a wave's moment
constexpr double decibel_span = 60.0;     // to each side
constexpr double tick_step = 20.0;        // [dB]

/// Place of a value on the bar, -1 ... 1.
[[nodiscard]] double place_of(double value, const SignedScale& scale)
{
  const double share = value / scale.range;
  if (!scale.decibel || share == 0.0) {
    return share;
  }
  const double level = 20.0 * std::log10(std::abs(share));
  return std::copysign(std::max(0.0, 1.0 + level / decibel_span), share);
}

/// The bar by level: the top at both ends, downwards to the middle.
[[nodiscard]] std::vector<AxisTick> level_ticks(double range)
{
  const double top = 20.0 * std::log10(range);
  const auto text = [&](double below, const char* prefix) {
    const long level = std::lround(top - below);
    return fmt::format("{}{}{}", prefix, level < 0 ? "−" : "", std::abs(level));
  };
  std::vector<AxisTick> ticks{{0.0, text(decibel_span, "≤ ")}};
  for (double below = 0.0; below < decibel_span; below += tick_step) {
    const double place = 1.0 - below / decibel_span;
    ticks.push_back({place, text(below, "")});
    ticks.push_back({-place, text(below, "")});
  }
  return ticks;
}

[[nodiscard]] ColorScale color_scale(const SnapshotPlan& plan, const SignedScale& scale,
                                     bool on_dark)
{
  ColorScale bar;
  const double end = scale.decibel ? 1.0 : scale.range;
  bar.range = {-end, end};
  bar.label = scale.decibel
                  ? fmt::format("{} [dB re 1 {}], red +, blue −", plan.field, plan.units)
                  : fmt::format("{} [{}]", plan.field, plan.units);
  bar.color_of = [end, on_dark](double value) {
    return diverging_color(value / end, on_dark);
  };
  if (scale.decibel) {
    bar.ticks = level_ticks(scale.range);
  }
  return bar;
}

void require_sound(const SnapshotPlan& plan, double range)
{
  if (plan.stride < 1) {
    throw std::invalid_argument(
        fmt::format("the stride of snapshots must be >= 1, got {}", plan.stride));
  }
  if (!std::isfinite(range) || range <= 0.0) {
    throw std::invalid_argument(
        fmt::format("the range of a snapshot must be finite and > 0, got {}", range));
  }
}

}  // namespace

struct MomentPictures::State {
  SignedScale scale;
  FieldPicture picture;
};

MomentPictures::MomentPictures(const Result& result, const SnapshotPlan& plan,
                               const SignedScale& scale, const Look& look)
{
  require_sound(plan, scale.range);
  const bool on_dark = look.theme.dark;
  state_ = std::make_unique<State>(
      State{scale, FieldPicture(result, plan.stride, color_scale(plan, scale, on_dark),
                                {"", describe(result), {}},
                                on_dark ? MapTone::dark : MapTone::light, look)});
}

MomentPictures::~MomentPictures() = default;

Canvas MomentPictures::draw(std::span<const float> values, const std::string& title) const
{
  const double end = state_->scale.decibel ? 1.0 : state_->scale.range;
  std::vector<double> places;
  places.reserve(values.size());
  for (const float value : values) {
    places.push_back(end * place_of(static_cast<double>(value), state_->scale));
  }
  Canvas canvas = state_->picture.paint(places);
  state_->picture.add_title(canvas, title);
  return canvas;
}

double symmetric_range(std::span<const float> values)
{
  std::vector<double> sizes;
  sizes.reserve(values.size());
  for (const float value : values) {
    if (std::isfinite(value) && value != 0.0F) {
      sizes.push_back(static_cast<double>(std::abs(value)));
    }
  }
  return sizes.empty() ? 1.0 : round_up(percentile(sizes, snapshot_share));
}

std::string moment_title(const std::string& field, double time)
{
  return fmt::format("{} at {:.3f} ns", field, time * 1e9);
}

void draw_snapshot(const Result& result, const Snapshot& snapshot,
                   const SnapshotPlan& plan, const std::filesystem::path& path,
                   std::optional<double> range, const Look& look)
{
  const double bound = range ? *range : symmetric_range(snapshot.values);
  const MomentPictures pictures(result, plan, {bound}, look);
  write_png(pictures.draw(snapshot.values, moment_title(plan.field, snapshot.time)),
            path);
}

}  // namespace torsowave::postproc
