#include "app/pictures.hpp"

#include <fmt/format.h>

#include <cstddef>
#include <exception>
#include <functional>
#include <string_view>
#include <vector>

#include "postproc/figure.hpp"
#include "postproc/row_figures.hpp"

namespace torsowave::app {
namespace {

using Place = std::function<std::filesystem::path(const std::string&)>;

/// Pictures to draw, each on its own.
using Drawings = std::vector<std::function<void()>>;

/// Draws them side by side: pictures take longer to compress than to compute.
void draw_all(const Drawings& drawings)
{
  std::exception_ptr failure;
  const auto count = static_cast<std::ptrdiff_t>(drawings.size());
#pragma omp parallel for schedule(dynamic)
  for (std::ptrdiff_t n = 0; n < count; ++n) {
    try {
      drawings[static_cast<std::size_t>(n)]();
    } catch (...) {
#pragma omp critical(torsowave_drawing)
      failure = std::current_exception();
    }
  }
  if (failure) {
    std::rethrow_exception(failure);
  }
}

[[nodiscard]] std::string in_megahertz(double frequency)
{
  return fmt::format("{:.6g}MHz", frequency * 1e-6);
}

void add_phasors(const postproc::Result& result, const std::string& field,
                 postproc::Scale scale, const Place& place, Drawings& drawings)
{
  for (std::size_t f = 0; f < result.frequencies.size(); ++f) {
    const std::string name =
        fmt::format("{}_{}.png", field, in_megahertz(result.frequencies[f].frequency));
    drawings.push_back([&result, field, f, scale, path = place(name)] {
      postproc::draw_phasor(result, field, f, scale, path);
    });
  }
}

void add_snapshots(const RunPlan& plan, const postproc::Result& result,
                   const std::vector<postproc::Snapshot>& shown, const Place& place,
                   Drawings& drawings)
{
  const auto snapshots = SnapshotRecorder::plan_for(plan);
  for (std::size_t n = 0; n < shown.size(); ++n) {
    drawings.push_back([&result, &shown, n, plan = *snapshots,
                        path = place(fmt::format("snapshot_{}.png", n + 1))] {
      postproc::draw_snapshot(result, shown[n], plan, path);
    });
  }
}

void add_absorption(const postproc::Result& result, const Place& place,
                    Drawings& drawings)
{
  for (std::size_t f = 0; f < result.frequencies.size() && !result.sar.empty(); ++f) {
    const std::string name =
        fmt::format("sar_{}.png", in_megahertz(result.frequencies[f].frequency));
    drawings.push_back(
        [&result, f, path = place(name)] { postproc::draw_sar(result, f, path); });
  }
}

/// A quantity of a slice.
void add_slice(const RunPlan& plan, const postproc::Result& result,
               const std::string& quantity, postproc::Scale scale,
               const std::vector<postproc::Snapshot>& shown, const Place& place,
               Drawings& drawings)
{
  if (quantity == "tissue") {
    drawings.push_back([&result, path = place("tissue.png")] {
      postproc::draw_tissue_map(result, path);
    });
  } else if (is_field_name(quantity)) {
    add_phasors(result, quantity, scale, place, drawings);
  } else if (quantity == "snapshot") {
    add_snapshots(plan, result, shown, place, drawings);
  } else if (quantity == "surface" && plan.surface) {
    drawings.push_back([&result, path = place("surface_power.png")] {
      postproc::draw_surface_power(result, path);
    });
  } else if (quantity == "sar") {
    add_absorption(result, place, drawings);
  }
}

/// A quantity of mode 1D.
void draw_row(const RunPlan& plan, const postproc::Result& result,
              const std::string& quantity, postproc::Scale scale, const Moments& moments,
              const Place& place)
{
  if (quantity == "tissue") {
    postproc::draw_row_tissues(result, place("tissue.png"));
  } else if (is_field_name(quantity)) {
    postproc::draw_row_phasors(result, quantity, scale, place(quantity + ".png"));
  } else if (quantity == "snapshot" && !moments.shown.empty()) {
    postproc::draw_row_snapshots(result, moments.shown, *SnapshotRecorder::plan_for(plan),
                                 place("snapshot.png"));
  } else if (quantity == "spacetime" && moments.history.size() > 1) {
    postproc::draw_spacetime(result, moments.history, *SnapshotRecorder::plan_for(plan),
                             place("spacetime.png"));
  } else if (quantity == "sar" && !result.sar.empty()) {
    postproc::draw_row_sar(result, place("sar.png"));
  }
}

}  // namespace

void draw_pictures(const RunPlan& plan, const postproc::Result& result,
                   const Moments& moments, const Place& place)
{
  if (!plan.scenario.outputs.images) {
    return;
  }
  const scenarios::ImageSpec& spec = *plan.scenario.outputs.images;
  const postproc::Scale scale =
      spec.decibel ? postproc::Scale::decibel : postproc::Scale::linear;
  Drawings drawings;
  for (const std::string& quantity : spec.quantities) {
    if (plan.one_d()) {
      draw_row(plan, result, quantity, scale, moments, place);
    } else {
      add_slice(plan, result, quantity, scale, moments.shown, place, drawings);
    }
  }
  draw_all(drawings);
}

bool is_picture_name(const std::string& name)
{
  const auto varies = [&](std::string_view begin, std::string_view end,
                          std::string_view between) {
    return name.size() > begin.size() + end.size() && name.starts_with(begin) &&
           name.ends_with(end) &&
           name.find_first_not_of(between, begin.size()) == name.size() - end.size();
  };
  const bool field = is_field_name(name.substr(0, 2)) &&
                     varies(name.substr(0, 2) + "_", "MHz.png", "0123456789.e+-");
  const bool row = name == "snapshot.png" || name == "spacetime.png" ||
                   name == "sar.png" ||
                   (is_field_name(name.substr(0, 2)) && name.substr(2) == ".png");
  return field || row || name == "tissue.png" || name == "surface_power.png" ||
         varies("snapshot_", ".png", "0123456789") ||
         varies("sar_", "MHz.png", "0123456789.e+-");
}

}  // namespace torsowave::app
