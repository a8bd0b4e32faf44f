#include "app/sar_estimate.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "app/implant_gain.hpp"
#include "app/path_media.hpp"
#include "app/source_drive.hpp"
#include "materials/constants.hpp"
#include "postproc/antenna_gain.hpp"

namespace torsowave::app {
namespace {

using postproc::SarResult;

[[nodiscard]] std::vector<float> scaled(const std::vector<float>& values, double factor)
{
  std::vector<float> result(values.size());
  std::ranges::transform(values, result.begin(), [factor](float value) {
    return static_cast<float>(factor * static_cast<double>(value));
  });
  return result;
}

/// Mean power density of a plane wave of 1 V/m at the origin [W/m^2].
[[nodiscard]] double incident_density(const RunPlan& plan, double frequency)
{
  const auto n = std::sqrt(own_media(plan, frequency).front());
  return n.real() / (2.0 * materials::vacuum_impedance);
}

}  // namespace

std::vector<double> densities(const RunPlan& plan)
{
  std::vector<double> result;
  for (const materials::Tissue& tissue : plan.tissues) {
    result.push_back(tissue.density.value_or(0.0));
  }
  return result;
}

SarEstimate::SarEstimate(const RunPlan& plan, const postproc::PowerInputs& inputs)
    : plan_(plan),
      slice_(plan.map, postproc::tissue_cover(inputs, densities(plan))),
      obstacle_(obstacle())
{
}

std::string SarEstimate::obstacle() const
{
  if (!plan_.scenario.implant) {
    return {};
  }
  const scenarios::ImplantSpec& implant = *plan_.scenario.implant;
  if (implant.source == scenarios::SourceKind::magnetic_line) {
    return "the source is a magnetic line, not an electric dipole";
  }
  if (!implant.capsule) {
    return "a short dipole in tissue itself has no finite power; give the implant a "
           "capsule";
  }
  for (const double frequency : plan_.scenario.frequencies) {
    if (const auto problem = capsule_problem(plan_, frequency)) {
      return *problem;
    }
  }
  const CapsuleInTissue around =
      capsule_in_tissue(plan_, plan_.scenario.frequencies.front());
  if (around.known < 1.0 - postproc::most_foreign_share) {
    return "the density of what is around the capsule is not known: " + around.tissue;
  }
  return {};
}

SarResult SarEstimate::at(const postproc::FrequencyResult& powers,
                          const std::vector<float>& rate) const
{
  SarResult sar;
  if (plan_.scenario.incident) {
    sar.slice = slice_.peaks(
        scaled(rate, powers.source_power / incident_density(plan_, powers.frequency)));
    return sar;
  }
  sar.slice = slice_.peaks(rate);
  if (obstacle_.empty()) {
    add_three_dimensions(powers, rate, sar);
  }
  return sar;
}

void SarEstimate::add_three_dimensions(const postproc::FrequencyResult& powers,
                                       const std::vector<float>& rate,
                                       SarResult& sar) const
{
  const double frequency = powers.frequency;
  const CapsuleInTissue around = capsule_in_tissue(plan_, frequency);
  const solver::Capsule& capsule = around.capsule;
  sar.capsule = postproc::capsule_sar(capsule, frequency, around.density);
  sar.capsule->tissue = around.tissue;
  sar.away_from = std::cbrt(postproc::ten_gram / around.density);
  const geometry::Raster& raster = plan_.grid.raster;
  const postproc::DipoleInSlice dipole{
      radiator_kind(plan_.scenario.implant->source),
      {raster.x(plan_.source_i), raster.y(plan_.source_j)},
      plan_.scenario.implant->direction,
      capsule.radius,
      capsule.eps_tissue};
  // Per W/m of the slice -> per (1 A)^2 -> of the dipole -> per W that it delivers.
  std::vector<float> away = postproc::dipole_over_slice(
      plan_.map, own_media(plan_, frequency), frequency, dipole);
  const double factor =
      powers.source_power *
      postproc::capsule_factor(capsule, frequency, {dipole.kind, true}) /
      sar.capsule->delivered;
  std::ranges::transform(rate, away, away.begin(), [factor](float slice, float ratio) {
    return static_cast<float>(factor * static_cast<double>(slice) *
                              static_cast<double>(ratio));
  });
  sar.away = slice_.peaks(away, postproc::SarSlice::Beyond{dipole.at, sar.away_from});
}

std::vector<std::string> SarEstimate::notes(
    const std::vector<postproc::FrequencyResult>& frequencies) const
{
  std::vector<std::string> notes;
  std::string unknown;
  for (const materials::Tissue& tissue : plan_.tissues) {
    const bool absorbs = std::ranges::any_of(frequencies, [&](const auto& f) {
      return f.absorbed_by_tissue.contains(tissue.name);
    });
    if (absorbs && !tissue.density) {
      unknown += (unknown.empty() ? "" : ", ") + tissue.name;
    }
  }
  if (!unknown.empty()) {
    notes.push_back("SAR leaves out what has no known density: " + unknown +
                    " (materials.custom takes a density)");
  }
  if (!plan_.scenario.implant) {
    return notes;
  }
  if (!obstacle_.empty()) {
    notes.push_back("no SAR per watt in three dimensions: " + obstacle_);
  } else {
    notes.push_back(fmt::format(
        "SAR per watt: beside the capsule of a short dipole in a sphere in one tissue "
        "without end, mixed by what the near field heats ({}); farther away carried over "
        "from the slice, an estimate without a bound",
        frequencies.front().sar->capsule->tissue));
  }
  return notes;
}

}  // namespace torsowave::app
