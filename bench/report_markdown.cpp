#include <fmt/format.h>

#include <map>

#include "bench/contenders.hpp"
#include "bench/report.hpp"
#include "bench/vector_loops.hpp"
#include "postproc/version.hpp"

namespace torsowave::bench {
namespace {

[[nodiscard]] std::string title_of(const std::string& contender)
{
  static const std::map<std::string, std::string> titles{
      {textbook_double, "textbook, double"},
      {textbook_simd, "textbook, double, `omp simd`"},
      {textbook_float, "textbook, float"},
      {plain_sweep, "plain sweep"},
      {tiled, "tiled"},
      {numpy, "NumPy, double"}};
  return titles.at(contender);
}

/// Median (min to max), scaled.
[[nodiscard]] std::string text(const Spread& s, double scale, int digits)
{
  return fmt::format("{:.{}f} ({:.{}f} to {:.{}f})", s.median * scale, digits,
                     s.least * scale, digits, s.most * scale, digits);
}

[[nodiscard]] std::string machine_text(const Report& report)
{
  const Machine& m = report.machine;
  return fmt::format(
      "{}, {} processors, L1 {} KiB, L2 {} KiB per core, L3 {} MiB shared; {}; kernels: "
      "{}; "
      "torsowave {} ({}). Medians of {} rounds (min to max).\n",
      m.processor, m.processors, m.level1 / 1024, m.level2 / 1024, m.level3 / 1024 / 1024,
      m.compiler, m.instruction_set, postproc::tool_version(), postproc::tool_revision(),
      report.rounds);
}

[[nodiscard]] std::string headline_table(const Report& report)
{
  std::string table =
      fmt::format("\n| tiled stepper, {} thread{} | ratio |\n| --- | --- |\n",
                  report.threads, report.threads == 1 ? "" : "s");
  for (const Headline& h : report.headlines) {
    table += fmt::format("| {} | {} |\n", h.text, text(h.value, 1.0, 2));
  }
  return table;
}

[[nodiscard]] std::string speed_table(const Report& report)
{
  std::string head = "\n| the machine |";
  std::string rule = "| --- |";
  std::map<int, std::string> rows;  // by place in the table
  for (const MachineSpeed& s : report.speeds) {
    head += fmt::format(" {} thread{} |", s.threads, s.threads == 1 ? "" : "s");
    rule += " --- |";
    int row = 0;
    const auto put = [&](const std::string& what, const Spread& value) {
      std::string& line = rows[row++];
      line += fmt::format("{} {} |", line.empty() ? fmt::format("| {} |", what) : "",
                          text(value, 1e-9, 1));
    };
    for (const Level level : levels) {
      put(fmt::format("in-place update in {}, GB/s read and written", name_of(level)),
          s.update[static_cast<std::size_t>(level)]);
    }
    put(fmt::format("of {} arrays side by side in L2, GB/s read and written",
                    side_by_side),
        s.update_parts);
    put("arithmetic, 1e9 vectors/s", s.arithmetic);
    put("loads from L1, 1e9 vectors/s", s.loads);
    put("stores to L1, 1e9 vectors/s", s.stores);
  }
  std::string table = head + "\n" + rule + "\n";
  for (const auto& [row, line] : rows) {
    table += line + "\n";
  }
  return table;
}

[[nodiscard]] std::string line_text(const Line& line)
{
  const Spread rate = line.rate.spread();
  std::string row = fmt::format("| {} | {} | {} |", title_of(line.rate.name),
                                line.rate.threads, text(rate, 1e-6, 0));
  row += line.bytes > 0.0 ? fmt::format(" {:.1f} | {:.1f} |", line.bytes,
                                        line.bytes * rate.median * 1e-9)
                          : " | |";
  row += line.ceiling.rate > 0.0
             ? fmt::format(" {:.0f} % of {:.0f}, {} |\n",
                           100.0 * rate.median / line.ceiling.rate,
                           line.ceiling.rate * 1e-6, line.ceiling.bound_by)
             : " |\n";
  return row;
}

[[nodiscard]] std::string case_table(const Case& c)
{
  std::string table = fmt::format(
      "\n**{}, {} x {}, {}**: {:.0f} % of the {} without relaxations, {:.0f} % in runs "
      "of one "
      "tissue, {:.1f} % cell by cell; {:.1f} arithmetic instructions, {:.1f} loads and "
      "{:.1f} "
      "stores for a vector of cells.\n\n",
      c.mode, c.size.nx, c.size.ny,
      c.poles == 0 ? std::string("vacuum") : fmt::format("K = {}", c.poles),
      100.0 * c.shares.plain, c.mode == "TEz" ? "edges" : "cells",
      100.0 * c.shares.uniform, 100.0 * c.shares.mixed, c.cost.arithmetic, c.cost.loads,
      c.cost.stores);
  table +=
      "| stepper | threads | Mcell-steps/s | B per cell-step | GB/s | share of the "
      "roofline |\n| --- | --- | --- | --- | --- | --- |\n";
  for (const Line& line : c.lines) {
    table += line_text(line);
  }
  return table;
}

[[nodiscard]] std::string agreement_text(const Report& report)
{
  std::string result =
      "\nLargest difference of Ez from the textbook's in double, over its largest value, "
      "160 x 160 cells, 1000 steps:";
  const char* separator = " ";
  for (const Agreement& a : report.agreement) {
    result += fmt::format("{}{} {:.1e}", separator, title_of(a.name), a.difference);
    separator = "; ";
  }
  return result + ".\n";
}

}  // namespace

std::string markdown(const Report& report)
{
  std::string all = machine_text(report) + headline_table(report);
  if (!report.speeds.empty()) {
    all += speed_table(report);
  }
  for (const Case& c : report.cases) {
    all += case_table(c);
  }
  all += agreement_text(report);
  for (const std::string& note : report.notes) {
    all += "\n" + note + ".\n";
  }
  return all;
}

}  // namespace torsowave::bench
