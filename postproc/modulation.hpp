/// \file
/// \brief Bit and packet errors of the modulations that implants use, by Eb/N0.
///
/// All hold for white Gaussian noise, a receiver that is matched and synchronised, one
/// decision for each bit. What a real receiver loses against that belongs into an
/// implementation loss.

#pragma once

#include <cstddef>
#include <string_view>

namespace torsowave::postproc {

enum class ModulationKind {
  noncoherent_fsk,  ///< orthogonal binary tones, envelopes compared
  coherent_fsk,     ///< orthogonal binary tones, phase known
  dbpsk,            ///< differential binary phase shift, phase of the bit before
  bpsk,             ///< binary phase shift, phase known
  oqpsk,            ///< offset quaternary phase shift, phase known
  gfsk,             ///< binary tones `index` bit rates apart, envelopes compared
};

struct Modulation {
  ModulationKind kind = ModulationKind::noncoherent_fsk;
  /// h, distance of the two tones over the bit rate [1], 0.25 to 1; used by gfsk alone.
  double index = 0.5;
};

/// What a link has to keep.
struct ErrorTarget {
  double ratio = 1e-3;  ///< of wrong packets to all; of bits, if a packet is one bit
  std::size_t packet_bits = 1;
};

/// The name in messages and tables, "OQPSK".
[[nodiscard]] std::string_view modulation_name(ModulationKind kind);

/// Ratio of wrong bits [1], with g = Eb/N0:
///   noncoherent FSK  exp(-g/2)/2                J. G. Proakis, *Digital Communications*
///   coherent FSK     Q(sqrt(g)) = erfc(sqrt(g/2))/2                       (from memory;
///   DBPSK            exp(-g)/2                        the first one was seen, quoted in
///   BPSK, OQPSK      Q(sqrt(2 g)) = erfc(sqrt(g))/2           public code as eq. 9.5.41)
///   GFSK             Q1(a, b) - exp(-(a^2 + b^2)/2) I0(a b)/2,
///                    a, b = sqrt((g/2) (1 -+ sqrt(1 - rho^2))),
///                    rho = |sin(pi h)/(pi h)|
/// The last one is that of two tones with correlation rho whose envelopes are compared
/// over one bit (S. Stein, IEEE Trans. Inf. Theory 10 (1964) 43-55; Proakis, from
/// memory). The Gaussian filter's interference between bits is not in it, and neither is
/// what a receiver gains that follows the phase over several bits.
/// \param eb_n0_db  Eb/N0 [dB]
/// \throws std::invalid_argument  Not a number; h outside its range.
[[nodiscard]] double bit_error_ratio(const Modulation& modulation, double eb_n0_db);

/// Eb/N0 [dB] at which that ratio is reached: its inverse.
/// \param ratio  from 1e-15 to below 0.5, which is guessing
/// \throws std::invalid_argument  Outside that range; h outside its range.
[[nodiscard]] double eb_n0_for_bit_error(const Modulation& modulation, double ratio);

/// 1 - (1 - p)^n: one wrong bit spoils the packet, bits go wrong independently of each
/// other (common practice, no published source).
/// \throws std::invalid_argument  p outside 0 to 1; a packet without bits.
[[nodiscard]] double packet_error_ratio(double bit_error, std::size_t packet_bits);

/// The ratio of wrong bits that keeps a target: inverse of packet_error_ratio().
/// \throws std::invalid_argument  The ratio is not between 0 and 1; for one bit, not
/// below
///         0.5; a packet without bits.
[[nodiscard]] double allowed_bit_error(const ErrorTarget& target);

/// Largest data rate for each hertz of bandwidth [bit/s/Hz]. Phase shift: one symbol per
/// second and hertz, of 1 bit or of 2 (H. Nyquist, Trans. AIEE 47 (1928) 617-644). Tones:
/// deviation h R/2, highest frequency of the bits R/2, so that 2 (h R/2 + R/2) = (1 + h)
/// R is taken (J. R. Carson, Proc. IRE 10 (1922) 57-64), with h = 1 for noncoherent and
/// 1/2 for coherent FSK, the least with which they are orthogonal. All from memory.
/// \throws std::invalid_argument  h outside its range.
[[nodiscard]] double bits_per_hertz(const Modulation& modulation);

}  // namespace torsowave::postproc
