#include "postproc/link_around.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <stdexcept>

#include "postproc/uncertainty.hpp"

namespace torsowave::postproc {
namespace {

constexpr double nowhere = std::numeric_limits<double>::quiet_NaN();

[[nodiscard]] const AntennaGain& gain_of(const Result& result, std::size_t f)
{
  if (f >= result.frequencies.size() || !result.frequencies[f].antenna_gain ||
      !result.link) {
    throw std::invalid_argument("the result has no gain of an implant at this frequency");
  }
  return *result.frequencies[f].antenna_gain;
}

[[nodiscard]] bool is_outside(const Result& result, std::size_t n, double distance)
{
  return distance > result.link->to_skin.at(n);
}

/// The number of the direction nearest to an angle [deg].
[[nodiscard]] std::size_t nearest(const Result& result, double angle)
{
  const auto off = [&](double other) {
    return std::abs(std::remainder(other - angle, 360.0));
  };
  const auto found = std::ranges::min_element(result.far_angle_deg, {}, off);
  return static_cast<std::size_t>(found - result.far_angle_deg.begin());
}

/// Where the gain is largest (sign 1) or smallest (-1), of the directions in which the
/// reader is outside; of all, if there is none.
[[nodiscard]] std::size_t extreme(const Result& result, std::size_t f, double distance,
                                  double sign)
{
  const std::vector<double>& gain = gain_of(result, f).gain_dbi;
  std::optional<std::size_t> found;
  for (std::size_t n = 0; n < gain.size(); ++n) {
    if (is_outside(result, n, distance) &&
        (!found || sign * gain[n] > sign * gain[*found])) {
      found = n;
    }
  }
  return found.value_or(0);
}

/// What is added to the slice's gain in every direction.
[[nodiscard]] double shift_of(const Result& result, std::size_t f,
                              const LinkRequest& request)
{
  const std::vector<double>& gain = gain_of(result, f).gain_dbi;
  return request.implant_gain_dbi
             ? *request.implant_gain_dbi - *std::ranges::max_element(gain)
             : 0.0;
}

[[nodiscard]] std::size_t chosen(const Result& result, std::size_t f,
                                 const LinkRequest& request)
{
  return request.direction_deg ? nearest(result, *request.direction_deg)
                               : extreme(result, f, request.input.path.distance, 1.0);
}

[[nodiscard]] LinkInput input_at(const Result& result, std::size_t f, std::size_t n,
                                 const LinkRequest& request)
{
  LinkInput input = request.input;
  input.implant.gain_dbi =
      gain_of(result, f).gain_dbi.at(n) + shift_of(result, f, request);
  input.path.frequency = result.frequencies[f].frequency;
  input.path.skin_distance = result.link->to_skin.at(n);
  input.path.body_extent = result.link->body_extent;
  return input;
}

/// Runs of directions whose margin is 0 or more; one that goes past 360 is not cut there.
[[nodiscard]] std::vector<LinkSector> sectors_of(const std::vector<double>& angle_deg,
                                                 const std::vector<double>& margin_db)
{
  const std::size_t count = margin_db.size();
  const auto closes = [&](std::size_t n) { return margin_db[n % count] >= 0.0; };
  std::size_t start = 0;
  while (start < count && closes(start)) {
    ++start;
  }
  if (start == count) {
    return count == 0 ? std::vector<LinkSector>{}
                      : std::vector<LinkSector>{{angle_deg.front(), angle_deg.back()}};
  }
  std::vector<LinkSector> sectors;
  for (std::size_t n = start + 1; n < start + count; ++n) {
    if (closes(n)) {
      const double angle = angle_deg[n % count];
      if (!closes(n - 1)) {
        sectors.push_back({angle, angle});
      }
      sectors.back().to = angle;
    }
  }
  return sectors;
}

[[nodiscard]] double closing_degrees(const std::vector<double>& margin_db)
{
  return 360.0 *
         static_cast<double>(
             std::ranges::count_if(margin_db, [](double m) { return m >= 0.0; })) /
         static_cast<double>(margin_db.size());
}

[[nodiscard]] LinkUncertainty uncertainty_of(const AntennaGain& gain)
{
  const CombinedUncertainty all = combined_uncertainty(gain.uncertainty_db);
  const auto tissue = gain.uncertainty_db.find(tissue_data_item);
  return {all.db, all.dominant,
          tissue == gain.uncertainty_db.end() ? 0.0 : tissue->second};
}

[[nodiscard]] std::vector<LinkLimit> limits_of(const LinkAround& link,
                                               const std::vector<RuleSet>& rules)
{
  const double bandwidth = link.input.signal.bandwidth;
  const auto implant = compare_with_rules(link.out.eirp_dbm, link.frequency, bandwidth);
  const auto reader = compare_with_rules(link.back.eirp_dbm, link.frequency, bandwidth);
  std::vector<LinkLimit> limits;
  for (std::size_t n = 0; n < implant.size(); ++n) {
    if (rules.empty() || std::ranges::count(rules, implant[n].rule.rules) > 0) {
      limits.push_back({implant[n], reader[n]});
    }
  }
  return limits;
}

}  // namespace

std::vector<LinkProblem> link_problems(const Result& result, std::size_t f,
                                       const LinkRequest& request)
{
  return link_problems(input_at(result, f, chosen(result, f, request), request));
}

LinkAround link_around(const Result& result, std::size_t f, const LinkRequest& request)
{
  const AntennaGain& gain = gain_of(result, f);
  const std::size_t at = chosen(result, f, request);
  const double distance = request.input.path.distance;
  const std::size_t worst = extreme(result, f, distance, -1.0);
  LinkAround link;
  link.frequency = result.frequencies[f].frequency;
  link.input = input_at(result, f, at, request);
  link.out = link_budget(link.input, LinkDirection::implant_to_reader);
  link.back = link_budget(link.input, LinkDirection::reader_to_implant);
  link.direction_deg = result.far_angle_deg.at(at);
  link.best_deg = result.far_angle_deg.at(extreme(result, f, distance, 1.0));
  link.worst_deg = result.far_angle_deg.at(worst);
  link.worst_gain_dbi = gain.gain_dbi.at(worst) + shift_of(result, f, request);
  for (std::size_t n = 0; n < gain.gain_dbi.size(); ++n) {
    const double change = is_outside(result, n, distance)
                              ? gain.gain_dbi[n] - gain.gain_dbi.at(at)
                              : nowhere;
    link.margin_db.push_back(link.out.faded.margin_db + change);
    link.back_margin_db.push_back(link.back.faded.margin_db + change);
  }
  link.closes_deg = closing_degrees(link.margin_db);
  link.back_closes_deg = closing_degrees(link.back_margin_db);
  link.sectors = sectors_of(result.far_angle_deg, link.margin_db);
  link.uncertainty = uncertainty_of(gain);
  link.limits = limits_of(link, request.rules);
  return link;
}

std::size_t best_band(const std::vector<LinkAround>& around)
{
  const auto best = std::ranges::max_element(
      around, {}, [](const LinkAround& link) { return link.out.faded.margin_db; });
  return static_cast<std::size_t>(best - around.begin());
}

std::string side_of_body(double angle_deg)
{
  constexpr std::array sides{"left",  "left-front", "front", "right-front",
                             "right", "right-back", "back",  "left-back"};
  const double turned = std::remainder(angle_deg, 360.0);
  const long eighth = std::lround(turned / 45.0);
  return sides.at(static_cast<std::size_t>((eighth + 8) % 8));
}

}  // namespace torsowave::postproc
