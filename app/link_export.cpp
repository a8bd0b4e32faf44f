#include <fmt/format.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "app/link_report.hpp"
#include "app/text_table.hpp"
#include "postproc/version.hpp"

namespace torsowave::app {
namespace {

using Json = nlohmann::ordered_json;
using postproc::LinkAround;
using postproc::LinkBudget;
using postproc::LinkTerm;
using postproc::ReceivedLevel;

[[nodiscard]] Json or_null(const std::optional<double>& value)
{
  return value ? Json(*value) : Json();
}

[[nodiscard]] Json level_json(const ReceivedLevel& level)
{
  return {{"received_power_dbm", level.power_dbm},
          {"snr_db", level.snr_db},
          {"eb_n0_db", level.eb_n0_db},
          {"margin_db", level.margin_db},
          {"bit_error_ratio", level.bit_error_ratio},
          {"packet_error_ratio", level.packet_error_ratio}};
}

[[nodiscard]] const char* kind_name(LinkTerm::Kind kind)
{
  return kind == LinkTerm::Kind::contribution ? "contribution"
         : kind == LinkTerm::Kind::total      ? "total"
                                              : "figure";
}

[[nodiscard]] Json budget_json(const LinkBudget& budget)
{
  Json lines = Json::array();
  for (const LinkTerm& term : budget.terms) {
    lines.push_back({{"name", term.name},
                     {"kind", kind_name(term.kind)},
                     {"value", term.value},
                     {"unit", term.unit},
                     {"formula", term.formula},
                     {"source", term.source}});
  }
  return {{"eirp_dbm", budget.eirp_dbm},
          {"fade_margin_db", budget.fade_margin_db},
          {"noise_temperature_k", budget.noise.temperature()},
          {"noise_density_dbm_per_hz", budget.noise_density_dbm},
          {"noise_power_dbm", budget.noise_power_dbm},
          {"required_eb_n0_db", budget.required_eb_n0_db},
          {"sensitivity_dbm", budget.sensitivity_dbm},
          {"median", level_json(budget.median)},
          {"with_fading", level_json(budget.faded)},
          {"range_m", or_null(budget.largest_distance)},
          {"largest_data_rate_bit_per_s", budget.largest_data_rate},
          {"required_transmit_power_dbm", budget.required_transmit_power_dbm},
          {"lines", lines},
          {"notes", budget.notes}};
}

[[nodiscard]] Json limits_json(const LinkAround& link)
{
  Json limits = Json::array();
  for (const postproc::LinkLimit& limit : link.limits) {
    limits.push_back({{"rules", rule_set_name(limit.implant.rule.rules)},
                      {"condition", limit.implant.rule.condition},
                      {"source", limit.implant.rule.source},
                      {"limit_eirp_dbm", limit.implant.limit_dbm},
                      {"implant_above_by_db", limit.implant.above_by_db},
                      {"implant", limit.implant.verdict()},
                      {"reader_above_by_db", limit.reader.above_by_db},
                      {"reader", limit.reader.verdict()}});
  }
  return limits;
}

[[nodiscard]] Json link_of(const LinkAround& link)
{
  Json sectors = Json::array();
  for (const postproc::LinkSector& sector : link.sectors) {
    sectors.push_back({{"from_deg", sector.from}, {"to_deg", sector.to}});
  }
  return {{"frequency_hz", link.frequency},
          {"direction_deg", link.direction_deg},
          {"direction", postproc::side_of_body(link.direction_deg)},
          {"best_direction_deg", link.best_deg},
          {"worst_direction_deg", link.worst_deg},
          {"implant_gain_dbi", link.input.implant.gain_dbi},
          {"worst_implant_gain_dbi", link.worst_gain_dbi},
          {"implant_to_reader", budget_json(link.out)},
          {"reader_to_implant", budget_json(link.back)},
          {"uncertainty_db",
           {{"computed", link.uncertainty.db},
            {"largest", link.uncertainty.dominant},
            {"tissue_data", link.uncertainty.tissue_data}}},
          {"closes_deg", link.closes_deg},
          {"closes_back_deg", link.back_closes_deg},
          {"sectors", sectors},
          {"margin_db", link.margin_db},
          {"margin_back_db", link.back_margin_db},
          {"limits", limits_json(link)}};
}

[[nodiscard]] Json request_json(const postproc::LinkRequest& request)
{
  const postproc::LinkInput& input = request.input;
  return {{"distance_m", input.path.distance},
          {"direction_deg", or_null(request.direction_deg)},
          {"modulation", modulation_name(input.signal.modulation.kind)},
          {"data_rate_bit_per_s", input.signal.data_rate},
          {"bandwidth_hz", input.signal.bandwidth},
          {"error_target", input.signal.target.ratio},
          {"packet_bits", input.signal.target.packet_bits},
          {"fade_sigma_db", input.path.fade_sigma_db},
          {"outage", input.path.outage}};
}

}  // namespace

std::string link_csv(const LinkStudy& study)
{
  const std::vector<std::string> head{"frequency [Hz]",
                                      "direction [deg]",
                                      "side",
                                      "implant gain [dBi]",
                                      "EIRP outside the body [dBm]",
                                      "received power, median [dBm]",
                                      "received power with fading [dBm]",
                                      "Eb/N0 with fading [dB]",
                                      "margin [dB]",
                                      "ratio of wrong bits with fading [1]",
                                      "margin of reader to implant [dB]"};
  std::string text = csv_record(head);
  for (const LinkAround& link : study.links) {
    const postproc::LinkSignal& signal = link.input.signal;
    for (std::size_t n = 0; n < study.angle_deg.size(); ++n) {
      const double change = link.margin_db[n] - link.out.faded.margin_db;
      const double eb_n0 = link.out.faded.eb_n0_db + change;
      const double errors =
          std::isnan(eb_n0)
              ? eb_n0
              : postproc::bit_error_ratio(
                    signal.modulation,
                    eb_n0 - signal.implementation_loss_db + signal.coding_gain_db);
      const std::vector<std::string> row{csv_number(link.frequency),
                                         csv_number(study.angle_deg[n]),
                                         postproc::side_of_body(study.angle_deg[n]),
                                         csv_number(link.input.implant.gain_dbi + change),
                                         csv_number(link.out.eirp_dbm + change),
                                         csv_number(link.out.median.power_dbm + change),
                                         csv_number(link.out.faded.power_dbm + change),
                                         csv_number(eb_n0),
                                         csv_number(link.margin_db[n]),
                                         csv_number(errors),
                                         csv_number(link.back_margin_db[n])};
      text += csv_record(row);
    }
  }
  return text;
}

std::string link_json(const LinkStudy& study)
{
  Json json;
  json["tool"] = {{"name", "torsowave"},
                  {"version", postproc::tool_version()},
                  {"revision", postproc::tool_revision()}};
  json["caution"] = postproc::link_caution;
  json["scenario"] = {{"title", study.title}, {"file_sha256", study.scenario_sha256}};
  json["link"] = request_json(study.request);
  json["assumptions"] = study.assumptions;
  json["notes"] = study.notes;
  json["best_frequency_hz"] = study.links[postproc::best_band(study.links)].frequency;
  json["angle_deg"] = study.angle_deg;
  json["frequencies"] = Json::array();
  for (const LinkAround& link : study.links) {
    json["frequencies"].push_back(link_of(link));
  }
  // dump() turns NaN and infinity into null.
  return json.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace torsowave::app
