/// \file
/// \brief Full-wave runs of round bodies, and the exact solution of the same media.
///
/// The series is evaluated with the Debye media that were fitted, so that what differs is
/// the grid's doing alone; and at the centres of cells, so that nothing is interpolated.

#pragma once

#include <complex>
#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "app/run_plan.hpp"
#include "geometry/shape.hpp"
#include "postproc/result.hpp"
#include "solver/layered_cylinder.hpp"

namespace torsowave::reference {

/// One ring of a round body, as a scenario names it.
struct Ring {
  std::string tissue;
  double outer_radius_mm = 0.0;
};

/// A round body about the origin with a line source in its innermost ring.
struct RoundBody {
  std::vector<Ring> rings;  ///< innermost first
  double source_radius_mm = 0.0;
  double source_angle_deg = 0.0;
  std::string grid;      ///< keys of the scenario's grid section
  std::string waveform;  ///< value of the scenario's waveform
  std::string frequencies;
  std::string duration;
  bool as_shells = false;  ///< outer rings as rinds of one circle, not as circles

  [[nodiscard]] geometry::Point source() const;  ///< [m]
  [[nodiscard]] std::string scenario() const;
};

/// A line source at the origin of one medium that goes on through the absorber.
struct HomogeneousCase {
  std::string tissue;  ///< of the library, or "clear_gel": permittivity 4, no losses
  std::string frequency;
  std::string bandwidth;
  int cells_per_wavelength = 20;
};

/// 140 mm square, double precision.
[[nodiscard]] std::string homogeneous_scenario(const HomogeneousCase& homogeneous);

/// A run through the whole pipeline, files and all.
struct FullWaveRun {
  app::RunPlan plan;
  postproc::Result result;

  /// A cell and where its centre lies about the origin [m, m, rad].
  struct Cell {
    int i, j;
    geometry::Point centre;
    double rho, phi;
  };
  /// The cell that holds the point at distance `rho` [m] and angle `phi` [rad].
  [[nodiscard]] Cell cell_at(double rho, double phi) const;

  /// Ez per ampere of cell (i, j) [V/m].
  [[nodiscard]] std::complex<double> ez(std::size_t frequency, int i, int j) const;
};

/// \param scenario  text of a scenario file
/// \param refine    run again with cells so many times as large; empty: no second run
[[nodiscard]] FullWaveRun run_full_wave(const std::string& scenario,
                                        std::optional<double> refine = {});

/// The exact solution of the plan's fitted media at its frequency of this index.
[[nodiscard]] solver::cylinder::Solution exact_solution(const RoundBody& body,
                                                        const app::RunPlan& plan,
                                                        std::size_t frequency);

/// Permittivity that was fitted to a tissue of the plan [1].
[[nodiscard]] std::complex<double> fitted_permittivity(const app::RunPlan& plan,
                                                       const std::string& tissue,
                                                       std::size_t frequency);

/// A cell, with the fields that were found and that are exact at its centre.
struct FieldPair {
  std::complex<double> found;
  std::complex<double> exact;

  /// |found| over |exact| [dB].
  [[nodiscard]] double error_db() const;
};

/// The cells that hold `count` points at equal steps on a circle about the origin.
[[nodiscard]] std::vector<FieldPair> fields_on_circle(
    const FullWaveRun& run, const solver::cylinder::Solution& exact,
    std::size_t frequency, double radius, int count);

/// What a set of pairs says about the grid.
struct FieldErrors {
  double worst_db = 0.0;          ///< largest | |found| / |exact| | [dB]
  double worst_of_largest = 0.0;  ///< largest |found - exact| over the largest |exact|
  double rms = 0.0;  ///< |found - exact| over |exact|, both root mean square [1]
  int count = 0;     ///< pairs looked at
};

/// Of the pairs whose exact field lies within `range_db` of the largest one.
[[nodiscard]] FieldErrors errors_within(const std::vector<FieldPair>& pairs,
                                        double range_db);

/// Errors of the powers by sector, of a round body about the origin.
struct SectorErrors {
  double worst_of_largest = 0.0;  ///< largest |found - exact| over the largest |exact|
  double worst_db = 0.0;  ///< of sectors outward and within 20 dB of the largest [dB]
  int strong = 0;         ///< of those
};

/// \param radius  of the body [m]; the exact power goes through this circle
[[nodiscard]] SectorErrors sector_errors(const FullWaveRun& run,
                                         const solver::cylinder::Solution& exact,
                                         std::size_t frequency, double radius);

}  // namespace torsowave::reference
