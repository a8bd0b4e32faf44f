#include "postproc/summary_values.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <iterator>
#include <nlohmann/json.hpp>
#include <utility>

namespace torsowave::postproc {
namespace {

using Json = nlohmann::ordered_json;

struct Suffix {
  std::string_view text;
  std::string_view unit;
};
// The longest first: "_w_per_m" ends in "_m" too.
constexpr std::array suffixes{Suffix{"w_per_kg_per_w_per_m2", "(W/kg)/(W/m2)"},
                              Suffix{"w_per_kg_per_w_per_m", "(W/kg)/(W/m)"},
                              Suffix{"w_per_kg_per_w", "(W/kg)/W"},
                              Suffix{"w_per_kg", "W/kg"},
                              Suffix{"w_per_a2m2", "W/(A m)2"},
                              Suffix{"_w_per_m_rad", "W/m/rad"},
                              Suffix{"_w_per_m2", "W/m2"},
                              Suffix{"_w_per_m", "W/m"},
                              Suffix{"_per_s", "1/s"},
                              Suffix{"_bytes", "B"},
                              Suffix{"_db", "dB"},
                              Suffix{"_dbm", "dBm"},
                              Suffix{"_dbi", "dBi"},
                              Suffix{"_hz", "Hz"},
                              Suffix{"_deg", "deg"},
                              Suffix{"_mm2", "mm2"},
                              Suffix{"_m", "m"},
                              Suffix{"_s", "s"}};

/// The last step of the name that tells a unit decides: by_tissue.muscle has that of the
/// power above it. `uncertainty` is in dB throughout.
[[nodiscard]] std::string unit_of(const std::string& name, const std::string& power_unit)
{
  std::string_view rest = name;
  while (!rest.empty()) {
    const std::size_t dot = rest.rfind('.');
    const std::string_view step =
        dot == std::string_view::npos ? rest : rest.substr(dot + 1);
    for (const Suffix& suffix : suffixes) {
      if (step.ends_with(suffix.text)) {
        return std::string(suffix.unit == "W/m" ? power_unit : suffix.unit);
      }
    }
    if (step == "uncertainty") {
      return "dB";
    }
    rest = dot == std::string_view::npos ? std::string_view{} : rest.substr(0, dot);
  }
  return "1";
}

/// Walks down objects and collects numbers.
class Collector {
public:
  Collector(std::vector<NamedValue>& values, std::string power_unit)
      : values_(values), power_unit_(std::move(power_unit))
  {
  }

  void add(const std::string& name, double value)
  {
    values_.push_back({name, unit_of(name, power_unit_), value});
  }

  void add_all(const std::string& prefix, const Json& object)
  {
    for (const auto& [key, value] : object.items()) {
      const std::string name = prefix.empty() ? key : fmt::format("{}.{}", prefix, key);
      if (value.is_number()) {
        add(name, value.get<double>());
      } else if (value.is_object()) {
        add_all(name, value);
      }
    }
  }

private:
  std::vector<NamedValue>& values_;
  std::string power_unit_;
};

/// The largest gain of the far field and where it lies.
void add_peak(Collector& collector, const Json& far_field)
{
  const auto gains = far_field.at("gain_db").get<std::vector<double>>();
  const auto peak = std::ranges::max_element(gains);
  if (peak != gains.end()) {
    collector.add("far_field.peak_gain_db", *peak);
    collector.add("far_field.peak_angle_deg",
                  far_field.at("angle_deg")
                      .at(static_cast<std::size_t>(std::distance(gains.begin(), peak)))
                      .get<double>());
  }
}

void add_loss(Collector& collector, const Json& frequency)
{
  const Json& source = frequency.at("source_power_w_per_m");
  const Json& radiated = frequency.at("radiated_power_w_per_m");
  if (source.is_number() && radiated.is_number() && source.get<double>() > 0.0 &&
      radiated.get<double>() > 0.0) {
    collector.add("loss_db",
                  10.0 * std::log10(source.get<double>() / radiated.get<double>()));
  }
}

[[nodiscard]] SummaryValues::AtFrequency values_at(const Json& frequency,
                                                   const std::string& power_unit)
{
  SummaryValues::AtFrequency at;
  at.frequency = frequency.at("frequency_hz").get<double>();
  Collector collector(at.values, power_unit);
  add_loss(collector, frequency);
  if (frequency.at("far_field").is_object()) {
    add_peak(collector, frequency.at("far_field"));
  }
  collector.add_all("", frequency);
  std::erase_if(at.values, [](const NamedValue& v) { return v.name == "frequency_hz"; });
  return at;
}

[[nodiscard]] SummaryValues values_of(const Json& summary)
{
  const auto power_unit = summary.at("source").at("power_unit").get<std::string>();
  SummaryValues result;
  result.tool_version = summary.at("tool").at("version").get<std::string>();
  result.tool_revision = summary.at("tool").at("revision").get<std::string>();
  result.scenario_sha256 = summary.at("scenario").at("file_sha256").get<std::string>();
  Collector collector(result.values, power_unit);
  collector.add_all("grid", summary.at("grid"));
  for (const Json& material : summary.at("materials")) {
    collector.add_all("materials." + material.at("tissue").get<std::string>(), material);
  }
  for (const Json& frequency : summary.at("frequencies")) {
    result.frequencies.push_back(values_at(frequency, power_unit));
  }
  return result;
}

}  // namespace

SummaryValues read_summary_values(std::string_view json)
{
  try {
    return values_of(Json::parse(json));
  } catch (const Json::exception& error) {
    throw SummaryError(fmt::format("is no summary of a run: {}", error.what()));
  }
}

}  // namespace torsowave::postproc
