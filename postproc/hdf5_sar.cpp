#include <algorithm>
#include <limits>

#include "postproc/hdf5_result.hpp"

namespace torsowave::postproc::hdf5 {
namespace {

constexpr double missing = std::numeric_limits<double>::quiet_NaN();

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
  std::vector<double> broadside;
  std::vector<double> delivered;
  std::vector<double> away_from;
  std::vector<std::string> tissue;
  bool any = false;
  for (const FrequencyResult& f : result.frequencies) {
    const bool known = f.sar && f.sar->capsule;
    any = any || known;
    const CapsuleSar of = known ? *f.sar->capsule : CapsuleSar{};
    for (const double number : {of.local(), of.one_gram, of.ten_gram}) {
      value.push_back(known ? number : missing);
    }
    for (const double number : {0.0, of.one_gram_side, of.ten_gram_side}) {
      side.push_back(known ? number : missing);
    }
    broadside.push_back(known ? of.local_broadside : missing);
    delivered.push_back(known ? of.delivered : missing);
    away_from.push_back(known ? f.sar->away_from : missing);
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
  write_variable(group, "capsule_broadside", broadside, {&frequency},
                 {"(W/kg)/W", "SAR on the capsule across the dipole's axis"});
  write_variable(group, "capsule_delivered", delivered, {&frequency},
                 {"W m-2 A-2", "power that a dipole of 1 A m delivers"});
  write_variable(group, "capsule_tissue", tissue, {&frequency},
                 {"", "tissue around the capsule"});
  write_variable(group, "away_from", away_from, {&frequency},
                 {"m", "distance from the implant beyond which `away` looks"});
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
  if (result.transmit_power) {
    write_attribute(group.id(), "transmit_power_w", *result.transmit_power);
  }
  std::vector<double> frequencies;
  for (const FrequencyResult& f : result.frequencies) {
    frequencies.push_back(f.frequency);
  }
  const Axis frequency =
      write_axis(group.id(), "frequency", frequencies, {"Hz", "frequency"});
  const Axis average = write_axis(group.id(), "average", {"point", "1 g", "10 g"},
                                  {"", "what SAR is averaged over"});
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

}  // namespace torsowave::postproc::hdf5
