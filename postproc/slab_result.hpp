/// \file
/// \brief The analytic answer for planar layers as plain values: what is stored and
/// shown.

#pragma once

#include <complex>
#include <cstddef>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

namespace torsowave::postproc {

enum class SlabSource {
  plane_wave,    ///< shares of the incident power
  current_sheet  ///< shares of the power delivered
};

/// A layer between two faces.
struct SlabLayer {
  std::string tissue;
  double from = 0.0;  ///< x of the left face [m]
  double to = 0.0;    ///< x of the right face [m]
};

/// One frequency, angle, polarisation and model of the media. x is that of the scenario,
/// powers are per square metre.
struct SlabCase {
  double source_flux = 0.0;  ///< plane wave of 1 V/m: incident; sheet of 1 A/m: delivered
                             ///< [W/m^2], peak phasors
  std::complex<double> reflection{};    ///< of tangential E at the face that is met first
  std::complex<double> transmission{};  ///< tangential E at the face that is left last
  double reflectance = 0.0;  ///< plane wave: |reflection|^2; sheet: share that the medium
                             ///< left of all layers takes
  double entering = 0.0;     ///< plane wave: net share through the first face met
  double transmittance = 0.0;      ///< share that the medium behind takes; for a sheet,
                                   ///< the medium right of all layers
  std::vector<double> absorbed{};  ///< share in each layer, from left to right
  std::optional<double> loss_depth{};  ///< [m] behind the face that is met first
  std::vector<double> e_magnitude{};   ///< (x) [V/m]
  std::vector<double> flux{};          ///< (x) along +x [W/m^2]
};

/// Everything that a slab command found. The cases lie by media, polarisation, angle,
/// frequency, the last fastest.
struct SlabResult {
  std::string title;
  std::string scenario_yaml;
  std::string scenario_sha256;
  std::string created;
  SlabSource source = SlabSource::plane_wave;
  bool from_right = false;                 ///< a plane wave travels towards -x
  double sheet_x = 0.0;                    ///< [m]
  std::vector<std::string> media;          ///< "cole-cole", "debye"
  std::vector<std::string> polarisations;  ///< "TE", "TM"; one only for a sheet
  std::vector<double> angles_deg;
  std::vector<double> frequencies;  ///< [Hz]
  std::string first;                ///< medium left of all layers
  std::string last;                 ///< medium right of all layers
  std::vector<SlabLayer> layers;    ///< from left to right
  double first_face = 0.0;          ///< [m]
  double last_face = 0.0;           ///< [m]
  bool lossy_incidence = false;     ///< the medium that the wave comes from absorbs
  std::optional<double> loss_db;    ///< what loss_depth is the depth of
  std::vector<double> x;            ///< of the profiles [m]; may be none
  std::vector<SlabCase> cases;

  [[nodiscard]] const SlabCase& at(std::size_t medium, std::size_t polarisation,
                                   std::size_t angle, std::size_t frequency) const
  {
    return cases.at(
        ((medium * polarisations.size() + polarisation) * angles_deg.size() + angle) *
            frequencies.size() +
        frequency);
  }
};

/// Writes slab.h5, readable as netCDF-4 (docs/result-file.md).
/// \throws WriteError
void write_slab_file(const SlabResult& result, const std::filesystem::path& path);

/// Where the power goes over frequency, in dB of the source's, at one angle and
/// polarisation.
/// \throws std::invalid_argument  Fewer than two frequencies. WriteError, FontError.
void draw_slab_spectrum(const SlabResult& result, std::size_t polarisation,
                        std::size_t angle, const std::filesystem::path& path);

/// Where the power goes over the angle, at one frequency and polarisation.
/// \throws std::invalid_argument  Fewer than two angles. WriteError, FontError.
void draw_slab_angles(const SlabResult& result, std::size_t polarisation,
                      std::size_t frequency, const std::filesystem::path& path);

/// |E| over x at one frequency, a curve for each angle, polarisation and model.
/// \throws std::invalid_argument  No profiles. WriteError, FontError.
void draw_slab_profile(const SlabResult& result, std::size_t frequency,
                       const std::filesystem::path& path);

}  // namespace torsowave::postproc
