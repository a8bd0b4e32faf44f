/// \file
/// \brief Coverage of a slice as plain values, its file and its pictures.

#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "postproc/atomic_file.hpp"
#include "postproc/coverage.hpp"
#include "postproc/result.hpp"

namespace torsowave::postproc {

/// A direction towards a reader outside.
struct ReaderDirection {
  double asked_deg = 0.0;
  double angle_deg = 0.0;  ///< in fact computed: the grid's own nearest, 0 to 360
};

/// Gain at every place, of one reader direction and one frequency.
struct CoverageMap {
  std::size_t direction = 0;  ///< index into CoverageResult::directions
  double frequency = 0.0;     ///< [Hz]
  /// Margin of the link for an implant of 0 dBi [dB]: the margin is this plus the gain.
  double margin_at_0_dbi = 0.0;
  std::vector<float> gain_dbi;       ///< (ny, nx); NaN: no implant can be there
  std::vector<float> best_gain_dbi;  ///< in-plane dipole: turned to its best direction
  CoverageFigures figures;           ///< of gain_dbi
  std::optional<CoverageFigures> best_figures;
};

/// An implant that is heard from one at least of several directions.
struct JointCoverage {
  double frequency = 0.0;        ///< [Hz]
  std::vector<float> margin_db;  ///< the largest one of all directions, (ny, nx)
  CoverageFigures figures;
};

struct CoverageResult {
  Result slice;         ///< title, scenario, grid, tissues, labels; no fields
  std::string implant;  ///< "short dipole along z", "in-plane dipole at 30 deg"
  std::string capsule;  ///< "sphere of 4 mm radius filled with air"
  std::string link;     ///< which way the margin is of
  std::vector<ReaderDirection> directions;
  std::vector<double> frequencies;   ///< [Hz]
  std::vector<CoverageMap> maps;     ///< (direction, frequency), frequency fastest
  std::vector<JointCoverage> joint;  ///< by frequency; empty: one direction alone
  std::vector<std::string> notes;
};

/// Margin in each cell [dB].
[[nodiscard]] std::vector<float> margin_of(const CoverageMap& map);

/// Of implants with these gains. \param margin_at_0_dbi  of one with 0 dBi [dB]
[[nodiscard]] std::vector<float> margin_of(std::vector<float> gain_dbi,
                                           double margin_at_0_dbi);

/// coverage.h5: gain and margin by direction, frequency, y and x.
/// \throws WriteError
void write_coverage_file(const CoverageResult& result, const std::filesystem::path& path);

/// Margin over the slice, with the outlines of the tissues and of where the link closes.
/// The bar runs from -40 to 40 dB. \see figure.hpp for what is thrown.
/// \param map  index into result.maps
void draw_coverage(const CoverageResult& result, std::size_t map,
                   const std::filesystem::path& path);

/// The same of CoverageResult::joint. \param frequency  index into it
void draw_joint_coverage(const CoverageResult& result, std::size_t frequency,
                         const std::filesystem::path& path);

}  // namespace torsowave::postproc
