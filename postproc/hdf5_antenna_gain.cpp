#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <utility>

#include "postproc/hdf5_read.hpp"
#include "postproc/hdf5_result.hpp"

namespace torsowave::postproc::hdf5 {
namespace {

constexpr std::size_t most_names = 1000;  // of causes, and of assumptions

/// Values of all frequencies with a gain, NaN in the place of the others.
template <class Get>
[[nodiscard]] std::vector<double> table_of(const Result& result, std::size_t width,
                                           Get get)
{
  std::vector<double> table;
  for (const FrequencyResult& f : result.frequencies) {
    for (std::size_t n = 0; n < width; ++n) {
      table.push_back(f.antenna_gain ? get(*f.antenna_gain, n) : missing);
    }
  }
  return table;
}

[[nodiscard]] std::vector<std::string> causes_of(const Result& result)
{
  std::set<std::string> causes;
  for (const FrequencyResult& f : result.frequencies) {
    if (f.antenna_gain) {
      for (const auto& [cause, db] : f.antenna_gain->uncertainty_db) {
        causes.insert(cause);
      }
    }
  }
  return {causes.begin(), causes.end()};
}

void write_uncertainty(hid_t group, const Result& result, const Axis& frequency)
{
  const std::vector<std::string> causes = causes_of(result);
  if (causes.empty()) {
    return;
  }
  const Axis cause = write_axis(group, "cause", causes, {"", "cause"});
  write_variable(group, "uncertainty",
                 table_of(result, causes.size(),
                          [&](const AntennaGain& gain, std::size_t n) {
                            const auto found = gain.uncertainty_db.find(causes[n]);
                            return found == gain.uncertainty_db.end() ? missing
                                                                      : found->second;
                          }),
                 {&frequency, &cause}, {"dB", "uncertainty of the gain, by cause"});
}

/// By frequency; what is NaN in the file is left out.
[[nodiscard]] std::vector<std::map<std::string, double>> read_uncertainty(
    hid_t group, std::size_t frequencies)
{
  std::vector<std::map<std::string, double>> errors(frequencies);
  if (!has(group, "uncertainty")) {
    return errors;
  }
  const std::size_t count = length_of(group, "cause", most_names);
  const std::vector<std::string> causes = read_texts(group, "cause", {count});
  const std::vector<double> values =
      read_doubles(group, "uncertainty", {frequencies, count});
  for (std::size_t n = 0; n < values.size(); ++n) {
    if (!std::isnan(values[n])) {
      errors[n / count][causes[n % count]] = values[n];
    }
  }
  return errors;
}

}  // namespace

void write_antenna_gain(hid_t file, const Result& result)
{
  if (!result.link || std::ranges::none_of(result.frequencies, [](const auto& f) {
        return f.antenna_gain.has_value();
      })) {
    return;
  }
  const Group group = create_group(file, "antenna_gain");
  write_attribute(group.id(), "caution", std::string(caution));
  write_attribute(group.id(), "body_extent_m", result.link->body_extent);
  const std::size_t directions = result.far_angle_deg.size();
  const Axis frequency = write_frequency(group.id(), result);
  const Axis angle = write_axis(group.id(), "angle", result.far_angle_deg,
                                {"degree", "direction, counter-clockwise from +x"});
  write_variable(
      group.id(), "gain",
      table_of(
          result, directions,
          [](const AntennaGain& gain, std::size_t n) { return gain.gain_dbi.at(n); }),
      {&frequency, &angle},
      {"dB",
       "gain of a short dipole in its capsule, body included, over an isotropic "
       "radiator"});
  write_variable(
      group.id(), "eirp",
      table_of(result, directions,
               [](const AntennaGain& gain, std::size_t n) { return gain.eirp.at(n); }),
      {&frequency, &angle},
      {"W A-2 m-2", "equivalent isotropically radiated power for a moment of 1 A m"});
  write_variable(
      group.id(), "delivered",
      table_of(result, 1,
               [](const AntennaGain& gain, std::size_t) { return gain.delivered; }),
      {&frequency}, {"W A-2 m-2", "power that a moment of 1 A m delivers to the body"});
  write_variable(group.id(), "to_skin", result.link->to_skin, {&angle},
                 {"m", "from the origin to where the body ends"});
  const std::vector<std::string>& assumptions = result.link->assumptions;
  if (!assumptions.empty()) {
    static_cast<void>(write_axis(group.id(), "assumption", assumptions,
                                 {"", "what the gains stand on"}));
  }
  write_uncertainty(group.id(), result, frequency);
}

void read_antenna_gain(hid_t file, Result& result)
{
  if (!has(file, "antenna_gain")) {
    return;
  }
  const Group group = open_group(file, "antenna_gain");
  const hid_t id = group.id();
  const std::size_t count = result.frequencies.size();
  const std::size_t directions = result.far_angle_deg.size();
  result.link = LinkBasis{
      read_doubles(id, "to_skin", {directions}),
      required(number_attribute(id, "body_extent_m"), "body_extent_m of /antenna_gain"),
      {}};
  if (has(id, "assumption")) {
    result.link->assumptions =
        read_texts(id, "assumption", {length_of(id, "assumption", most_names)});
  }
  auto gain = read_rows(id, "gain", count, directions);
  auto eirp = read_rows(id, "eirp", count, directions);
  const std::vector<double> delivered = read_doubles(id, "delivered", {count});
  const std::vector<std::map<std::string, double>> errors = read_uncertainty(id, count);
  for (std::size_t f = 0; f < count; ++f) {
    if (!gain[f].empty()) {
      result.frequencies[f].antenna_gain =
          AntennaGain{delivered[f], std::move(eirp[f]), std::move(gain[f]), errors[f]};
    }
  }
}

}  // namespace torsowave::postproc::hdf5
