#include "published/full_wave_tez_case.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

namespace torsowave::reference {
namespace {

namespace cylinder = solver::cylinder;

/// Of the circle looked at [m].
double radius_looked_at(const TezCase& one)
{
  return (one.around.back().outer_radius_mm + 12.0) * 1e-3;
}

std::string scenario_of(const TezCase& one)
{
  const auto circle = [](const char* tissue, double radius_mm) {
    return fmt::format(
        "    - {{tissue: {}, circle: {{center: [0 mm, 0 mm], radius: {} mm}}}}\n", tissue,
        radius_mm);
  };
  std::string shapes = circle("air", one.capsule_mm);
  for (const Ring& ring : one.around) {
    shapes.insert(0, circle(ring.tissue.c_str(), ring.outer_radius_mm));
  }
  const std::string source =
      one.dipole_deg ? fmt::format("dipole, direction: {} deg", *one.dipole_deg)
                     : "magnetic_line";
  return fmt::format(
      "title: round body\nmode: TEz\n"
      "grid: {{cells_per_wavelength: {}, margin: 20 mm, averaging: {}, precision: "
      "double}}\n"
      "body:\n  background: air\n  shapes:\n{}"
      "implant: {{position: [{} mm, {} mm], source: {}}}\n"
      "waveform: {{type: pulse, center: 2.45 GHz, bandwidth: 1.5 GHz}}\n"
      "frequencies: [2.45 GHz]\nduration: {{decay: 100 dB}}\noutputs: {{phasors: "
      "[Hz]}}\n",
      one.cells, one.averaging, shapes, one.source_mm.x, one.source_mm.y, source);
}

cylinder::Solution exact_of(const TezCase& one, const app::RunPlan& plan)
{
  cylinder::Body body{{{one.capsule_mm * 1e-3, fitted_permittivity(plan, "air", 0)}}};
  for (const Ring& ring : one.around) {
    body.layers.push_back(
        {ring.outer_radius_mm * 1e-3, fitted_permittivity(plan, ring.tissue, 0)});
  }
  const geometry::Point at{one.source_mm.x * 1e-3, one.source_mm.y * 1e-3};
  const cylinder::Source source =
      one.dipole_deg ? cylinder::Source(cylinder::Dipole{
                           at, *one.dipole_deg * std::numbers::pi / 180.0})
                     : cylinder::Source(cylinder::LineSource{at});
  return {body, solver::Polarisation::tez, 2.45e9, source};
}

}  // namespace

std::string TezErrors::text() const
{
  return fmt::format(
      "worst {:.4f} dB, within 20 dB {:.4f} dB, within 10 dB {:.4f} dB, of largest "
      "{:.2e}, rms {:.2e}, radiated {:+.4f} dB, sectors {:.2e} of largest, {:.4f} dB",
      field.worst_db, middle.worst_db, strong.worst_db, field.worst_of_largest, field.rms,
      radiated_db, sectors.worst_of_largest, sectors.worst_db);
}

TezErrors errors_of(const TezCase& one)
{
  const FullWaveRun run = run_full_wave(scenario_of(one));
  const cylinder::Solution exact = exact_of(one, run.plan);
  std::vector<FieldPair> pairs;
  for (int n = 0; n < 72; ++n) {
    const FullWaveRun::Cell cell =
        run.cell_at(radius_looked_at(one), 2.0 * std::numbers::pi * n / 72.0);
    pairs.push_back({run.ez(0, cell.i, cell.j), exact.at(cell.centre).z});
  }
  // A dipole's near field holds nearly all of the energy: after a fall by 80 dB what was
  // left was still 0.2 % of the field outside.
  EXPECT_LT(run.result.frequencies[0].power_balance_residual, 2e-5);
  const double radiated = run.result.frequencies[0].radiated_power;
  return {errors_within(pairs, 30.0), errors_within(pairs, 20.0),
          errors_within(pairs, 10.0),
          10.0 * std::log10(radiated / exact.powers().radiated.value()),
          sector_errors(run, exact, 0, one.around.back().outer_radius_mm * 1e-3)};
}

}  // namespace torsowave::reference
