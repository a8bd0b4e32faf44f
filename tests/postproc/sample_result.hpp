/// \file
/// \brief A small invented result in which every number tells where it belongs.

#pragma once

#include <cmath>
#include <filesystem>

#include "postproc/result.hpp"
#include "postproc/result_file.hpp"

namespace torsowave::postproc {

inline GridInfo sample_grid()
{
  GridInfo grid;
  grid.nx = 5;
  grid.ny = 3;
  grid.cell = 0.5e-3;
  grid.time_step = 1.1e-12;
  grid.steps = 400;
  grid.x = {-1.0e-3, -0.5e-3, 0.0, 0.5e-3, 1.0e-3};
  grid.y = {-0.5e-3, 0.0, 0.5e-3};
  return grid;
}

/// Every second cell of the sample grid: 2 rows of 3; the value is 100 n + 10 j + i.
inline Snapshot sample_snapshot(int n)
{
  Snapshot snapshot{.time = 1e-10 * n, .values = {}};
  for (int j = 0; j < 2; ++j) {
    for (int i = 0; i < 3; ++i) {
      snapshot.values.push_back(static_cast<float>(100 * n + 10 * j + i));
    }
  }
  return snapshot;
}

inline SnapshotPlan sample_plan()
{
  return {.field = "Ez",
          .units = "V/m",
          .long_name = "electric field along z",
          .stride = 2,
          .shown = {0.5e-10, 2e-10}};
}

/// The second frequency has no body surface.
inline std::vector<FrequencyResult> sample_frequencies()
{
  FrequencyResult low;
  low.frequency = 403.5e6;
  low.source_power = 10.0;
  low.absorbed_power = 9.0;
  low.absorbed_by_tissue = {{"fat", 2.0}, {"muscle", 7.0}};
  low.body_surface_power = 1.0;
  low.radiated_power = 0.99;
  low.power_balance_residual = 0.001;
  low.sector_power = {0.1, 0.2, 0.3, 0.4};
  low.uncertainty_db = {{"fit", 0.25}, {"grid", 0.5}, {"tissue_data", 1.5}};
  low.grid_error_db = {{"radiated", 0.5}, {"source", 0.125}};
  low.sector_grid_error_db = {0.01, 0.02, 0.03, 0.04};
  low.far_field = FarFieldResult{.intensity = {0.25, 0.5, 0.125},
                                 .gain_db = {-8.0, -5.0, -11.0},
                                 .insertion_gain_db = {-20.0, std::nan(""), -23.0},
                                 .scattering_width = {},
                                 .grid_error_db = {0.1, 0.2, 0.3}};
  low.sar = SarResult{};
  low.sar->slice.local = SarSpot{3.0, {0.5e-3, 0.0}, "muscle", 0.0};
  low.sar->slice.one_gram = SarSpot{2.0, {0.0, 0.0}, "fat", 0.01};
  low.sar->capsule = CapsuleSar{};
  low.sar->capsule->one_gram = 4.0;
  low.sar->away = SarPeaks{};
  low.sar->away->local = SarSpot{1.5, {-1.0e-3, 0.5e-3}, "muscle", 0.0};
  low.sar->away_from = 0.02;
  FrequencyResult high = low;
  high.sar.reset();
  high.frequency = 2.45e9;
  high.source_power = 20.0;
  high.absorbed_by_tissue = {{"muscle", 19.0}};
  high.body_surface_power.reset();
  high.sector_power.clear();
  high.sector_grid_error_db.clear();
  high.far_field.reset();
  high.power_balance_residual = std::nan("");
  return {low, high};
}

/// Ez(f, y, x) = (100 f + 10 y + x) - j (0.5 + x), by index.
inline PhasorField sample_phasor(const GridInfo& grid)
{
  PhasorField field{
      .name = "Ez", .units = "V/m", .long_name = "Ez per ampere", .values = {}};
  for (int f = 0; f < 2; ++f) {
    for (int j = 0; j < grid.ny; ++j) {
      for (int i = 0; i < grid.nx; ++i) {
        field.values.emplace_back(static_cast<float>(100 * f + 10 * j + i),
                                  -0.5F - static_cast<float>(i));
      }
    }
  }
  return field;
}

inline Result sample_result()
{
  Result result;
  result.title = "Invented sample, 1 µW";
  result.mode = "TMz";
  result.scenario_yaml = "title: Invented sample\nmode: TMz\n";
  result.scenario_sha256 = std::string(64, 'a');
  result.created = "2024-01-02T03:04:05Z";
  result.grid = sample_grid();
  result.run = {.wall_seconds = 1.5,
                .threads = 2,
                .cell_updates_per_second = 1e9,
                .peak_memory_bytes = 123456,
                .stopped_because = "energy 60 dB below its peak",
                .instruction_set = "avx2"};
  result.tissues = {"air", "fat", "muscle"};
  result.tissue_titles = {"Air", "Fat", "Muscle"};
  result.labels = {0, 0, 0, 0, 0, 0, 1, 2, 1, 0, 0, 0, 1, 0, 0};
  result.materials = {
      {.tissue = "fat", .fit_max_relative_error = 0.004, .poles = 2, .area = 0.75e-6},
      {.tissue = "muscle", .fit_max_relative_error = 0.008, .poles = 2, .area = 0.25e-6}};
  result.frequencies = sample_frequencies();
  result.sector_angle_deg = {45.0, 135.0, 225.0, 315.0};
  result.far_angle_deg = {0.0, 120.0, 240.0};
  result.phasors = {sample_phasor(result.grid)};
  for (int n = 0; n < 2 * 15; ++n) {
    result.sar.push_back(0.25F * static_cast<float>(n));
  }
  result.probes = {{.name = "front",
                    .x = 0.0,
                    .y = 0.5e-3,
                    .field = "Ez",
                    .time = {0.0, 1e-12, 2e-12},
                    .value = {0.0, 3.0, -1.0}}};
  result.energy = {.time = {0.0, 1e-11}, .total = {0.0, 4e-12}};
  result.refinement = {
      .cell = 0.25e-3, .ratio = 0.5, .order = 2.0, .steps = 800, .wall_seconds = 12.0};
  result.notes = {"invented"};
  result.transmit_power = 0.5;
  result.implant = geometry::Point{0.0, 0.0};
  return result;
}

/// Writes a result with `snapshots` of the sample. \return  `path`
inline std::filesystem::path write_sample(const std::filesystem::path& path,
                                          const Result& result, int snapshots = 0)
{
  ResultFile file(path, result.grid, sample_plan());
  for (int n = 0; n < snapshots; ++n) {
    file.append(sample_snapshot(n));
  }
  file.commit(result);
  return path;
}

}  // namespace torsowave::postproc
