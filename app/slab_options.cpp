#include "app/slab_options.hpp"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cmath>

#include "scenarios/message_text.hpp"
#include "scenarios/quantity.hpp"

namespace torsowave::app {
namespace {

using Faults = std::vector<std::string>;
using scenarios::in_quotes;

// Range of the tissue model: S. Gabriel, R. W. Lau, C. Gabriel, Phys. Med. Biol. 41
// (1996) 2271-2293.
constexpr double lowest_frequency = 10.0;  // [Hz]
constexpr double highest_frequency = 100e9;

constexpr std::size_t most_angles = 1000;
constexpr std::size_t most_cases = 20'000;
constexpr std::size_t profile_points = 481;
constexpr const char* angle_forms =
    "write degrees from 0 to below 90: 0,30,60 or from:to:step, e.g. 0:80:5";

[[noreturn]] void refuse_angles(const std::string& text, const std::string& problem)
{
  throw CLI::ValidationError(
      fmt::format("--angle: {}: {}; {}", in_quotes(text), problem, angle_forms));
}

[[nodiscard]] std::vector<std::string> split(const std::string& text, char separator)
{
  std::vector<std::string> parts{""};
  for (const char c : text) {
    if (c == separator) {
      parts.emplace_back();
    } else if (c != ' ') {
      parts.back() += c;
    }
  }
  return parts;
}

[[nodiscard]] double angle_of(const std::string& whole, std::string part)
{
  if (part.ends_with("deg")) {
    part.resize(part.size() - 3);
  }
  double angle = 0.0;
  try {
    angle = scenarios::parse_number(part);
  } catch (const scenarios::QuantityError&) {
    refuse_angles(whole, in_quotes(part) + " is no number of degrees");
  }
  return angle;
}

/// from, from + step, ... to; the end counts if the steps meet it to rounding.
[[nodiscard]] std::vector<double> angle_range(const std::string& text,
                                              const std::vector<std::string>& parts)
{
  if (parts.size() != 3) {
    refuse_angles(text, "a range has three parts");
  }
  const double from = angle_of(text, parts[0]);
  const double to = angle_of(text, parts[1]);
  const double step = angle_of(text, parts[2]);
  if (!(step > 0.0) || to < from) {
    refuse_angles(text, "a range rises in steps above 0");
  }
  const double count = std::floor((to - from) / step + 1e-9) + 1.0;
  if (count > static_cast<double>(most_angles)) {
    refuse_angles(text,
                  fmt::format("{:.0f} angles are more than {}", count, most_angles));
  }
  std::vector<double> angles;
  for (double i = 0.0; i < count; i += 1.0) {
    angles.push_back(from + i * step);
  }
  return angles;
}

[[nodiscard]] std::vector<double> parsed_frequencies(const SlabOptions& options,
                                                     Faults& faults)
{
  std::vector<double> frequencies;
  for (const std::string& text : options.frequencies) {
    try {
      const double value =
          scenarios::parse_quantity(text, scenarios::Dimension::frequency);
      if (value < lowest_frequency || value > highest_frequency) {
        faults.push_back(fmt::format(
            "--frequency: {} is outside the range of the tissue model, 10 Hz to 100 GHz",
            in_quotes(text)));
      }
      frequencies.push_back(value);
    } catch (const scenarios::QuantityError& error) {
      faults.push_back(
          fmt::format("--frequency: {}; on the command line: 2.45GHz, or "
                      "\"2.45 GHz\" in quotes, several after each other",
                      error.what()));
    }
  }
  std::ranges::sort(frequencies);
  frequencies.erase(std::unique(frequencies.begin(), frequencies.end()),
                    frequencies.end());
  return frequencies;
}

/// A fit says nothing outside its band.
void check_band(const SlabRequest& request, const scenarios::Scenario& scenario,
                Faults& faults)
{
  const auto& band = scenario.materials.fit_band;
  const bool fitted = request.models.back() == MediaModel::debye;
  if (!fitted || !band) {
    return;
  }
  for (const double frequency : request.frequencies) {
    if (frequency < (*band)[0] || frequency > (*band)[1]) {
      faults.push_back(fmt::format(
          "--frequency: {} is outside materials.fit.band of the scenario, over which the "
          "debye media are fitted; widen the band, or use --media cole-cole",
          scenarios::show_quantity(frequency, scenarios::Dimension::frequency)));
    }
  }
}

[[nodiscard]] std::optional<double> parsed_loss(const SlabOptions& options,
                                                Faults& faults)
{
  if (options.loss.empty()) {
    return std::nullopt;
  }
  try {
    const double loss =
        scenarios::parse_quantity(options.loss, scenarios::Dimension::level);
    if (loss > 0.0 && loss <= 1000.0) {
      return loss;
    }
    faults.push_back(
        fmt::format("--loss: must be greater than 0 dB and at most 1000 dB, "
                    "got {}",
                    in_quotes(options.loss)));
  } catch (const scenarios::QuantityError& error) {
    faults.push_back(fmt::format(
        "--loss: {}; on the command line: 20dB, or \"20 dB\" in quotes", error.what()));
  }
  return std::nullopt;
}

/// What only a plane wave has.
void check_sheet(const SlabOptions& options, const scenarios::Scenario& scenario,
                 Faults& faults)
{
  if (!scenario.implant) {
    return;
  }
  for (const auto& [name, text] : {std::pair{"--angle", options.angle},
                                   std::pair{"--polarisation", options.polarisation},
                                   std::pair{"--loss", options.loss}}) {
    if (!text.empty()) {
      faults.push_back(
          fmt::format("{}: belongs to a plane wave, and the source of this scenario is a "
                      "current sheet; leave it out, or write incident in the place of "
                      "implant",
                      name));
    }
  }
}

[[nodiscard]] std::vector<solver::WavePolarisation> polarisations_of(
    const SlabOptions& options, const scenarios::Scenario& scenario)
{
  using enum solver::WavePolarisation;
  if (scenario.implant || options.polarisation == "TE") {
    return {te};
  }
  return options.polarisation == "TM" ? std::vector<solver::WavePolarisation>{tm}
                                      : std::vector<solver::WavePolarisation>{te, tm};
}

[[nodiscard]] std::vector<MediaModel> models_of(const SlabOptions& options)
{
  if (options.media == "both") {
    return {MediaModel::cole_cole, MediaModel::debye};
  }
  return {options.media == "debye" ? MediaModel::debye : MediaModel::cole_cole};
}

}  // namespace

std::vector<double> parse_angles(const std::string& text)
{
  const std::vector<std::string> parts = split(text, ':');
  std::vector<double> angles;
  if (parts.size() > 1) {
    angles = angle_range(text, parts);
  } else {
    for (const std::string& part : split(text, ',')) {
      angles.push_back(angle_of(text, part));
    }
  }
  if (angles.size() > most_angles) {
    refuse_angles(text, fmt::format("more than {} angles", most_angles));
  }
  for (std::size_t i = 0; i < angles.size(); ++i) {
    if (!(angles[i] >= 0.0) || angles[i] >= 90.0) {
      refuse_angles(text, fmt::format("{} is no angle of incidence", angles[i]));
    }
    if (i > 0 && angles[i] <= angles[i - 1]) {
      refuse_angles(text, "the angles must rise");
    }
  }
  return angles;
}

SlabRequest slab_request(const SlabOptions& options, const scenarios::Scenario& scenario)
{
  Faults faults;
  SlabRequest request;
  request.frequencies = options.frequencies.empty() ? scenario.frequencies
                                                    : parsed_frequencies(options, faults);
  request.polarisations = polarisations_of(options, scenario);
  request.models = models_of(options);
  request.loss_db = parsed_loss(options, faults);
  request.profile_points = options.folder.empty() ? 0 : profile_points;
  check_sheet(options, scenario, faults);
  check_band(request, scenario, faults);
  if (!options.angle.empty() && !scenario.implant) {
    try {
      request.angles_deg = parse_angles(options.angle);
    } catch (const CLI::ValidationError& error) {
      faults.emplace_back(error.what());
    }
  }
  const std::size_t cases = request.frequencies.size() * request.angles_deg.size() *
                            request.polarisations.size() * request.models.size();
  if (faults.empty() && cases > most_cases) {
    faults.push_back(
        fmt::format("{} cases (frequencies x angles x polarisations x media) "
                    "are more than {}; ask for fewer at once",
                    cases, most_cases));
  }
  if (!faults.empty()) {
    throw CLI::ValidationError(fmt::format("{}", fmt::join(faults, "\n")));
  }
  return request;
}

}  // namespace torsowave::app
