#include "postproc/link_formulas.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "materials/checks.hpp"
#include "materials/constants.hpp"
#include "postproc/falling_inverse_internal.hpp"

namespace torsowave::postproc {
namespace {

using materials::require;
using materials::require_frequency;

void require_distance(double distance)
{
  require(std::isfinite(distance) && distance > 0.0, "distance [m]", "finite and > 0",
          distance);
}

}  // namespace

double free_space_loss_db(double frequency, double distance)
{
  require_frequency(frequency);
  require_distance(distance);
  const double lambda = materials::speed_of_light / frequency;
  return 20.0 * std::log10(2.0 * materials::two_pi * distance / lambda);
}

double free_space_field(double eirp, double distance)
{
  require(std::isfinite(eirp) && eirp >= 0.0, "EIRP [W]", "finite and >= 0", eirp);
  require_distance(distance);
  return std::sqrt(30.0 * eirp) / distance;
}

double far_field_distance(double frequency, double extent)
{
  require_frequency(frequency);
  require(std::isfinite(extent) && extent >= 0.0, "extent [m]", "finite and >= 0",
          extent);
  const double lambda = materials::speed_of_light / frequency;
  return std::max(2.0 * extent * extent / lambda, lambda / materials::two_pi);
}

double mismatch_loss_db(double return_loss_db)
{
  require(return_loss_db > 0.0, "return loss [dB]", "above 0", return_loss_db);
  return -10.0 * std::log10(1.0 - std::pow(10.0, -return_loss_db / 10.0));
}

double polarisation_loss_db(double angle)
{
  const double projection = std::abs(std::cos(angle));
  require(std::isfinite(angle) && projection >= 1e-3, "angle between polarisations [rad]",
          "such that less than 60 dB are lost", angle);
  return -20.0 * std::log10(projection);
}

double normal_tail_inverse(double probability)
{
  require(probability >= 1e-15 && probability <= 0.5, "probability", "from 1e-15 to 0.5",
          probability);
  return falling_inverse(
      [](double z) { return 0.5 * std::erfc(z / std::numbers::sqrt2); }, probability, 0.0,
      10.0);
}

double fade_margin_db(double sigma_db, double outage)
{
  require(sigma_db >= 0.0 && sigma_db <= 30.0, "spread of the path loss [dB]",
          "from 0 to 30", sigma_db);
  return sigma_db * normal_tail_inverse(outage);
}

}  // namespace torsowave::postproc
