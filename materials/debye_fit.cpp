#include "materials/debye_fit.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>
#include <utility>

#include "materials/checks.hpp"
#include "materials/constants.hpp"
#include "materials/debye_least_squares.hpp"
#include "materials/shared_times.hpp"

namespace torsowave::materials {
namespace {

constexpr int most_poles = 4;
constexpr std::size_t fit_samples = 48;
constexpr std::size_t check_samples = 241;

std::vector<double> log_spaced(double from, double to, std::size_t count)
{
  std::vector<double> values(count);
  const auto last = static_cast<double>(count - 1);
  for (std::size_t i = 0; i < count; ++i) {
    values[i] = from * std::pow(to / from, static_cast<double>(i) / last);
  }
  values.back() = to;  // not above the band by rounding
  return values;
}

Samples sample(const Tissue& tissue, std::span<const double> frequencies)
{
  Samples samples;
  samples.reserve(frequencies.size());
  for (const double frequency : frequencies) {
    samples.push_back(relative_permittivity(tissue, frequency));
  }
  return samples;
}

void check(const FitRequest& request)
{
  require(std::isfinite(request.band_from) && request.band_from > 0.0, "band_from [Hz]",
          "finite and > 0", request.band_from);
  require(std::isfinite(request.band_to) && request.band_to > request.band_from,
          "band_to [Hz]", "finite and above band_from", request.band_to);
  require(std::isfinite(request.max_error) && request.max_error > 0.0, "max_error",
          "finite and > 0", request.max_error);
  if (request.poles) {
    require(*request.poles >= 0 && *request.poles <= most_poles, "poles", "0 to 4",
            *request.poles);
  }
}

void check(std::span<const double> frequencies,
           std::span<const std::complex<double>> targets, std::span<const double> times)
{
  if (frequencies.empty() || frequencies.size() != targets.size()) {
    throw std::invalid_argument(
        fmt::format("{} targets for {} frequencies", targets.size(), frequencies.size()));
  }
  std::ranges::for_each(frequencies, require_frequency);
  for (const std::complex<double>& target : targets) {
    const double size = std::abs(target);
    require(std::isfinite(size) && size > 0.0, "size of a permittivity to fit",
            "finite and > 0", size);
  }
  require(times.size() <= most_poles, "number of relaxation times", "at most 4",
          static_cast<double>(times.size()));
  for (const double time : times) {
    require(std::isfinite(time) && time > 0.0, "relaxation time [s]", "finite and > 0",
            time);
  }
}

/// Best fit on the basis; a medium that is flat to rounding gets no pole strength at all.
FittedMedium fit_medium(const DebyeBasis& basis,
                        std::span<const std::complex<double>> targets)
{
  constexpr double rounding = 1e-12;
  const DebyeBasis flat(basis.frequencies(), {});
  RelativeFit fit =
      least_squares_fit(flat, targets, std::vector<double>(targets.size(), 1.0));
  if (fit.worst > rounding) {
    fit = least_maximum_fit(basis, targets);
  }
  FittedMedium medium;
  medium.eps_inf = 1.0 + fit.unknowns[0];
  medium.conductivity = basis.conductivity(fit.unknowns[1]);
  medium.strengths.assign(
      fit.unknowns.begin() + 2,
      fit.unknowns.begin() + static_cast<std::ptrdiff_t>(basis.unknowns()));
  medium.max_relative_error = fit.worst;
  medium.worst_frequency = basis.frequencies()[fit.worst_sample];
  return medium;
}

/// One medium to fit, with all that does not depend on the times.
struct Subject {
  const Tissue* tissue;
  Samples fit;    ///< at the fit's frequencies
  Samples check;  ///< at the check's
};

/// The fit of a whole scenario, its subjects numbered without duplicates and conductors.
class SharedFit {
public:
  SharedFit(std::span<const Tissue> tissues, const FitRequest& request)
      : tissues_(tissues),
        fit_frequencies_(log_spaced(request.band_from, request.band_to, fit_samples)),
        check_frequencies_(log_spaced(request.band_from, request.band_to, check_samples))
  {
    for (const Tissue& tissue : tissues) {
      subject_of_.push_back(is_conductor(tissue) ? none : add(tissue));
    }
  }

  /// The best palette on `count` times.
  [[nodiscard]] DebyePalette solve(int count) const
  {
    DebyePalette palette;
    palette.relaxation_times = search_shared_times(fit_frequencies_, fit_targets_, count);
    const DebyeBasis basis(fit_frequencies_, palette.relaxation_times);
    std::vector<FittedMedium> fitted;
    for (const Subject& subject : subjects_) {
      fitted.push_back(fit_medium(basis, subject.fit));
      find_worst(subject, palette.relaxation_times, fitted.back());
    }
    for (std::size_t t = 0; t < tissues_.size(); ++t) {
      const bool conductor = subject_of_[t] == none;
      palette.media.push_back(conductor ? FittedMedium{} : fitted[subject_of_[t]]);
      palette.media.back().tissue = tissues_[t].name;
      palette.media.back().conductor = conductor;
      palette.media.back().strengths.resize(palette.relaxation_times.size());
    }
    return palette;
  }

private:
  static constexpr std::size_t none = std::numeric_limits<std::size_t>::max();

  std::size_t add(const Tissue& tissue)
  {
    Samples samples = sample(tissue, fit_frequencies_);
    const auto known = std::ranges::find(fit_targets_, samples);
    const auto index = static_cast<std::size_t>(known - fit_targets_.begin());
    if (known == fit_targets_.end()) {
      subjects_.push_back({&tissue, samples, sample(tissue, check_frequencies_)});
      fit_targets_.push_back(std::move(samples));
    }
    return index;
  }

  [[nodiscard]] static double error(const FittedMedium& medium,
                                    std::span<const double> times, double frequency,
                                    std::complex<double> target)
  {
    return std::abs(relative_permittivity(medium, times, frequency) - target) /
           std::abs(target);
  }

  /// Largest error over the band: on the check's samples, then refined about the worst.
  void find_worst(const Subject& subject, std::span<const double> times,
                  FittedMedium& medium) const
  {
    std::size_t worst = 0;
    medium.max_relative_error = 0.0;
    for (std::size_t i = 0; i < check_samples; ++i) {
      note(medium, check_frequencies_[i],
           error(medium, times, check_frequencies_[i], subject.check[i]));
      worst = medium.worst_frequency == check_frequencies_[i] ? i : worst;
    }
    constexpr std::size_t between =
        16;  // leaves a relative error of the maximum below 1e-3
    const double from = check_frequencies_[worst == 0 ? 0 : worst - 1];
    const double to = check_frequencies_[std::min(worst + 1, check_samples - 1)];
    for (const double frequency : log_spaced(from, to, between)) {
      note(medium, frequency,
           error(medium, times, frequency,
                 relative_permittivity(*subject.tissue, frequency)));
    }
  }

  static void note(FittedMedium& medium, double frequency, double error)
  {
    if (error >= medium.max_relative_error) {
      medium.max_relative_error = error;
      medium.worst_frequency = frequency;
    }
  }

  std::span<const Tissue> tissues_;
  std::vector<double> fit_frequencies_;
  std::vector<double> check_frequencies_;
  std::vector<std::size_t> subject_of_;
  std::vector<Subject> subjects_;
  std::vector<Samples> fit_targets_;
};

/// The medium that is fitted worst; null where there is none.
const FittedMedium* worst_of(const DebyePalette& palette)
{
  const auto worst = std::ranges::max_element(
      palette.media, {},
      [](const FittedMedium& m) { return m.conductor ? -1.0 : m.max_relative_error; });
  return worst == palette.media.end() ? nullptr : &*worst;
}

double worst_error(const DebyePalette& palette)
{
  const FittedMedium* worst = worst_of(palette);
  return worst == nullptr ? 0.0 : worst->max_relative_error;
}

[[noreturn]] void refuse(const DebyePalette& best, const FitRequest& request)
{
  const FittedMedium& worst = *worst_of(best);
  const std::size_t poles = best.relaxation_times.size();
  const bool more = request.poles.has_value() && *request.poles < most_poles;
  throw FitRefused(fmt::format(
      "{}: the best Debye fit over {:g} to {:g} GHz on {} shared relaxation time{} ({}) "
      "is off "
      "by {:.3g} % at {:.4g} GHz, above max_error {:g} %: narrow the band{} or raise "
      "max_error",
      worst.tissue, request.band_from * 1e-9, request.band_to * 1e-9, poles,
      poles == 1 ? "" : "s", request.poles ? "poles as asked for" : "all of 0 to 4 tried",
      100.0 * worst.max_relative_error, worst.worst_frequency * 1e-9,
      100.0 * request.max_error,
      more ? fmt::format(", allow more poles (up to {})", most_poles) : ""));
}

}  // namespace

DebyePalette fit_debye(std::span<const Tissue> tissues, const FitRequest& request)
{
  check(request);
  const SharedFit problem(tissues, request);
  DebyePalette best;
  double least = std::numeric_limits<double>::infinity();
  for (int count = request.poles.value_or(0); count <= request.poles.value_or(most_poles);
       ++count) {
    DebyePalette palette = problem.solve(count);
    const double error = worst_error(palette);
    if (error <= request.max_error) {
      return palette;
    }
    if (error < least) {
      least = error;
      best = std::move(palette);
    }
  }
  refuse(best, request);
}

FittedMedium fit_on_times(std::span<const double> frequencies,
                          std::span<const std::complex<double>> targets,
                          std::span<const double> relaxation_times)
{
  check(frequencies, targets, relaxation_times);
  return fit_medium(DebyeBasis(frequencies, relaxation_times), targets);
}

bool has_losses(const FittedMedium& medium) noexcept
{
  return !medium.conductor &&
         (medium.conductivity > 0.0 ||
          std::ranges::any_of(medium.strengths, [](double s) { return s > 0.0; }));
}

std::complex<double> relative_permittivity(const FittedMedium& medium,
                                           std::span<const double> relaxation_times,
                                           double frequency)
{
  require_frequency(frequency);
  if (medium.conductor) {
    throw std::invalid_argument(
        fmt::format("{} is a perfect conductor: it has no permittivity", medium.tissue));
  }
  if (medium.strengths.size() != relaxation_times.size()) {
    throw std::invalid_argument(fmt::format("{}: {} strengths for {} relaxation times",
                                            medium.tissue, medium.strengths.size(),
                                            relaxation_times.size()));
  }
  const double omega = two_pi * frequency;
  double real = medium.eps_inf;
  double loss = medium.conductivity / (omega * vacuum_permittivity);
  for (std::size_t k = 0; k < relaxation_times.size(); ++k) {
    const double x = omega * relaxation_times[k];
    const double in_phase = medium.strengths[k] / (1.0 + x * x);
    real += in_phase;
    loss += in_phase * x;
  }
  return {real, -loss};
}

}  // namespace torsowave::materials
