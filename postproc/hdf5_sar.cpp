#include <algorithm>
#include <cmath>

#include "postproc/hdf5_read.hpp"
#include "postproc/hdf5_result.hpp"

namespace torsowave::postproc::hdf5 {
namespace {

/// At a point, over 1 g, over 10 g.
constexpr std::size_t averages = 3;

/// The largest values of every frequency, (frequency, average).
struct PeakTable {
  std::vector<double> value;
  std::vector<double> x;
  std::vector<double> y;
  std::vector<double> side;
  std::vector<std::string> tissue;
};

void add(PeakTable& table, const std::optional<SarSpot>& spot)
{
  table.value.push_back(spot ? spot->value : missing);
  table.x.push_back(spot ? spot->at.x : missing);
  table.y.push_back(spot ? spot->at.y : missing);
  table.side.push_back(spot ? spot->side : missing);
  table.tissue.push_back(spot ? spot->tissue : "");
}

/// \param peaks  of a frequency's SAR; null where it has none
template <class Peaks>
void write_peaks(hid_t group, const std::string& prefix, const Result& result,
                 const Axes& axes, const Description& description, Peaks peaks)
{
  PeakTable table;
  bool any = false;
  for (const FrequencyResult& f : result.frequencies) {
    const SarPeaks* const found = f.sar ? peaks(*f.sar) : nullptr;
    any = any || found != nullptr;
    const SarPeaks of = found != nullptr ? *found : SarPeaks{};
    add(table, of.local);
    add(table, of.one_gram);
    add(table, of.ten_gram);
  }
  if (!any) {
    return;
  }
  const Dataset value = write_variable(group, prefix, table.value, axes, description);
  write_attribute(value.id(), "caution", std::string(caution));
  write_variable(group, prefix + "_x", table.x, axes, {"m", "where: x"});
  write_variable(group, prefix + "_y", table.y, axes, {"m", "where: y"});
  write_variable(group, prefix + "_side", table.side, axes,
                 {"m", "side of the square; 0 at a point"});
  write_variable(group, prefix + "_tissue", table.tissue, axes, {"", "tissue there"});
}

/// What is known beside the capsule.
void write_capsule(hid_t group, const Result& result, const Axis& frequency,
                   const Axis& average)
{
  std::vector<double> value;
  std::vector<double> side;
  std::vector<double> end_on;
  std::vector<double> broadside;
  std::vector<double> delivered;
  std::vector<std::string> tissue;
  bool any = false;
  for (const FrequencyResult& f : result.frequencies) {
    const bool has = f.sar && f.sar->capsule;
    any = any || has;
    const CapsuleSar of = has ? *f.sar->capsule : CapsuleSar{};
    for (const double number : {of.local(), of.one_gram, of.ten_gram}) {
      value.push_back(has ? number : missing);
    }
    for (const double number : {0.0, of.one_gram_side, of.ten_gram_side}) {
      side.push_back(has ? number : missing);
    }
    end_on.push_back(has ? of.local_end_on : missing);
    broadside.push_back(has ? of.local_broadside : missing);
    delivered.push_back(has ? of.delivered : missing);
    tissue.push_back(of.tissue);
  }
  if (!any) {
    return;
  }
  const Axes both{&frequency, &average};
  const Dataset dataset =
      write_variable(group, "capsule", value, both,
                     {"(W/kg)/W", "largest SAR beside the capsule per watt delivered"});
  write_attribute(dataset.id(), "caution", std::string(caution));
  write_variable(group, "capsule_side", side, both,
                 {"m", "side of the cube; 0 at a point"});
  write_variable(group, "capsule_end_on", end_on, {&frequency},
                 {"(W/kg)/W", "SAR on the capsule on the dipole's axis"});
  write_variable(group, "capsule_broadside", broadside, {&frequency},
                 {"(W/kg)/W", "SAR on the capsule across the dipole's axis"});
  write_variable(group, "capsule_delivered", delivered, {&frequency},
                 {"W m-2 A-2", "power that a dipole of 1 A m delivers"});
  write_variable(group, "capsule_tissue", tissue, {&frequency},
                 {"", "tissue around the capsule"});
}

/// Largest values by frequency; none where the file has no such variable.
[[nodiscard]] std::vector<SarPeaks> read_peaks(hid_t group, const std::string& prefix,
                                               std::size_t count)
{
  std::vector<SarPeaks> peaks(count);
  if (!has(group, prefix)) {
    return peaks;
  }
  const Shape shape{count, averages};
  const std::vector<double> value = read_doubles(group, prefix, shape);
  const std::vector<double> x = read_doubles(group, prefix + "_x", shape);
  const std::vector<double> y = read_doubles(group, prefix + "_y", shape);
  const std::vector<double> side = read_doubles(group, prefix + "_side", shape);
  const std::vector<std::string> tissue = read_texts(group, prefix + "_tissue", shape);
  for (std::size_t p = 0; p < value.size(); ++p) {
    if (!std::isnan(value[p])) {
      SarPeaks& of = peaks[p / averages];
      (p % averages == 0   ? of.local
       : p % averages == 1 ? of.one_gram
                           : of.ten_gram) =
          SarSpot{value[p], {x[p], y[p]}, tissue[p], side[p]};
    }
  }
  return peaks;
}

[[nodiscard]] std::vector<std::optional<CapsuleSar>> read_capsule(hid_t group,
                                                                  std::size_t count)
{
  std::vector<std::optional<CapsuleSar>> capsules(count);
  if (!has(group, "capsule")) {
    return capsules;
  }
  const std::vector<double> value = read_doubles(group, "capsule", {count, averages});
  const std::vector<double> side = read_doubles(group, "capsule_side", {count, averages});
  const std::vector<double> end_on = read_doubles(group, "capsule_end_on", {count});
  const std::vector<double> broadside = read_doubles(group, "capsule_broadside", {count});
  const std::vector<double> delivered = read_doubles(group, "capsule_delivered", {count});
  const std::vector<std::string> tissue = read_texts(group, "capsule_tissue", {count});
  for (std::size_t f = 0; f < count; ++f) {
    if (!std::isnan(delivered[f])) {
      capsules[f] = CapsuleSar{delivered[f],           end_on[f],
                               broadside[f],           value[f * averages + 1],
                               side[f * averages + 1], value[f * averages + 2],
                               side[f * averages + 2], tissue[f]};
    }
  }
  return capsules;
}

}  // namespace

void write_sar_peaks(hid_t file, const Result& result)
{
  if (std::ranges::none_of(result.frequencies,
                           [](const auto& f) { return f.sar.has_value(); })) {
    return;
  }
  const Group group = create_group(file, "sar_peaks");
  write_attribute(group.id(), "caution", std::string(caution));
  std::vector<double> known;
  std::vector<double> away_from;
  for (const FrequencyResult& f : result.frequencies) {
    known.push_back(f.sar ? 1.0 : 0.0);
    away_from.push_back(f.sar && f.sar->away ? f.sar->away_from : missing);
  }
  const Axis frequency = write_frequency(group.id(), result);
  const Axis average = write_axis(group.id(), "average", {"point", "1 g", "10 g"},
                                  {"", "what SAR is averaged over"});
  write_variable(group.id(), "known", known, {&frequency},
                 {"1", "1 where SAR was found at this frequency, else 0"});
  if (!std::ranges::all_of(away_from, [](double d) { return std::isnan(d); })) {
    write_variable(group.id(), "away_from", away_from, {&frequency},
                   {"m", "distance from the implant beyond which `away` looks"});
  }
  const Axes axes{&frequency, &average};
  const bool wave = result.source.kind == "plane wave";
  write_peaks(group.id(), "slice", result, axes,
              {wave ? "(W/kg)/(W/m2)" : "(W/kg)/(W/m)",
               wave ? "largest SAR per incident power density"
                    : "largest SAR of the slice per watt per metre of source power"},
              [](const SarResult& sar) { return &sar.slice; });
  write_peaks(
      group.id(), "away", result, axes,
      {"(W/kg)/W", "largest SAR away from the capsule per watt delivered, an estimate"},
      [](const SarResult& sar) { return sar.away ? &*sar.away : nullptr; });
  write_capsule(group.id(), result, frequency, average);
}

void read_sar_peaks(hid_t file, Result& result)
{
  if (!has(file, "sar_peaks")) {
    return;
  }
  const Group group = open_group(file, "sar_peaks");
  const hid_t id = group.id();
  const std::size_t count = result.frequencies.size();
  const std::vector<double> known = read_doubles(id, "known", {count});
  const std::vector<double> away_from = has(id, "away_from")
                                            ? read_doubles(id, "away_from", {count})
                                            : std::vector<double>(count, missing);
  const std::vector<SarPeaks> slice = read_peaks(id, "slice", count);
  const std::vector<SarPeaks> away = read_peaks(id, "away", count);
  const std::vector<std::optional<CapsuleSar>> capsule = read_capsule(id, count);
  for (std::size_t f = 0; f < count; ++f) {
    if (known[f] != 1.0) {
      continue;
    }
    SarResult& sar = result.frequencies[f].sar.emplace();
    sar.slice = slice[f];
    sar.capsule = capsule[f];
    if (!std::isnan(away_from[f])) {
      sar.away = away[f];
      sar.away_from = away_from[f];
    }
  }
}

}  // namespace torsowave::postproc::hdf5
