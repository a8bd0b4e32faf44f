/// \file
/// \brief The single formulas of a radio link, each with its source.
///
/// Losses are positive numbers in dB.

#pragma once

namespace torsowave::postproc {

/// Free-space basic transmission loss 20 log10(4 pi d/lambda) between isotropic antennas
/// (Rec. ITU-R P.525; printed there also as 32.4 + 20 log10(f/MHz) + 20 log10(d/km),
/// which rounds 32.448 and is 0.048 dB smaller). Holds in the far field of both antennas.
/// \param frequency, distance  [Hz], [m]
/// \throws std::invalid_argument  Not finite and above 0.
[[nodiscard]] double free_space_loss_db(double frequency, double distance);

/// Field of an isotropic radiator, sqrt(30 p)/d [V/m rms] (Rec. ITU-R P.525-2, eq. 1).
/// \param eirp, distance  p [W], d [m]
/// \throws std::invalid_argument  p not finite and >= 0; d not finite and above 0.
[[nodiscard]] double free_space_field(double eirp, double distance);

/// Where the far field begins: the larger one of 2 D^2/lambda and lambda/(2 pi) [m]
/// (C. A. Balanis, *Antenna Theory*, ch. 2, from memory).
/// \param extent  D, the largest size of what radiates: here of the body [m]
/// \throws std::invalid_argument  D not finite and >= 0; \see free_space_loss_db()
[[nodiscard]] double far_field_distance(double frequency, double extent);

/// What an antenna's mismatch takes, -10 log10(1 - |Gamma|^2), with the return loss
/// -20 log10 |Gamma| (D. M. Pozar, *Microwave Engineering*, ch. 2, from memory).
/// \param return_loss_db  above 0 to infinity, which is a perfect match
/// \throws std::invalid_argument  Out of that range.
[[nodiscard]] double mismatch_loss_db(double return_loss_db);

/// What two linear antennas lose whose fields stand at an angle, -20 log10 |cos angle|
/// (C. A. Balanis, *Antenna Theory*, ch. 2, from memory). Linear and circular: 3.01 dB,
/// as at 45 degrees. \param angle  [rad] \throws std::invalid_argument  Not finite, or so
/// near to a right angle that nothing
///         defined is left (above 60 dB).
[[nodiscard]] double polarisation_loss_db(double angle);

/// EIRP over ERP [dB]: the gain of a half-wave dipole, 2.15 dB as radio rules take it
/// (from memory).
inline constexpr double eirp_over_erp_db = 2.15;

/// Spread S of the published channel model for implants, 402-405 MHz, to a reader on the
/// body's surface, PL(d) = PL(50 mm) + 10 n log10(d/50 mm) + S, S normal with this
/// standard deviation [dB]: K. Sayrafian-Pour, W.-B. Yang, J. Hagedorn, J. Terrill, K. Y.
/// Yazdandoost, K. Hamaguchi, Int. J. Wireless Inf. Networks 17 (2010) 105-112, table 1
/// (sigma from memory).
inline constexpr double deep_implant_sigma_db = 7.85;
inline constexpr double near_surface_implant_sigma_db = 6.81;  ///< same table

/// z with Q(z) = probability, Q the tail of the standard normal distribution (bisection
/// on erfc(z/sqrt(2))/2; tables: M. Abramowitz, I. A. Stegun, *Handbook of Mathematical
/// Functions*, 1964, 26.2, from memory).
/// \param probability  from 1e-15 to 0.5
/// \throws std::invalid_argument  Out of that range.
[[nodiscard]] double normal_tail_inverse(double probability);

/// What has to be kept in hand for the signal to be too weak with no more than the outage
/// probability: sigma Q^-1(outage), spread normal in dB.
/// \param sigma_db  0 to 30
/// \throws std::invalid_argument  Out of that range; \see normal_tail_inverse()
[[nodiscard]] double fade_margin_db(double sigma_db, double outage);

}  // namespace torsowave::postproc
