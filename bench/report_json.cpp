#include <nlohmann/json.hpp>

#include "bench/contenders.hpp"
#include "bench/report.hpp"
#include "postproc/version.hpp"

namespace torsowave::bench {
namespace {

using Json = nlohmann::ordered_json;

[[nodiscard]] Json json_of(const Spread& s)
{
  return {{"median", s.median}, {"min", s.least}, {"max", s.most}};
}

[[nodiscard]] Json json_of(const Machine& m)
{
  return {{"processor", m.processor}, {"processors", m.processors},
          {"compiler", m.compiler},   {"instruction_set", m.instruction_set},
          {"l1_bytes", m.level1},     {"l2_bytes", m.level2},
          {"l3_bytes", m.level3}};
}

[[nodiscard]] Json json_of(const MachineSpeed& s)
{
  Json bytes;
  for (const Level level : levels) {
    bytes[name_of(level)] = json_of(s.update[static_cast<std::size_t>(level)]);
  }
  return {{"threads", s.threads},
          {"update_bytes_per_s", bytes},
          {"update_six_arrays_in_l2_bytes_per_s", json_of(s.update_parts)},
          {"arithmetic_vectors_per_s", json_of(s.arithmetic)},
          {"load_vectors_per_s", json_of(s.loads)},
          {"store_vectors_per_s", json_of(s.stores)}};
}

[[nodiscard]] Json json_of(const Line& line)
{
  const Spread rate = line.rate.spread();
  Json json{{"name", line.rate.name},
            {"threads", line.rate.threads},
            {"cell_steps_per_s", json_of(rate)}};
  if (line.bytes > 0.0) {
    json["bytes_per_cell_step"] = line.bytes;
    json["bytes_per_s"] = line.bytes * rate.median;
  }
  if (line.ceiling.rate > 0.0) {
    json["roofline"] = {{"cell_steps_per_s", line.ceiling.rate},
                        {"bound_by", line.ceiling.bound_by},
                        {"share", rate.median / line.ceiling.rate}};
  }
  return json;
}

[[nodiscard]] Json json_of(const Case& c)
{
  Json json{{"mode", c.mode},
            {"nx", c.size.nx},
            {"ny", c.size.ny},
            {"poles", c.poles},
            {"cell_shares",
             {{"plain", c.shares.plain},
              {"uniform", c.shares.uniform},
              {"mixed", c.shares.mixed}}},
            {"operations_per_cell_step",
             {{"arithmetic", c.cost.arithmetic},
              {"loads", c.cost.loads},
              {"stores", c.cost.stores}}}};
  for (const Line& line : c.lines) {
    json["results"].push_back(json_of(line));
  }
  return json;
}

[[nodiscard]] Json head(const Report& report)
{
  Json json{{"tool",
             {{"name", "torsowave_bench"},
              {"version", postproc::tool_version()},
              {"revision", postproc::tool_revision()}}},
            {"machine", json_of(report.machine)},
            {"threads", report.threads},
            {"rounds", report.rounds}};
  for (const Headline& h : report.headlines) {
    json["ratios"][h.key] = json_of(h.value);
  }
  for (const Agreement& a : report.agreement) {
    json["field_difference"][a.name] = a.difference;
  }
  json["notes"] = report.notes;
  return json;
}

}  // namespace

std::string full_json(const Report& report)
{
  Json json = head(report);
  for (const MachineSpeed& speed : report.speeds) {
    json["machine_speed"].push_back(json_of(speed));
  }
  for (const Case& c : report.cases) {
    json["cases"].push_back(json_of(c));
  }
  return json.dump(2) + "\n";
}

std::string quick_json(const Report& report)
{
  Json json = head(report);
  for (const Case& c : report.cases) {
    json["case"] = {
        {"mode", c.mode}, {"nx", c.size.nx}, {"ny", c.size.ny}, {"poles", c.poles}};
    for (const Line& line : c.lines) {
      json["cell_steps_per_s"][line.rate.name] = json_of(line.rate.spread());
    }
  }
  return json.dump(2) + "\n";
}

}  // namespace torsowave::bench
