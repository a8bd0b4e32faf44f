#include "app/report_answer.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <nlohmann/json.hpp>
#include <optional>

#include "app/report_parts.hpp"
#include "postproc/figure_scale.hpp"
#include "postproc/link_around.hpp"
#include "postproc/uncertainty.hpp"

namespace torsowave::app {
namespace {

using Json = nlohmann::ordered_json;
using postproc::FrequencyResult;
using postproc::Result;

[[nodiscard]] bool is_wave(const Result& result)
{
  return result.source.kind == "plane wave";
}

[[nodiscard]] std::string spread_text(const std::map<std::string, double>& items)
{
  const double computed = postproc::combined_uncertainty(items).db;
  const auto tissue = items.find(postproc::tissue_data_item);
  return tissue == items.end()
             ? fmt::format("± {:.2g} dB computed", computed)
             : fmt::format("± {:.2g} dB computed, {:.2g} dB tissue data", computed,
                           tissue->second);
}

[[nodiscard]] std::string loss_text(const FrequencyResult& f)
{
  return f.radiated_power > 0.0 && f.source_power > 0.0
             ? fmt::format("{:.2f} dB",
                           10.0 * std::log10(f.source_power / f.radiated_power))
             : "–";
}

/// Where most of what leaves goes [deg]; empty where it is not known.
[[nodiscard]] std::optional<double> strongest_direction(const Result& result,
                                                        const FrequencyResult& f)
{
  const std::vector<double>& values =
      f.far_field ? f.far_field->intensity : f.sector_power;
  const std::vector<double>& angles =
      f.far_field ? result.far_angle_deg : result.sector_angle_deg;
  if (values.empty() || values.size() != angles.size()) {
    return std::nullopt;
  }
  return angles[static_cast<std::size_t>(std::ranges::max_element(values) -
                                         values.begin())];
}

[[nodiscard]] std::string direction_text(double angle_deg)
{
  return fmt::format("{} ({:g}°)", postproc::side_of_body(angle_deg), angle_deg);
}

[[nodiscard]] Json figure(const std::string& label, const std::string& value,
                          const std::string& note)
{
  return {{"label", label}, {"value", value}, {"note", note}};
}

[[nodiscard]] std::string margin_text(const postproc::LinkAround& link)
{
  return fmt::format("{:+.2f} dB", link.out.faded.margin_db);
}

[[nodiscard]] std::string margin_spread(const postproc::LinkAround& link)
{
  return fmt::format("± {:.2g} dB computed, {:.2g} dB tissue data", link.uncertainty.db,
                     link.uncertainty.tissue_data);
}

/// What there is to say of a slice at one frequency.
[[nodiscard]] Json slice_card(const Result& result, const LinkStudy* study, std::size_t f)
{
  const FrequencyResult& at = result.frequencies[f];
  Json figures = Json::array();
  if (is_wave(result)) {
    figures.push_back(figure(
        "absorbed", fmt::format("{:.3g} %", 100.0 * at.absorbed_power / at.source_power),
        "of the power taken from the wave"));
    figures.push_back(figure(
        "scattered", fmt::format("{:.3g} %", 100.0 * at.radiated_power / at.source_power),
        spread_text(at.uncertainty_db)));
  } else {
    figures.push_back(
        figure("loss in the slice", loss_text(at), spread_text(at.uncertainty_db)));
  }
  if (study != nullptr) {
    const postproc::LinkAround& link = study->links.at(f);
    figures.push_back(
        figure("best side", direction_text(link.best_deg), "in the plane of the slice"));
    figures.push_back(
        figure("margin of the link", margin_text(link), margin_spread(link)));
  } else if (const auto strongest = strongest_direction(result, at)) {
    figures.push_back(figure(is_wave(result) ? "scatters most to" : "best side",
                             direction_text(*strongest), "in the plane of the slice"));
  }
  return {{"title", postproc::frequency_text(at.frequency)}, {"figures", figures}};
}

/// The same of planar layers.
[[nodiscard]] Json layer_card(const Result& result, const FrequencyResult& f)
{
  const bool wave = is_wave(result);
  const postproc::LayerErrors errors = postproc::combined_layer_errors(f);
  Json figures = Json::array();
  const auto add = [&](const std::string& label, const std::optional<double>& share,
                       const std::optional<double>& error) {
    if (share) {
      figures.push_back(figure(label, fmt::format("{:.4g} %", 100.0 * *share),
                               error ? fmt::format("± {:.2g} dB computed", *error) : ""));
    }
  };
  add(wave ? "reflected" : "into the first medium",
      wave ? f.slab->reflectance : f.slab->into_first,
      wave ? errors.reflectance : errors.into_first);
  add("absorbed in the layers", f.absorbed_power / f.source_power, std::nullopt);
  add("into the last medium", wave ? f.slab->transmittance : f.slab->into_last,
      wave ? errors.transmittance : errors.into_last);
  return {{"title", postproc::frequency_text(f.frequency)}, {"figures", figures}};
}

/// The frequency that the answer is about: the link's best band, else where most leaves.
[[nodiscard]] std::size_t main_frequency(const Result& result, const LinkStudy* study)
{
  if (study != nullptr) {
    return postproc::best_band(study->links);
  }
  const auto share = [](const FrequencyResult& f) {
    return f.radiated_power / f.source_power;
  };
  return static_cast<std::size_t>(
      std::ranges::max_element(result.frequencies, {}, share) -
      result.frequencies.begin());
}

/// What becomes of a wave at one frequency.
[[nodiscard]] std::string wave_answer(const FrequencyResult& f)
{
  const std::string frequency = postproc::frequency_text(f.frequency);
  if (f.slab) {
    return fmt::format(
        "At {}, of the power that comes in, {:.3g} % are reflected, {:.3g} % absorbed in "
        "the layers, and {:.3g} % go into the last medium.",
        frequency, 100.0 * f.slab->reflectance.value_or(0.0),
        100.0 * f.absorbed_power / f.source_power,
        100.0 * f.slab->transmittance.value_or(0.0));
  }
  return fmt::format(
      "At {}, of the power that the body takes from the wave, {:.3g} % are absorbed and "
      "{:.3g} % scattered.",
      frequency, 100.0 * f.absorbed_power / f.source_power,
      100.0 * f.radiated_power / f.source_power);
}

[[nodiscard]] std::vector<std::string> implant_answer(const Result& result,
                                                      const LinkStudy* study,
                                                      const FrequencyResult& f)
{
  std::vector<std::string> answer;
  const std::string frequency = postproc::frequency_text(f.frequency);
  answer.push_back(fmt::format(
      "At {}, of 1 W that the source sends into the {}, {} {} ({} less, {}).", frequency,
      f.slab ? "layers" : "slice", watts_text(f.radiated_power / f.source_power),
      f.slab ? "reach the outer media" : "leave the body", loss_text(f),
      spread_text(f.uncertainty_db)));
  if (study != nullptr) {
    const postproc::LinkAround& best = study->links[postproc::best_band(study->links)];
    answer.push_back(fmt::format(
        "The link to a reader {:g} m from the origin has a margin of {}, {}. {}",
        study->request.input.path.distance, margin_text(best), margin_spread(best),
        link_verdict(*study)));
  } else if (const auto strongest = strongest_direction(result, f)) {
    answer.push_back(
        fmt::format("Most of it leaves towards {}.", direction_text(*strongest)));
  }
  return answer;
}

[[nodiscard]] std::string question_of(const Result& result, const LinkStudy* study)
{
  if (is_wave(result)) {
    return result.layers.empty()
               ? "What does the body do to the wave: how much does it absorb, how much "
                 "does it scatter?"
               : "What do the layers do to the wave: how much is reflected, absorbed, "
                 "passed on?";
  }
  if (!result.layers.empty()) {
    return "How much of what the source sends gets through the layers?";
  }
  if (study == nullptr) {
    return "How much of what the implant sends leaves the body, and on which side?";
  }
  return fmt::format(
      "How much of what the implant sends leaves the body, on which side, and does the "
      "link to a reader {:g} m away close?",
      study->request.input.path.distance);
}

}  // namespace

Json answer_part(const Result& result, const LinkStudy* study)
{
  Json part;
  part["question"] = question_of(result, study);
  const std::size_t main = main_frequency(result, study);
  const FrequencyResult& best = result.frequencies.at(main);
  if (is_wave(result)) {
    constexpr std::size_t most = 4;  // the cards tell all
    for (std::size_t f = 0; f < std::min(most, result.frequencies.size()); ++f) {
      part["answer"].push_back(wave_answer(result.frequencies[f]));
    }
  } else {
    part["answer"] = implant_answer(result, study, best);
  }
  part["cards"] = Json::array();
  for (std::size_t f = 0; f < result.frequencies.size(); ++f) {
    Json card = result.frequencies[f].slab ? layer_card(result, result.frequencies[f])
                                           : slice_card(result, study, f);
    card["best"] = f == main && result.frequencies.size() > 1 && !is_wave(result);
    part["cards"].push_back(std::move(card));
  }
  return part;
}

}  // namespace torsowave::app
