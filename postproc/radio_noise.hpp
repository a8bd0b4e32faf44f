/// \file
/// \brief Noise of a receiver: what its antenna hears and what it adds itself.

#pragma once

#include <optional>

namespace torsowave::postproc {

/// [J/K], exact (SI, 2019).
inline constexpr double boltzmann = 1.380649e-23;

/// T0 [K], to which noise figures refer (IEEE's definition, from memory).
inline constexpr double noise_reference_temperature = 290.0;

/// Of the body [K]: an antenna inside tissue, or one that is turned to it, hears this.
inline constexpr double body_temperature = 310.0;

/// k T B in dBm (J. B. Johnson, Phys. Rev. 32 (1928) 97-109; H. Nyquist, 110-113, from
/// memory). With 1 Hz the density in dBm/Hz.
/// \throws std::invalid_argument  Not finite and above 0.
[[nodiscard]] double thermal_noise_dbm(double temperature, double bandwidth);

/// T0 (F - 1) [K]: noise of a receiver's own, referred to its input (H. T. Friis, Proc.
/// IRE 32 (1944) 419-422, from memory).
/// \throws std::invalid_argument  Not from 0 to 60 dB.
[[nodiscard]] double receiver_temperature(double noise_figure_db);

/// Where the receiver stands, in the terms of Rec. ITU-R P.372.
enum class NoiseArea { city, residential, rural, quiet_rural };

/// Median man-made noise above k T0 B [dB], Fam = c - d log10(f/MHz), with c and d of
/// Rec. ITU-R P.372-17, part 6 (seen as coded in public programs that name it), for a
/// short vertical antenna near the ground. \return nothing outside 0.3 to 250 MHz (from
/// memory): the model says nothing there. The
///         implant bands from 401 MHz on are outside.
/// \throws std::invalid_argument  The frequency is not finite and above 0.
[[nodiscard]] std::optional<double> man_made_noise_db(NoiseArea area, double frequency);

/// What a receiver has to hear through, referred to the terminals of its antenna.
struct SystemNoise {
  double antenna = 0.0;   ///< of the antenna's surroundings [K]
  double man_made = 0.0;  ///< [K]; T0 10^(Fam/10), 0 where no model covers it
  double receiver = 0.0;  ///< [K]

  [[nodiscard]] double temperature() const { return antenna + man_made + receiver; }
  [[nodiscard]] double density_dbm() const;  ///< [dBm/Hz]
};

/// \param antenna_temperature  [K], above 0 to 1e6
/// \param noise_figure_db      [dB]
/// \param man_made_db          of man_made_noise_db()
/// \throws std::invalid_argument  Out of these ranges.
[[nodiscard]] SystemNoise system_noise(double antenna_temperature, double noise_figure_db,
                                       std::optional<double> man_made_db);

}  // namespace torsowave::postproc
