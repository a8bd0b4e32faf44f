/// \file
/// \brief Everything that a run found out, as plain values: what is stored and shown.

#pragma once

#include <complex>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

namespace torsowave::postproc {

/// The sentence that every output with power, SAR or link figures carries.
inline constexpr const char* caution =
    "Planning and teaching estimate, not a compliance or clinical result; "
    "local codes and licensed practice decide.";

struct GridInfo {
  int nx = 0;
  int ny = 0;
  double cell = 0.0;       ///< [m]
  double time_step = 0.0;  ///< [s]
  long steps = 0;
  std::vector<double> x;  ///< cell centres [m], (nx)
  std::vector<double> y;  ///< cell centres [m], (ny)
};

struct RunInfo {
  double wall_seconds = 0.0;
  int threads = 1;
  double cell_updates_per_second = 0.0;
  std::uint64_t peak_memory_bytes = 0;
  std::string stopped_because;
  std::string instruction_set;  ///< "baseline", "avx2", "avx512"
};

struct MaterialInfo {
  std::string tissue;
  double fit_max_relative_error = 0.0;  ///< [1]
  int poles = 0;
  double area = 0.0;  ///< in the slice [m^2]
};

/// Powers of one frequency, each per metre of slice and per (1 A)^2 of line current
/// [W/m].
struct FrequencyResult {
  double frequency = 0.0;  ///< [Hz]
  double source_power = 0.0;
  double absorbed_power = 0.0;
  std::map<std::string, double> absorbed_by_tissue;
  std::optional<double> body_surface_power;  ///< empty if the body meets the absorber
  double radiated_power = 0.0;
  double power_balance_residual = 0.0;  ///< |source - absorbed - radiated| / source
  std::vector<double> sector_power;     ///< (sectors) [W/m]; empty without surface
  std::map<std::string, double> uncertainty_db;  ///< by cause [dB]
};

/// Recorded values of one point.
struct ProbeResult {
  std::string name;
  double x = 0.0;  ///< of the cell's centre [m]
  double y = 0.0;
  std::string field;
  std::vector<double> time;   ///< [s]
  std::vector<double> value;  ///< [V/m] per ampere of the waveform's unit peak
};

struct EnergyTrace {
  std::vector<double> time;   ///< [s]
  std::vector<double> total;  ///< [J/m]
};

/// A complex field over the slice at every frequency, per ampere of line current.
struct PhasorField {
  std::string name;  ///< "Ez", "Hx", "Hy"
  std::string units;
  std::string long_name;
  std::vector<std::complex<float>> values;  ///< (frequency, ny, nx), x fastest
};

/// One moment of a field, thinned out.
struct Snapshot {
  double time = 0.0;          ///< [s]
  std::vector<float> values;  ///< (ny_kept, nx_kept), x fastest
};

struct Result {
  std::string title;
  std::string mode;
  std::string scenario_yaml;
  std::string scenario_sha256;
  std::string created;  ///< ISO 8601, UTC
  GridInfo grid;
  RunInfo run;
  std::vector<std::string> tissues;        ///< names; the first is the background
  std::vector<std::string> tissue_titles;  ///< for legends, same order
  std::vector<std::uint16_t> labels;       ///< (ny, nx) tissue at each cell's centre
  std::vector<MaterialInfo> materials;
  std::vector<FrequencyResult> frequencies;
  std::vector<double> sector_angle_deg;  ///< centres of the sectors, (sectors)
  std::vector<PhasorField> phasors;
  std::vector<float>
      sar;  ///< (frequency, ny, nx) [W/kg per W/m of source power]; may be empty
  std::vector<ProbeResult> probes;
  EnergyTrace energy;
  double implant_x = 0.0;  ///< [m]
  double implant_y = 0.0;
};

}  // namespace torsowave::postproc
