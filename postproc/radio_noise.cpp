#include "postproc/radio_noise.hpp"

#include <cmath>
#include <stdexcept>

#include "materials/checks.hpp"

namespace torsowave::postproc {
namespace {

using materials::require;

struct ManMadeModel {
  double c;  // [dB]
  double d;  // [dB per decade]
};

[[nodiscard]] ManMadeModel man_made_model(NoiseArea area)
{
  switch (area) {
    case NoiseArea::city:
      return {76.8, 27.7};
    case NoiseArea::residential:
      return {72.5, 27.7};
    case NoiseArea::rural:
      return {67.2, 27.7};
    case NoiseArea::quiet_rural:
      return {53.6, 28.6};
  }
  throw std::logic_error("a noise area without a model");
}

}  // namespace

double thermal_noise_dbm(double temperature, double bandwidth)
{
  require(std::isfinite(temperature) && temperature > 0.0, "noise temperature [K]",
          "finite and > 0", temperature);
  require(std::isfinite(bandwidth) && bandwidth > 0.0, "bandwidth [Hz]", "finite and > 0",
          bandwidth);
  return 10.0 * std::log10(boltzmann * temperature * bandwidth) + 30.0;
}

double receiver_temperature(double noise_figure_db)
{
  require(noise_figure_db >= 0.0 && noise_figure_db <= 60.0, "noise figure [dB]",
          "from 0 to 60", noise_figure_db);
  return noise_reference_temperature * (std::pow(10.0, noise_figure_db / 10.0) - 1.0);
}

std::optional<double> man_made_noise_db(NoiseArea area, double frequency)
{
  materials::require_frequency(frequency);
  if (frequency < 0.3e6 || frequency > 250e6) {
    return std::nullopt;
  }
  const auto [c, d] = man_made_model(area);
  return c - d * std::log10(frequency / 1e6);
}

double SystemNoise::density_dbm() const
{
  return thermal_noise_dbm(temperature(), 1.0);
}

SystemNoise system_noise(double antenna_temperature, double noise_figure_db,
                         std::optional<double> man_made_db)
{
  require(antenna_temperature > 0.0 && antenna_temperature <= 1e6,
          "antenna noise temperature [K]", "above 0 and at most 1e6",
          antenna_temperature);
  const double man_made =
      man_made_db ? noise_reference_temperature * std::pow(10.0, *man_made_db / 10.0)
                  : 0.0;
  return {antenna_temperature, man_made, receiver_temperature(noise_figure_db)};
}

}  // namespace torsowave::postproc
