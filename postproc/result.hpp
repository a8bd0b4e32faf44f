/// \file
/// \brief Everything that a run found out, as plain values: what is stored and shown.

#pragma once

#include <complex>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "geometry/shape.hpp"
#include "postproc/sar_result.hpp"

namespace torsowave::postproc {

/// The sentence that every output with power, SAR or link figures carries.
inline constexpr const char* caution =
    "Planning and teaching estimate, not a compliance or clinical result; "
    "local codes and licensed practice decide.";

/// What the results are per unit of.
struct SourceInfo {
  std::string kind = "line current";
  std::string unit = "A";          ///< A, V, A m/m, A/m or V/m
  std::string power_unit = "W/m";  ///< of the powers
};

/// A layer of mode 1D.
struct LayerInfo {
  std::string tissue;
  double from = 0.0;  ///< x [m]; -infinity, infinity for half-spaces
  double to = 0.0;
};

struct GridInfo {
  int nx = 0;
  int ny = 0;
  double cell = 0.0;       ///< [m]
  double time_step = 0.0;  ///< [s]
  long steps = 0;
  int absorbing_cells = 0;  ///< at each end or side: fields there mean nothing
  std::vector<double> x;    ///< cell centres [m], (nx)
  std::vector<double> y;    ///< cell centres [m], (ny)
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

/// Errors of the figures of a LayerResponse by one cause [dB]; those it lacks are empty.
struct LayerErrors {
  std::optional<double> reflectance;
  std::optional<double> transmittance;
  std::optional<double> into_first;
  std::optional<double> into_last;
  std::vector<double> absorbed_by_layer;
};

/// Mode 1D: what happens to a wave, or to the power of a sheet, at the layers.
struct LayerResponse {
  /// Of the incident wave at the face that it meets, and of E there [1]; a plane wave
  /// alone.
  std::optional<std::complex<double>> reflection;
  std::optional<double> reflectance;    ///< |reflection|^2
  std::optional<double> transmittance;  ///< power into the last medium over the incident
  /// Of a current sheet: what the half-spaces take for good, over the delivered power.
  std::optional<double> into_first;
  std::optional<double> into_last;
  std::vector<double> absorbed_by_layer;  ///< over the incident, or the delivered power
  LayerErrors fit_error;                  ///< \see FrequencyResult::uncertainty_db
  LayerErrors grid_error;
  std::optional<LayerErrors> refinement_error;  ///< from a second cell size
};

/// The far field of one frequency, by angle (Result::far_angle_deg).
struct FarFieldResult {
  std::vector<double> intensity;  ///< U [W/m/rad] per unit of source squared
  std::vector<double> gain_db;    ///< 10 log10(2 pi U / source power) [dB]
  /// U over that of the same source without body and capsule [dB]; NaN where that one
  /// sends nothing (a dipole's axis). Empty for a plane wave.
  std::vector<double> insertion_gain_db;
  std::vector<double> scattering_width;  ///< [m]; of a plane wave alone
  std::vector<double> grid_error_db;     ///< of U, from a second cell size
};

/// An implant's antenna in the plane of the slice, in three dimensions, by angle
/// (Result::far_angle_deg). \see antenna_gain.hpp
struct AntennaGain {
  double delivered = 0.0;        ///< P [W per (A m)^2]
  std::vector<double> eirp;      ///< [W per (A m)^2]
  std::vector<double> gain_dbi;  ///< 10 log10(EIRP/P) [dBi]; -infinity where U = 0
  /// Error of the gain by cause [dB]: those of the power that leaves, and `surroundings`,
  /// what it would change if one of the tissues next to the capsule were all around it.
  std::map<std::string, double> uncertainty_db;
};

/// What a link to a reader outside has to know of the slice.
struct LinkBasis {
  std::vector<double> to_skin;  ///< from the origin, by far angle [m]; 0: no body there
  double body_extent = 0.0;     ///< largest distance of two of the body's points [m]
  std::vector<std::string> assumptions;  ///< that every gain stands on
};

/// The link that the scenario asks for, at the reader's direction: link_around.hpp has
/// all of it. Not in result.h5: `link` works it out again.
struct LinkFigures {
  double direction_deg = 0.0;       ///< of the reader
  double eirp_dbm = 0.0;            ///< of the implant, outside the body
  double received_power_dbm = 0.0;  ///< with fading
  double margin_db = 0.0;           ///< implant to reader, with fading
  double margin_back_db = 0.0;      ///< reader to implant
  double uncertainty_db = 0.0;      ///< of both, all causes added
  std::optional<double> range;      ///< where the margin is 0 [m]; none outside the body
  double closes_deg = 0.0;          ///< directions with a margin of 0 or more [deg]
};

/// Powers of one frequency, each per unit of source squared (Result::source), per metre
/// of slice [W/m] or, in mode 1D, per area [W/m^2].
///
/// For a plane wave "source" is what is taken from it: absorbed or scattered; in mode 1D
/// absorbed, reflected or transmitted. "Radiated" is then scattered power, in mode 1D
/// reflected and transmitted.
struct FrequencyResult {
  double frequency = 0.0;  ///< [Hz]
  double source_power = 0.0;
  double absorbed_power = 0.0;
  std::map<std::string, double> absorbed_by_tissue;
  std::optional<double> body_surface_power;  ///< empty if the body meets the absorber
  double radiated_power = 0.0;
  double power_balance_residual = 0.0;  ///< |source - absorbed - radiated| / source
  std::vector<double> sector_power;     ///< (sectors) [W/m]; empty without surface
  std::optional<LayerResponse> slab;    ///< mode 1D
  /// Empty in mode 1D, and where what goes on to infinity is not one lossless medium.
  std::optional<FarFieldResult> far_field;
  /// Of a line current or an in-plane dipole with a far field and a capsule without
  /// losses.
  std::optional<AntennaGain> antenna_gain;
  std::optional<LinkFigures> link;  ///< if the scenario has a link section and a gain
  std::optional<SarResult> sar;     ///< empty in mode 1D
  /// Error of what leaves, the radiated power (mode 1D: reflectance, transmittance, power
  /// of a sheet into the outer media), by cause [dB].
  std::map<std::string, double> uncertainty_db;
  /// Grid error by power: source, absorbed, body_surface, radiated [dB]. From a second
  /// cell size; without one that of the source alone, where it can be estimated.
  std::map<std::string, double> grid_error_db;
  std::vector<double> sector_grid_error_db;  ///< from a second cell size, (sectors)
};

/// A second run on finer cells.
struct Refinement {
  double cell = 0.0;   ///< [m]
  double ratio = 1.0;  ///< of its cell to the run's
  double order = 2.0;  ///< of convergence, assumed
  long steps = 0;
  double wall_seconds = 0.0;
};

/// Recorded values of one point.
struct ProbeResult {
  std::string name;
  double x = 0.0;  ///< of the cell's centre [m]
  double y = 0.0;
  std::string field;
  std::vector<double> time;   ///< [s]
  std::vector<double> value;  ///< [V/m or A/m] for the waveform as it is
};

struct EnergyTrace {
  std::vector<double> time;   ///< [s]
  std::vector<double> total;  ///< [J/m]
};

/// A complex field at the cell centres at every frequency, per unit of source.
struct PhasorField {
  std::string name;  ///< "Ez", "Hx", ...
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
  SourceInfo source;
  GridInfo grid;
  RunInfo run;
  std::vector<std::string> tissues;        ///< names; the first is the background
  std::vector<std::string> tissue_titles;  ///< for legends, same order
  std::vector<std::uint16_t> labels;       ///< (ny, nx) tissue at each cell's centre
  std::vector<MaterialInfo> materials;
  std::vector<FrequencyResult> frequencies;
  std::vector<double> sector_angle_deg;  ///< centres of the sectors, (sectors)
  std::vector<double> far_angle_deg;     ///< directions of far fields; may be empty
  std::optional<LinkBasis> link;         ///< with far fields
  std::vector<PhasorField> phasors;
  std::vector<float>
      sar;  ///< (frequency, ny, nx) [W/kg per W/m of source power]; may be empty
  std::vector<ProbeResult> probes;
  EnergyTrace energy;
  std::optional<geometry::Point> implant;  ///< [m]; empty for a plane wave
  /// That the scenario gives the implant [W]; SAR is then told for it too.
  std::optional<double> transmit_power;
  /// Mode 1D, plane wave: x of the rim, outside which recorded fields are the scattered
  /// ones alone [m].
  std::optional<double> scattered_rim;
  std::vector<LayerInfo> layers;  ///< mode 1D, with outer media, from left to right
  std::optional<Refinement> refinement;
  std::vector<std::string> notes;  ///< what users have to know of the figures
};

}  // namespace torsowave::postproc
