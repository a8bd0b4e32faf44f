#include "app/link_report.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <utility>

#include "app/text_table.hpp"

namespace torsowave::app {
namespace {

using postproc::LinkAround;
using postproc::LinkBudget;
using postproc::LinkTerm;

[[nodiscard]] std::string megahertz(double frequency)
{
  return fmt::format("{:.6g} MHz", frequency * 1e-6);
}

/// "2 m", "35 mm"
[[nodiscard]] std::string length_text(double metres)
{
  return metres < 1.0 ? fmt::format("{:.3g} mm", metres * 1e3)
                      : fmt::format("{:.4g} m", metres);
}

[[nodiscard]] std::string decibels(double value)
{
  const std::string text = fmt::format("{:.2f}", value);
  return text == "-0.00" ? "0.00" : text;
}

[[nodiscard]] std::string rate_text(double bits_per_second)
{
  return fmt::format("{:.4g}", bits_per_second * 1e-3);
}

[[nodiscard]] double sum_of(const LinkBudget& budget,
                            const std::vector<std::string>& names)
{
  double sum = 0.0;
  for (const LinkTerm& term : budget.terms) {
    sum += std::ranges::count(names, term.name) > 0 ? term.value : 0.0;
  }
  return sum;
}

/// A line of the table: a label, and what stands there for a frequency.
struct Line {
  const char* label;
  std::function<std::string(const LinkAround&)> text;
};

[[nodiscard]] std::vector<Line> power_lines()
{
  return {{"reader towards [deg]",
           [](const LinkAround& l) {
             return fmt::format("{} {:g}", postproc::side_of_body(l.direction_deg),
                                l.direction_deg);
           }},
          {"transmit power of the implant [dBm]",
           [](const LinkAround& l) {
             return decibels(sum_of(l.out, {"transmit power, implant"}));
           }},
          {"its mismatch, efficiency, capsule [dB]",
           [](const LinkAround& l) {
             return decibels(
                 sum_of(l.out, {"mismatch, implant", "antenna efficiency, implant",
                                "loss of the capsule, implant"}));
           }},
          {"its gain, body included [dBi]",
           [](const LinkAround& l) { return decibels(l.input.implant.gain_dbi); }},
          {"= EIRP outside the body [dBm]",
           [](const LinkAround& l) { return decibels(l.out.eirp_dbm); }},
          {"free space, polarisation [dB]",
           [](const LinkAround& l) {
             return decibels(sum_of(l.out, {"free-space loss", "polarisation loss"}));
           }},
          {"reader: gain, mismatch, efficiency [dB]",
           [](const LinkAround& l) {
             return decibels(sum_of(l.out, {"gain, reader", "mismatch, reader",
                                            "antenna efficiency, reader"}));
           }},
          {"= received power, median [dBm]",
           [](const LinkAround& l) { return decibels(l.out.median.power_dbm); }},
          {"fade margin [dB]",
           [](const LinkAround& l) { return decibels(-l.out.fade_margin_db); }},
          {"noise in the bandwidth [dBm]",
           [](const LinkAround& l) { return decibels(l.out.noise_power_dbm); }},
          {"signal to noise, with fading [dB]",
           [](const LinkAround& l) { return decibels(l.out.faded.snr_db); }},
          {"Eb/N0, with fading [dB]",
           [](const LinkAround& l) { return decibels(l.out.faded.eb_n0_db); }},
          {"Eb/N0 needed [dB]",
           [](const LinkAround& l) { return decibels(l.out.required_eb_n0_db); }}};
}

[[nodiscard]] std::vector<Line> outcome_lines()
{
  return {
      {"= MARGIN [dB]",
       [](const LinkAround& l) { return decibels(l.out.faded.margin_db); }},
      {"  +- computed; tissue data [dB]",
       [](const LinkAround& l) {
         return fmt::format("{:.2g}; {:.2g}", l.uncertainty.db,
                            l.uncertainty.tissue_data);
       }},
      {"ratio of wrong bits, with fading",
       [](const LinkAround& l) {
         constexpr double counts = 1e-15;  // fewer than a link sends in its life
         const double ratio = l.out.faded.bit_error_ratio;
         return ratio < counts ? "below 1e-15" : fmt::format("{:.2g}", ratio);
       }},
      {"range [m]",
       [](const LinkAround& l) {
         return l.out.largest_distance ? fmt::format("{:.3g}", *l.out.largest_distance)
                                       : "none";
       }},
      {"largest data rate [kbit/s]",
       [](const LinkAround& l) { return rate_text(l.out.largest_data_rate); }},
      {"required transmit power [dBm]",
       [](const LinkAround& l) { return decibels(l.out.required_transmit_power_dbm); }},
      {"closes in directions [deg of 360]",
       [](const LinkAround& l) { return fmt::format("{:g}", l.closes_deg); }},
      {"weakest towards [deg]",
       [](const LinkAround& l) {
         return fmt::format("{} {:g}", postproc::side_of_body(l.worst_deg), l.worst_deg);
       }},
      {"  margin there [dB]",
       [](const LinkAround& l) {
         return decibels(l.out.faded.margin_db + l.worst_gain_dbi -
                         l.input.implant.gain_dbi);
       }},
      {"wake-up: margin of reader to implant [dB]",
       [](const LinkAround& l) { return decibels(l.back.faded.margin_db); }}};
}

[[nodiscard]] std::string target_text(const postproc::ErrorTarget& target)
{
  return target.packet_bits == 1
             ? fmt::format("at most {:g} of the bits wrong", target.ratio)
             : fmt::format("at most {:g} of the packets of {} bits wrong", target.ratio,
                           target.packet_bits);
}

[[nodiscard]] std::string sectors_text(const LinkAround& link)
{
  if (link.closes_deg == 0.0) {
    return "in no direction";
  }
  if (link.closes_deg == 360.0) {
    return "all around";
  }
  std::string text;
  constexpr std::size_t most = 4;
  for (std::size_t n = 0; n < std::min(link.sectors.size(), most); ++n) {
    const postproc::LinkSector& sector = link.sectors[n];
    text += fmt::format("{}{:g} to {:g} deg", text.empty() ? "" : ", ", sector.from,
                        sector.to);
  }
  return text + (link.sectors.size() > most
                     ? fmt::format(" and {} more sectors", link.sectors.size() - most)
                     : "");
}

[[nodiscard]] std::string above_text(const postproc::LimitFinding& finding)
{
  // Two decimals where one would hide which side of the limit it is.
  return std::abs(finding.above_by_db) < 0.1
             ? fmt::format("{:+.2f}", finding.above_by_db)
             : fmt::format("{:+.1f}", finding.above_by_db);
}

[[nodiscard]] std::string rule_text(const postproc::LimitFinding& finding)
{
  const std::string_view country =
      finding.rule.rules == postproc::RuleSet::europe ? "Europe, "
      : finding.rule.rules == postproc::RuleSet::itu  ? ""
                                                      : "USA, ";
  return fmt::format("{}{}{}{}", country, finding.rule.source,
                     finding.bandwidth_above ? "; signal too wide for it" : "",
                     finding.leaves_band ? "; signal leaves its band" : "");
}

/// Notes of all budgets, each once, with the frequencies that it is about.
[[nodiscard]] std::vector<std::string> budget_notes(const LinkStudy& study)
{
  std::vector<std::pair<std::string, std::string>> notes;
  for (const LinkAround& link : study.links) {
    for (const std::string& note : link.out.notes) {
      const auto same =
          std::ranges::find(notes, note, &decltype(notes)::value_type::first);
      if (same == notes.end()) {
        notes.emplace_back(note, fmt::format("{:.6g}", link.frequency * 1e-6));
      } else {
        same->second += fmt::format(", {:.6g}", link.frequency * 1e-6);
      }
    }
  }
  std::vector<std::string> lines;
  lines.reserve(notes.size());
  for (const auto& [note, frequencies] : notes) {
    lines.push_back(fmt::format("{} MHz: {}", frequencies, note));
  }
  return lines;
}

/// The largest part of the uncertainty, of every frequency where it is another.
[[nodiscard]] std::string causes_text(const LinkStudy& study)
{
  std::vector<std::string> causes;
  for (const LinkAround& link : study.links) {
    if (std::ranges::count(causes, link.uncertainty.dominant) == 0) {
      causes.push_back(link.uncertainty.dominant);
    }
  }
  return fmt::format("{}", fmt::join(causes, ", "));
}

}  // namespace

TextTable link_budget_table(const LinkStudy& study)
{
  std::vector<Column> columns{{"implant to reader", "", Align::left}};
  for (const LinkAround& link : study.links) {
    columns.push_back({megahertz(link.frequency), ""});
  }
  TextTable table(columns);
  std::vector<Line> lines = power_lines();
  std::ranges::move(outcome_lines(), std::back_inserter(lines));
  for (const Line& line : lines) {
    std::vector<std::string> row{line.label};
    for (const LinkAround& link : study.links) {
      row.push_back(line.text(link));
    }
    table.add_row(std::move(row));
  }
  return table;
}

std::string link_head(const LinkStudy& study)
{
  const postproc::LinkInput& input = study.request.input;
  const std::string fading =
      input.path.fade_sigma_db == 0.0
          ? "no fading"
          : fmt::format("in all but {:g} % of places", 100.0 * input.path.outage);
  return fmt::format("{}: {}, {} kbit/s in {:g} kHz, {}, {}; reader {} from the origin",
                     study.title.empty() ? "Link" : study.title,
                     postproc::modulation_name(input.signal.modulation.kind),
                     rate_text(input.signal.data_rate), input.signal.bandwidth * 1e-3,
                     target_text(input.signal.target), fading,
                     length_text(input.path.distance));
}

std::string link_verdict(const LinkStudy& study)
{
  const LinkAround& best = study.links[postproc::best_band(study.links)];
  const double margin = best.out.faded.margin_db;
  const double known = best.uncertainty.db + best.uncertainty.tissue_data;
  std::string text =
      fmt::format("{}{}: margin {} dB", study.links.size() > 1 ? "Best band " : "",
                  megahertz(best.frequency), decibels(margin));
  if (std::abs(margin) <= known) {
    text += fmt::format(", less than its uncertainty of {:.2g} dB: undecided", known);
  } else {
    text += margin >= 0.0 ? ": the link closes" : ": the link does not close";
  }
  text += fmt::format(". It closes {}. Best side of the body: {} ({:g} deg).",
                      sectors_text(best), postproc::side_of_body(best.best_deg),
                      best.best_deg);
  return text;
}

TextTable link_limits_table(const LinkStudy& study)
{
  TextTable table({{"", "MHz"},
                   {"limit", "dBm"},
                   {"implant", "dB"},
                   {"reader", "dB"},
                   {"EIRP over the limit of (negative: below it)", "", Align::left}});
  for (const LinkAround& link : study.links) {
    const std::string frequency = fmt::format("{:.6g}", link.frequency * 1e-6);
    for (const postproc::LinkLimit& limit : link.limits) {
      table.add_row({frequency, fmt::format("{:.2f}", limit.implant.limit_dbm),
                     above_text(limit.implant), above_text(limit.reader),
                     rule_text(limit.implant)});
    }
    if (link.limits.empty()) {
      table.add_row({frequency, "-", "-", "-", "no rule is known here"});
    }
  }
  return table;
}

std::vector<std::string> link_remarks(const LinkStudy& study)
{
  std::vector<std::string> remarks = budget_notes(study);
  remarks.push_back(fmt::format(
      "+- is mostly {}; in minima the gain is less sure than that", causes_text(study)));
  std::string assumed = "Assumed:";
  for (const std::string& assumption : study.assumptions) {
    assumed += " " + assumption + ";";
  }
  remarks.push_back(assumed + " free space beyond the skin, no interference.");
  return remarks;
}

std::string link_text(const LinkStudy& study, std::size_t most_columns)
{
  return fmt::format("{}\n{}\n{}\n{}", wrapped(link_head(study), 0, most_columns),
                     link_budget_table(study).text(most_columns),
                     wrapped(link_verdict(study), 0, most_columns),
                     link_limits_table(study).text(most_columns));
}

std::string link_notes(const LinkStudy& study, std::size_t most_columns)
{
  std::string text;
  for (const std::string& remark : link_remarks(study)) {
    text += wrapped(remark, 0, most_columns);
  }
  return text;
}

std::string link_lines(const LinkStudy& study, std::size_t which,
                       std::size_t most_columns)
{
  const LinkAround& link = study.links.at(which);
  std::vector<std::string> sources;
  std::string text;
  for (const LinkBudget* budget : {&link.out, &link.back}) {
    TextTable table({{budget == &link.out ? "implant to reader" : "reader to implant", "",
                      Align::left},
                     {megahertz(link.frequency), ""},
                     {"", "", Align::left},
                     {"formula", "", Align::left},
                     {"source", "", Align::left}});
    for (const LinkTerm& term : budget->terms) {
      auto known = std::ranges::find(sources, term.source);
      if (known == sources.end()) {
        sources.push_back(term.source);
        known = sources.end() - 1;
      }
      table.add_row({(term.kind == LinkTerm::Kind::total ? "= " : "") + term.name,
                     fmt::format("{:.4f}", term.value), term.unit, term.formula,
                     fmt::format("[{}]", known - sources.begin() + 1)});
    }
    text += table.text(most_columns) + "\n";
  }
  for (std::size_t n = 0; n < sources.size(); ++n) {
    text += wrapped(fmt::format("[{}] {}", n + 1, sources[n]), 0, most_columns);
  }
  return text;
}

postproc::PolarFigure link_figure(const LinkStudy& study)
{
  const postproc::LinkInput& input = study.request.input;
  postproc::PolarFigure figure;
  figure.title = "Margin of the link out of the body, by direction of the reader";
  figure.subtitle =
      fmt::format("{}; {}, {} kbit/s, reader at {}", study.title,
                  postproc::modulation_name(input.signal.modulation.kind),
                  rate_text(input.signal.data_rate), length_text(input.path.distance));
  figure.level_label = "margin with fading [dB]";
  figure.zero_name = "0 dB: just closes";
  figure.widest_span = 80.0;
  for (const LinkAround& link : study.links) {
    figure.series.push_back({megahertz(link.frequency), study.angle_deg, link.margin_db});
  }
  figure.notes = {std::string(postproc::link_caution)};
  return figure;
}

}  // namespace torsowave::app
