#include "postproc/modulation.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <stdexcept>

#include "materials/checks.hpp"
#include "materials/constants.hpp"
#include "postproc/falling_inverse_internal.hpp"

namespace torsowave::postproc {
namespace {

using materials::require;

void require_index(const Modulation& modulation)
{
  require(modulation.kind != ModulationKind::gfsk ||
              (modulation.index >= 0.25 && modulation.index <= 1.0),
          "modulation index of GFSK", "from 0.25 to 1", modulation.index);
}

void require_bits(std::size_t packet_bits)
{
  require(packet_bits > 0, "bits of a packet", "at least 1",
          static_cast<double>(packet_bits));
}

/// Two tones of correlation rho, envelopes compared. With M. K. Simon's integral for
/// Marcum's Q1 (IEEE Commun. Lett. 2 (1998) 39-41, from memory) and D = 1 + 2 z sin t +
/// z^2, z = a/b < 1,
///   Q1(a, b) - exp(-(a^2 + b^2)/2) I0(a b)/2
///     = (1/(4 pi)) int_-pi^pi (1 - z^2)/D exp(-b^2 D/2) dt,
/// and b^2 D/2 = (g/2) (1 + rho sin t), (1 - z^2)/D = sqrt(1 - rho^2)/(1 + rho sin t): a
/// sum of positive terms, without the cancellation of the difference. The integrand is
/// smooth and periodic, so that the trapezoidal rule converges faster than any power; the
/// number of points follows the poles (rho <= 0.9) and the width 1/sqrt(g) of the peak.
[[nodiscard]] double correlated_tones_error(double g, double rho)
{
  constexpr double underflow = 745.0;  // exp(-745) is the smallest double
  if (0.5 * g * (1.0 - rho) > underflow) {
    return 0.0;
  }
  const int points = 4 * (32 + static_cast<int>(4.0 * std::sqrt(g)));
  double sum = 0.0;
  for (int n = 0; n < points; ++n) {
    const double d = 1.0 + rho * std::sin(materials::two_pi * n / points);
    sum += std::exp(-0.5 * g * d) / d;
  }
  return 0.5 * std::sqrt(1.0 - rho * rho) * sum / points;
}

/// |sin(pi h)/(pi h)|, exactly 0 for h = 1.
[[nodiscard]] double tone_correlation(double h)
{
  return std::sin(std::numbers::pi * std::min(h, 1.0 - h)) / (std::numbers::pi * h);
}

}  // namespace

std::string_view modulation_name(ModulationKind kind)
{
  switch (kind) {
    case ModulationKind::noncoherent_fsk:
      return "noncoherent FSK";
    case ModulationKind::coherent_fsk:
      return "coherent FSK";
    case ModulationKind::dbpsk:
      return "DBPSK";
    case ModulationKind::bpsk:
      return "BPSK";
    case ModulationKind::oqpsk:
      return "OQPSK";
    case ModulationKind::gfsk:
      return "GFSK";
  }
  throw std::logic_error("a modulation without a name");
}

double bit_error_ratio(const Modulation& modulation, double eb_n0_db)
{
  require_index(modulation);
  require(!std::isnan(eb_n0_db), "Eb/N0 [dB]", "a number", eb_n0_db);
  const double g = std::pow(10.0, eb_n0_db / 10.0);
  switch (modulation.kind) {
    case ModulationKind::noncoherent_fsk:
      return 0.5 * std::exp(-0.5 * g);
    case ModulationKind::coherent_fsk:
      return 0.5 * std::erfc(std::sqrt(0.5 * g));
    case ModulationKind::dbpsk:
      return 0.5 * std::exp(-g);
    case ModulationKind::bpsk:
    case ModulationKind::oqpsk:
      return 0.5 * std::erfc(std::sqrt(g));
    case ModulationKind::gfsk:
      return correlated_tones_error(g, tone_correlation(modulation.index));
  }
  throw std::logic_error("a modulation without a bit error ratio");
}

double eb_n0_for_bit_error(const Modulation& modulation, double ratio)
{
  require_index(modulation);
  require(ratio >= 1e-15 && ratio < 0.5, "bit error ratio",
          "at least 1e-15 and below 0.5, which is guessing", ratio);
  return falling_inverse(
      [&](double eb_n0_db) { return bit_error_ratio(modulation, eb_n0_db); }, ratio,
      -400.0, 60.0);
}

double packet_error_ratio(double bit_error, std::size_t packet_bits)
{
  require(bit_error >= 0.0 && bit_error <= 1.0, "bit error ratio", "from 0 to 1",
          bit_error);
  require_bits(packet_bits);
  return -std::expm1(static_cast<double>(packet_bits) * std::log1p(-bit_error));
}

double allowed_bit_error(const ErrorTarget& target)
{
  require_bits(target.packet_bits);
  const bool bits = target.packet_bits == 1;
  require(target.ratio > 0.0 && target.ratio < (bits ? 0.5 : 1.0),
          bits ? "bit error target" : "packet error target",
          bits ? "above 0 and below 0.5, which is guessing" : "above 0 and below 1",
          target.ratio);
  return -std::expm1(std::log1p(-target.ratio) / static_cast<double>(target.packet_bits));
}

double bits_per_hertz(const Modulation& modulation)
{
  require_index(modulation);
  switch (modulation.kind) {
    case ModulationKind::noncoherent_fsk:
      return 1.0 / 2.0;
    case ModulationKind::coherent_fsk:
      return 1.0 / 1.5;
    case ModulationKind::dbpsk:
    case ModulationKind::bpsk:
      return 1.0;
    case ModulationKind::oqpsk:
      return 2.0;
    case ModulationKind::gfsk:
      return 1.0 / (1.0 + modulation.index);
  }
  throw std::logic_error("a modulation without a bandwidth");
}

}  // namespace torsowave::postproc
