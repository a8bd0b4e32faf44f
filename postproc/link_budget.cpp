#include "postproc/link_budget.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <stdexcept>

#include "materials/checks.hpp"
#include "postproc/link_formulas.hpp"
#include "postproc/link_terms_internal.hpp"

namespace torsowave::postproc {
namespace {

void require_possible(const LinkInput& input)
{
  std::string reasons;
  for (const LinkProblem& problem : link_problems(input)) {
    reasons += fmt::format("\n  {}: {}", problem.quantity, problem.reason);
  }
  if (!reasons.empty()) {
    throw std::invalid_argument("this link is impossible:" + reasons);
  }
}

/// Man-made noise reaches the reader alone: before the implant stands the body, which
/// takes from it what it takes from the signal, tens of dB.
[[nodiscard]] SystemNoise noise_of(const LinkInput& input, LinkDirection direction)
{
  const bool at_reader = direction == LinkDirection::implant_to_reader;
  const LinkEnd& end = at_reader ? input.reader : input.implant;
  const auto man_made =
      at_reader && input.path.noise_area
          ? man_made_noise_db(*input.path.noise_area, input.path.frequency)
          : std::nullopt;
  return system_noise(end.antenna_temperature, end.noise_figure_db, man_made);
}

void complete(ReceivedLevel& level, const LinkBudget& budget, const LinkSignal& signal)
{
  level.snr_db = level.power_dbm - budget.noise_power_dbm;
  level.eb_n0_db =
      level.power_dbm - budget.noise_density_dbm - 10.0 * std::log10(signal.data_rate);
  level.margin_db = level.eb_n0_db - budget.required_eb_n0_db;
  level.bit_error_ratio =
      bit_error_ratio(signal.modulation, level.eb_n0_db - signal.implementation_loss_db +
                                             signal.coding_gain_db);
  level.packet_error_ratio =
      packet_error_ratio(level.bit_error_ratio, signal.target.packet_bits);
}

/// Power falls as 1/d^2, Eb as 1/R: a margin is spent on one of them.
void add_limits(LinkBudget& budget, const LinkInput& input, double transmit_power)
{
  const double margin = budget.faded.margin_db;
  const double distance = input.path.distance * std::pow(10.0, margin / 20.0);
  if (distance > input.path.skin_distance) {
    budget.largest_distance = distance;
  }
  budget.power_limited_rate = input.signal.data_rate * std::pow(10.0, margin / 10.0);
  budget.bandwidth_limited_rate =
      bits_per_hertz(input.signal.modulation) * input.signal.bandwidth;
  budget.largest_data_rate =
      std::min(budget.power_limited_rate, budget.bandwidth_limited_rate);
  budget.required_transmit_power_dbm = 10.0 * std::log10(transmit_power) + 30.0 - margin;
}

void add_distance_notes(LinkBudget& budget, const LinkPath& path)
{
  const double far = far_field_distance(path.frequency, path.body_extent);
  const auto note = [&](const char* what, double distance) {
    if (distance < far) {
      budget.notes.push_back(
          fmt::format("{} of {:.3g} m is nearer than {:.3g} m, where the far field of "
                      "the body begins: "
                      "gain and free-space loss are carried over from there",
                      what, distance, far));
    }
  };
  note("the distance", path.distance);
  if (budget.largest_distance) {
    note("the largest distance", *budget.largest_distance);
  } else {
    budget.notes.emplace_back("the target is not kept at any distance outside the body");
  }
}

void add_model_notes(LinkBudget& budget, const LinkInput& input)
{
  const LinkPath& path = input.path;
  if (path.fade_sigma_db > 0.0 && (path.frequency < 402e6 || path.frequency > 405e6)) {
    budget.notes.emplace_back(
        "the published spread of path loss is that of 402 to 405 MHz");
  }
  if (path.noise_area && !man_made_noise_db(*path.noise_area, path.frequency)) {
    budget.notes.emplace_back(
        "man-made noise is left out: Rec. ITU-R P.372 covers 0.3 to 250 MHz");
  }
  if (input.signal.data_rate > budget.bandwidth_limited_rate) {
    budget.notes.push_back(
        fmt::format("{:.4g} bit/s of {} want more than the bandwidth of {:.4g} Hz: "
                    "interference between "
                    "bits is not in the budget",
                    input.signal.data_rate, modulation_name(input.signal.modulation.kind),
                    input.signal.bandwidth));
  }
}

}  // namespace

double required_eb_n0_db(const LinkSignal& signal)
{
  const double needed =
      eb_n0_for_bit_error(signal.modulation, allowed_bit_error(signal.target)) +
      signal.implementation_loss_db - signal.coding_gain_db;
  const double shannon = 10.0 * std::log10(std::numbers::ln2);
  materials::require(needed >= shannon, "Eb/N0 after coding [dB]",
                     "at least -1.59, Shannon's limit", needed);
  return needed;
}

LinkBudget link_budget(const LinkInput& input, LinkDirection direction)
{
  require_possible(input);
  const LinkSignal& signal = input.signal;
  LinkBudget budget;
  budget.direction = direction;
  LinkTerms terms;
  add_power_terms(terms, input, budget);
  budget.noise = noise_of(input, direction);
  budget.noise_density_dbm = budget.noise.density_dbm();
  budget.noise_power_dbm =
      thermal_noise_dbm(budget.noise.temperature(), signal.bandwidth);
  budget.required_eb_n0_db = required_eb_n0_db(signal);
  budget.sensitivity_dbm = budget.noise_density_dbm +
                           10.0 * std::log10(signal.data_rate) + budget.required_eb_n0_db;
  complete(budget.median, budget, signal);
  complete(budget.faded, budget, signal);
  const bool out = direction == LinkDirection::implant_to_reader;
  add_limits(budget, input, (out ? input.implant : input.reader).transmit_power);
  add_distance_notes(budget, input.path);
  add_model_notes(budget, input);
  add_figure_terms(terms, signal, budget);
  budget.terms = terms.take();
  return budget;
}

}  // namespace torsowave::postproc
