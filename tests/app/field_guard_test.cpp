// Fields that are no solution any more stop a run: where, when and why stands in the
// message.

#include "app/field_guard.hpp"

#include <gtest/gtest.h>

#include <limits>
#include <string>
#include <vector>

#include "scenarios/reader.hpp"

namespace torsowave::app {
namespace {

/// 80 x 70 cells, muscle around cell (45, 32), the source in cell (47, 35).
RunPlan guarded_plan(const std::string& waveform)
{
  return plan_run(scenarios::parse_scenario(
      "mode: TMz\ngrid: {cell: 2 mm, size: [160 mm, 140 mm]}\n"
      "body:\n  shapes:\n"
      "    - {tissue: muscle, circle: {center: [10 mm, -6 mm], radius: 30 mm}}\n"
      "implant: {position: [14 mm, 0 mm]}\nwaveform: " +
          waveform + "\nfrequencies: [600 MHz]\n",
      "case.yaml"));
}

const std::string guarded_pulse = "{type: pulse, center: 600 MHz, bandwidth: 700 MHz}";

/// Stands in for a stepper whose fields go wrong: from one cell what is no number spreads
/// by a cell with each step, as it does through any stencil of neighbours.
class PlantedFields final : public solver::YeeStepper<float> {
public:
  explicit PlantedFields(const solver::Grid& grid)
      : grid_(grid), values_(grid.raster.size(), 1.0F)
  {
  }

  void plant(int i, int j, float value) { at(i, j) = value; }

  void advance(int steps) override
  {
    for (int n = 0; n < steps; ++n, ++step_) {
      spread();
    }
  }
  [[nodiscard]] long step() const noexcept override { return step_; }
  [[nodiscard]] const solver::Grid& grid() const noexcept override { return grid_; }
  [[nodiscard]] solver::Polarisation polarisation() const noexcept override
  {
    return solver::Polarisation::tmz;
  }
  [[nodiscard]] std::span<const float> centre_row(int j) const noexcept override
  {
    return std::span(values_).subspan(grid_.raster.at(0, j),
                                      static_cast<std::size_t>(grid_.raster.nx));
  }
  [[nodiscard]] std::span<const float> x_edge_row(int) const noexcept override
  {
    return {};
  }
  [[nodiscard]] std::span<const float> y_edge_row(int) const noexcept override
  {
    return {};
  }
  [[nodiscard]] double centre_scale() const noexcept override { return 1.0; }
  [[nodiscard]] double edge_scale() const noexcept override { return 1.0; }
  [[nodiscard]] double energy() const override { return 0.0; }
  void save(solver::StateWriter&) const override {}
  void restore(solver::StateReader&) override {}
  void for_row_bands(const std::function<void(int, int)>& body) const override
  {
    body(0, grid_.raster.ny);
  }

private:
  [[nodiscard]] float& at(int i, int j) { return values_[grid_.raster.at(i, j)]; }

  void spread()
  {
    const std::vector<float> before = values_;
    const geometry::Raster& raster = grid_.raster;
    for (int j = 1; j + 1 < raster.ny; ++j) {
      for (int i = 1; i + 1 < raster.nx; ++i) {
        at(i, j) += 0.0F * (before[raster.at(i - 1, j)] + before[raster.at(i + 1, j)] +
                            before[raster.at(i, j - 1)] + before[raster.at(i, j + 1)]);
      }
    }
  }

  solver::Grid grid_;
  std::vector<float> values_;
  long step_ = 0;
};

/// What stops the guard; "" if nothing does.
template <class Action>
std::string stopped_by(Action action)
{
  try {
    action();
  } catch (const UnstableFields& stopped) {
    return stopped.what();
  }
  return "";
}

TEST(FieldGuard, FindsWhatIsNoNumberWithinOneAndAHalfIntervals)
{
  const RunPlan plan = guarded_plan(guarded_pulse);
  ASSERT_GT(plan.interval, 2);
  for (const float bad : {std::numeric_limits<float>::quiet_NaN(),
                          std::numeric_limits<float>::infinity()}) {
    for (int j = 15; j < 55; ++j) {  // whatever rows are looked at
      for (const int early : {0, 1, plan.interval / 2, plan.interval - 1}) {
        PlantedFields fields(plan.grid);
        FieldGuard guard(plan);
        fields.advance(early);
        fields.plant(45, j, bad);
        std::string message;
        while (message.empty() && fields.step() < 4L * plan.interval) {
          fields.advance(plan.interval - static_cast<int>(fields.step() % plan.interval));
          message = stopped_by([&] { guard.look(fields); });
        }
        EXPECT_LE(static_cast<double>(fields.step()), early + 1.5 * plan.interval) << j;
        EXPECT_NE(message.find("no finite numbers any more at step"), std::string::npos)
            << message;
        EXPECT_NE(message.find("in cell (45, " + std::to_string(j) + ")"),
                  std::string::npos)
            << message;
      }
    }
  }
}

TEST(FieldGuard, NamesPlaceTimeAndCause)
{
  const RunPlan plan = guarded_plan(guarded_pulse);
  PlantedFields fields(plan.grid);
  fields.advance(4 * plan.interval);
  for (int j = 0; j < plan.grid.raster.ny; ++j) {
    fields.plant(3, j, std::numeric_limits<float>::quiet_NaN());
  }
  const std::string edge = stopped_by([&] { FieldGuard(plan).look(fields); });
  EXPECT_NE(edge.find(" ns), in cell (3, 34) at x = "), std::string::npos) << edge;
  EXPECT_NE(edge.find("air in the absorbing layer; probable cause: what runs through the "
                      "absorbing layer"),
            std::string::npos)
      << edge;
  EXPECT_NE(edge.find("nothing was written"), std::string::npos);

  PlantedFields strong(plan.grid);
  strong.plant(45, 32, 1e33F);
  for (int j = 0; j < plan.grid.raster.ny; ++j) {
    strong.plant(47, j, std::numeric_limits<float>::infinity());
  }
  const std::string message = stopped_by([&] { FieldGuard(plan).look(strong); });
  EXPECT_NE(message.find("beyond what single precision holds; weaken the source or set "
                         "grid.precision: double"),
            std::string::npos)
      << message;
}

TEST(FieldGuard, LetsSoundFieldsPass)
{
  const RunPlan plan = guarded_plan(guarded_pulse);
  PlantedFields fields(plan.grid);
  FieldGuard guard(plan);
  const double end = plan.waveform.end;
  const postproc::EnergyTrace sound{
      {0.1 * end, 0.9 * end, 1.1 * end, 1.2 * end, 1.3 * end, 1.4 * end, 1.5 * end},
      // Beats while it decays; then what the absorber gives back.
      {1.0, 3.0, 1e-3, 2e-3, 1e-4, 1e-13, 4e-12}};
  EXPECT_EQ(stopped_by([&] { guard.weigh(fields, sound); }), "");
  EXPECT_EQ(stopped_by([&] { guard.look(fields); }), "");
}

TEST(FieldGuard, StopsGrowthWithoutASource)
{
  const RunPlan plan = guarded_plan(guarded_pulse);
  PlantedFields fields(plan.grid);
  fields.plant(45, 32, 7.0F);
  FieldGuard guard(plan);
  const double end = plan.waveform.end;
  const std::string message = stopped_by([&] {
    guard.weigh(fields, {{0.5 * end, 1.1 * end, 1.2 * end}, {1.0, 1e-4, 1.1e-3}});
  });
  EXPECT_NE(message.find("grow without a source"), std::string::npos) << message;
  EXPECT_NE(message.find("in cell (45, 32) at x = "), std::string::npos) << message;
  EXPECT_NE(message.find("muscle; probable cause: the medium there or the time step"),
            std::string::npos)
      << message;
}

TEST(FieldGuard, StopsSteepGrowthOfACwRun)
{
  const RunPlan plan = guarded_plan("{type: cw, frequency: 600 MHz, ramp: 5 ns}");
  PlantedFields fields(plan.grid);
  postproc::EnergyTrace trace;
  double energy = 1.0;
  for (int period = 1; period <= 8; ++period) {
    trace.time.push_back(5e-9 + 1.7e-9 * period);
    trace.total.push_back(energy *= 5.0);
  }
  EXPECT_NE(stopped_by([&] { FieldGuard(plan).weigh(fields, trace); }), "");
  // A resonance: the amplitude grows by the same each time, the energy with the square.
  for (int period = 1; period <= 8; ++period) {
    trace.total[static_cast<std::size_t>(period) - 1] = period * period;
  }
  EXPECT_EQ(stopped_by([&] { FieldGuard(plan).weigh(fields, trace); }), "");
}

}  // namespace
}  // namespace torsowave::app
