/// \file
/// \brief A run beside the exact answers to the same case, as plain values, and what
/// their differences consist of.

#pragma once

#include <cstddef>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "postproc/result.hpp"

namespace torsowave::postproc {

/// One figure, as every model has it: at each frequency, a field also at each angle.
struct ComparedQuantity {
  std::string key;     ///< for scripts, e.g. "reflectance"
  std::string name;    ///< for people, e.g. "reflected"
  std::string unit;    ///< "1", "W/m2", "W/m", "V/m", "A/m"
  bool field = false;  ///< |field| by angle; else a power, or a share of one
  /// By model: (frequency) or (frequency, angle), angle fastest.
  std::vector<std::vector<double>> values;
  std::vector<std::vector<double>> phases_deg;  ///< likewise; empty: it has no phase
  std::vector<double> reference;   ///< what its level is counted from, by sample
  double counts_above_db = -40.0;  ///< level from which on a difference matters
};

/// Everything that a comparison found.
///
/// The models go from the tissues' own media to the run. Each differs from the one before
/// by one kind of error, a part; in decibels the parts add up to the whole difference.
struct CompareResult {
  std::string title;
  std::string mode;
  std::string scenario_yaml;
  std::string scenario_sha256;
  std::string created;  ///< ISO 8601, UTC
  SourceInfo source;
  std::string exact;                ///< "planar layers", "concentric cylinders"
  std::vector<std::string> bodies;  ///< layers or rings in words, in order
  std::vector<std::string> models;  ///< "cole-cole", "debye", ("grid",) "run"
  std::vector<std::string> parts;   ///< "fit", "grid", "rest"; or "fit", "grid and rest"
  std::vector<double> frequencies;  ///< [Hz]
  std::vector<double> angles_deg;   ///< about the body's centre, of a field
  double circle_radius = 0.0;       ///< of the circle that the angles lie on [m]
  std::vector<ComparedQuantity> quantities;
  std::vector<std::string> left_out;  ///< what could not be compared, and why
  GridInfo grid;                      ///< without the cells' places
  RunInfo run;
  double fit_max_relative_error = 0.0;  ///< of any tissue over the band [1]
  double end_error_db = 0.0;  ///< what the run missed when it stopped, of a field [dB]
};

/// The run minus the first model, in one sample.
struct Difference {
  std::size_t quantity = 0;
  std::size_t sample = 0;
  double level_db = 0.0;              ///< of the first model over the reference
  double total_db = 0.0;              ///< run over first model
  std::vector<double> parts_db;       ///< by part; they add up to total_db
  std::optional<double> phase_deg;    ///< run minus first model, within -180 ... 180
  std::vector<double> phase_parts{};  ///< by part [deg], each within -180 ... 180
  bool counts = false;                ///< all models are defined, the level suffices

  /// Index of the largest part.
  [[nodiscard]] std::size_t cause() const;
};

[[nodiscard]] std::size_t samples(const ComparedQuantity& quantity);

/// 20 log10 of a field, 10 log10 of a power; NaN if not above 0.
[[nodiscard]] double decibels(const ComparedQuantity& quantity, double value);

[[nodiscard]] Difference difference_at(const CompareResult& result, std::size_t quantity,
                                       std::size_t sample);

/// The sample of a quantity with the largest difference among those that count; empty if
/// none does. \param part  of the whole difference if empty, else of this part
[[nodiscard]] std::optional<Difference> largest_difference(
    const CompareResult& result, std::size_t quantity,
    std::optional<std::size_t> part = std::nullopt);

/// The largest of all quantities: the verdict.
[[nodiscard]] std::optional<Difference> largest_difference(const CompareResult& result);

/// Index of the frequency, and of the angle, of a sample.
[[nodiscard]] std::size_t frequency_of(const CompareResult& result,
                                       const Difference& difference);
[[nodiscard]] std::optional<double> angle_deg_of(const CompareResult& result,
                                                 const Difference& difference);

/// Writes compare.h5, readable as netCDF-4 (docs/result-file.md).
/// \throws WriteError
void write_compare_file(const CompareResult& result, const std::filesystem::path& path);

/// Powers over frequency in dB: the first model as lines, the second dashed, the run as
/// dots. \throws std::invalid_argument  Fewer than two frequencies. WriteError,
/// FontError.
void draw_compared_powers(const CompareResult& result, const std::filesystem::path& path);

/// Phases of those that have one, likewise.
void draw_compared_phases(const CompareResult& result, const std::filesystem::path& path);

/// The run minus the first model over frequency, for each power that counts.
void draw_power_differences(const CompareResult& result,
                            const std::filesystem::path& path);

/// The largest difference of any power at each frequency, part by part.
void draw_difference_parts(const CompareResult& result,
                           const std::filesystem::path& path);

/// |field| by angle at one frequency: exact as lines, the run as dots.
/// \throws std::invalid_argument  There is no field. WriteError, FontError.
void draw_compared_field(const CompareResult& result, std::size_t frequency,
                         const std::filesystem::path& path);

/// Its difference and the parts of it by angle, in dB.
void draw_field_differences(const CompareResult& result, std::size_t frequency,
                            const std::filesystem::path& path);

}  // namespace torsowave::postproc
