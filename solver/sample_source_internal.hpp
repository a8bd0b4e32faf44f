/// \file
/// \brief A waveform that drives a few field samples, as an injection.

#pragma once

#include <cstddef>
#include <functional>
#include <span>
#include <utility>
#include <vector>

#include "solver/injection.hpp"

namespace torsowave::solver {

/// One waveform times a fixed weight at each sample.
class SampleSource final : public Injection {
public:
  /// A sample and what one unit of the waveform adds to it in a step.
  struct Sample {
    Site site = Site::centre;
    int row = 0;
    int column = 0;
    double weight = 0.0;
  };

  /// \param offset  when in a step the waveform is taken [steps]
  SampleSource(std::vector<Sample> samples, std::function<double(double)> waveform,
               double time_step, double offset)
      : samples_(std::move(samples)),
        waveform_(std::move(waveform)),
        time_step_(time_step),
        offset_(offset)
  {
    for (const Sample& sample : samples_) {
      spans_.push_back({sample.site, sample.row, sample.column, 1});
    }
  }

  [[nodiscard]] const std::vector<InjectionSpan>& spans() const noexcept override
  {
    return spans_;
  }
  void amounts(long step, std::span<double> values) override
  {
    const double value = waveform_((static_cast<double>(step) + offset_) * time_step_);
    for (std::size_t s = 0; s < samples_.size(); ++s) {
      values[s] = samples_[s].weight * value;
    }
  }

private:
  std::vector<Sample> samples_;
  std::vector<InjectionSpan> spans_;
  std::function<double(double)> waveform_;
  double time_step_;
  double offset_;
};

}  // namespace torsowave::solver
