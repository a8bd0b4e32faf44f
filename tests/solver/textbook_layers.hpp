/// \file
/// \brief The textbook's transfer matrices for planar layers: slow, and without a guard
/// against overflow; what the marching is compared with. Invented lossy layers.

#pragma once

#include <cmath>
#include <complex>

#include "materials/constants.hpp"
#include "solver/layered_medium.hpp"

namespace torsowave::solver::testing {

struct TextbookPlaneWave {
  std::complex<double> reflection;
  std::complex<double> transmission;
};

/// One matrix [cos kd, j Z sin kd; j sin kd/Z, cos kd] for each layer, product from left
/// to right; U and V at the first face from U = V Z at the last (M. Born, E. Wolf,
/// *Principles of Optics*, sec. 1.6, section from memory).
inline TextbookPlaneWave textbook_plane_wave(const LayeredMedium& medium,
                                             const TransverseWave& wave)
{
  using Complex = std::complex<double>;
  const Complex j{0.0, 1.0};
  const double omega = materials::two_pi * medium.frequency;
  const double k0 = omega / materials::speed_of_light;
  const auto normal = [&](Complex eps) {
    const Complex k = std::sqrt(k0 * k0 * eps - wave.wavenumber * wave.wavenumber);
    return k.imag() > 0.0 ? -k : k;
  };
  const auto impedance = [&](Complex eps) {
    return wave.polarisation == WavePolarisation::te
               ? omega * materials::vacuum_permeability / normal(eps)
               : normal(eps) / (omega * materials::vacuum_permittivity * eps);
  };
  Complex a = 1.0;
  Complex b = 0.0;
  Complex c = 0.0;
  Complex d = 1.0;
  for (std::size_t i = 0; i < medium.layers(); ++i) {
    const Complex phase = normal(medium.eps[i + 1]) * medium.thickness[i];
    const Complex z = impedance(medium.eps[i + 1]);
    const Complex cosine = std::cos(phase);
    const Complex sine = j * std::sin(phase);
    const Complex b_next = a * z * sine + b * cosine;
    const Complex d_next = c * z * sine + d * cosine;
    a = a * cosine + b * sine / z;
    c = c * cosine + d * sine / z;
    b = b_next;
    d = d_next;
  }
  const Complex end = impedance(medium.eps.back());
  const Complex in = (a * end + b) / (c * end + d);
  const Complex first = impedance(medium.eps.front());
  const Complex reflection = (in - first) / (in + first);
  return {reflection, (1.0 + reflection) * end / (a * end + b)};
}

/// Air, three lossy layers of 2, 10 and 8 mm, and a lossy half-space (invented).
inline LayeredMedium lossy_layers(double frequency)
{
  LayeredMedium medium;
  medium.frequency = frequency;
  medium.eps = {1.0, {38.0, -11.0}, {5.3, -0.8}, {52.7, -12.7}, {11.4, -2.9}};
  medium.thickness = {2e-3, 10e-3, 8e-3};
  return medium;
}

}  // namespace torsowave::solver::testing
