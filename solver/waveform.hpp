/// \file
/// \brief The current of the source over time.

#pragma once

#include <functional>
#include <vector>

namespace torsowave::solver {

/// A current over time and what the run must know about it. Amplitudes are near 1 A;
/// results are divided by the spectrum of the samples, so the amplitude cancels.
struct Waveform {
  std::function<double(double)> current;  ///< [A] at time [s]; 0 for negative times
  double end = 0.0;                ///< [s] after which the current is 0; infinite for cw
  double highest_frequency = 0.0;  ///< [Hz] above which its spectrum is negligible
};

/// Gaussian-modulated sine, odd about its middle, so that it carries no direct current
/// and leaves no static field behind.
///
/// i(t) = exp(-(t - t0)^2/(2 s^2)) sin(2 pi fc (t - t0)); its amplitude spectrum is 20 dB
/// down at fc +- bandwidth/2. It starts and ends where the envelope is 1e-10.
[[nodiscard]] Waveform pulse_waveform(double center, double bandwidth);

/// sin(2 pi f t) under a ramp that rises as (1 - cos)/2 over `ramp` [s], then steady.
[[nodiscard]] Waveform cw_waveform(double frequency, double ramp);

/// Second derivative of a Gaussian whose spectrum peaks at `center` [Hz]:
/// (1 - 2 a) exp(-a), a = (pi fc (t - t0))^2.
[[nodiscard]] Waveform ricker_waveform(double center);

/// Samples at given times [s], ascending, joined by straight lines; 0 outside.
/// \throws std::invalid_argument  Fewer than 2 samples, or times that do not ascend.
[[nodiscard]] Waveform sampled_waveform(std::vector<double> times,
                                        std::vector<double> values);

}  // namespace torsowave::solver
