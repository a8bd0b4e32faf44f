#include "postproc/row_figures.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>
#include <limits>
#include <stdexcept>

#include "postproc/temporary_folder.hpp"

namespace torsowave::postproc {
namespace {

constexpr int cells = 40;

/// Air and muscle, a field that rings down, nine frequencies.
Result row()
{
  Result result;
  result.mode = "1D";
  result.source = {"plane wave", "V/m", "W/m2"};
  result.grid.nx = cells;
  result.grid.ny = 1;
  result.grid.cell = 1e-3;
  result.grid.absorbing_cells = 5;
  result.grid.y = {0.0};
  result.tissues = {"air", "muscle"};
  result.tissue_titles = {"Air", "Muscle"};
  const double endless = std::numeric_limits<double>::infinity();
  result.layers = {{"air", -endless, 0.0}, {"muscle", 0.0, endless}};
  result.phasors.push_back({"Ez", "V/m", "electric field", {}});
  for (int i = 0; i < cells; ++i) {
    result.grid.x.push_back((i + 0.5 - 0.5 * cells) * 1e-3);
    result.labels.push_back(i < cells / 2 ? 0 : 1);
  }
  for (int f = 0; f < 9; ++f) {
    result.frequencies.emplace_back();
    result.frequencies.back().frequency = 1e9 * (f + 1);
    for (int i = 0; i < cells; ++i) {
      result.phasors[0].values.emplace_back(std::exp(-0.01F * static_cast<float>(i * f)));
      result.sar.push_back(i < cells / 2 ? 0.0F : 0.1F);
    }
  }
  return result;
}

std::vector<Snapshot> moments(int count)
{
  std::vector<Snapshot> all;
  for (int n = 0; n < count; ++n) {
    all.push_back({n * 1e-10, {}});
    for (int i = 0; i < cells; ++i) {
      all.back().values.push_back(
          static_cast<float>(std::exp(-n) * std::sin(0.3 * (i - n))));
    }
  }
  return all;
}

const SnapshotPlan plan{"Ez", "V/m", "electric field along z", 1};

TEST(RowFigures, EveryPictureIsWritten)
{
  const TemporaryFolder folder;
  const Result result = row();
  draw_row_phasors(result, "Ez", Scale::decibel, folder / "dB.png");
  draw_row_phasors(result, "Ez", Scale::linear, folder / "linear.png");
  draw_row_phasors(result, "Ez", Scale::phase, folder / "phase.png");
  draw_row_sar(result, folder / "sar.png");
  draw_row_snapshots(result, moments(3), plan, folder / "snapshot.png");
  draw_spacetime(result, moments(12), plan, folder / "spacetime.png");
  draw_row_tissues(result, folder / "tissue.png");
  for (const char* name : {"dB.png", "linear.png", "phase.png", "sar.png", "snapshot.png",
                           "spacetime.png", "tissue.png"}) {
    EXPECT_GT(std::filesystem::file_size(folder / name), 5000U) << name;
  }
}

TEST(RowFigures, SaysWhereTheIncidentWaveIsMissing)
{
  Result result = row();
  result.scattered_rim = -12e-3;
  EXPECT_EQ(scattered_note(result),
            "Left of -12 mm the field is the scattered one alone, without the incident "
            "wave.");
  result.scattered_rim = 12.5e-3;
  EXPECT_EQ(scattered_note(result).substr(0, 16), "Right of 12.5 mm");
}

TEST(RowFigures, RefusesWhatIsNotThere)
{
  const TemporaryFolder folder;
  Result result = row();
  EXPECT_THROW(draw_row_phasors(result, "Hy", Scale::linear, folder / "a.png"),
               std::invalid_argument);
  EXPECT_THROW(draw_spacetime(result, moments(1), plan, folder / "a.png"),
               std::invalid_argument);
  SnapshotPlan thinned = plan;
  thinned.stride = 2;  // of moments that were not thinned
  EXPECT_THROW(draw_spacetime(result, moments(4), thinned, folder / "a.png"),
               std::invalid_argument);
  result.sar.pop_back();
  EXPECT_THROW(draw_row_sar(result, folder / "a.png"), std::invalid_argument);
  EXPECT_FALSE(std::filesystem::exists(folder / "a.png"));
}

}  // namespace
}  // namespace torsowave::postproc
