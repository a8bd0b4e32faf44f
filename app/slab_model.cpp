#include "app/slab_model.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>

#include "app/utc_time.hpp"
#include "postproc/sha256.hpp"
#include "scenarios/input_error.hpp"

namespace torsowave::app {
namespace {

using postproc::SlabCase;
using postproc::SlabResult;
using postproc::SlabSource;
using scenarios::LayerStack;
using scenarios::Scenario;

/// Outer media and layers, each once.
[[nodiscard]] std::vector<materials::Tissue> tissues_of(const Scenario& scenario)
{
  const LayerStack stack = scenarios::layer_stack(scenario.body);
  std::vector<std::string> names{stack.first, stack.last};
  for (const scenarios::Slab& slab : stack.slabs) {
    names.push_back(slab.tissue);
  }
  std::ranges::sort(names);
  names.erase(std::unique(names.begin(), names.end()), names.end());
  std::vector<materials::Tissue> tissues;
  for (const std::string& name : names) {
    const auto& custom = scenario.materials.custom;
    const auto own = std::ranges::find(custom, name, &materials::Tissue::name);
    // The reader has checked every name.
    tissues.push_back(own != custom.end() ? *own : *materials::find_tissue(name));
  }
  return tissues;
}

[[nodiscard]] materials::DebyePalette fit_media(
    const Scenario& scenario, const std::vector<materials::Tissue>& tissues,
    const std::vector<double>& frequencies)
{
  const scenarios::MaterialsSpec& spec = scenario.materials;
  const std::array<double, 2> band = spec.fit_band.value_or(
      std::array{0.8 * frequencies.front(), 1.25 * frequencies.back()});
  try {
    return materials::fit_debye(tissues,
                                {band[0], band[1], spec.fit_poles, spec.fit_max_error});
  } catch (const materials::FitRefused& error) {
    throw scenarios::InputError(
        {{scenario.where("materials.fit"), "materials.fit", error.what()}});
  }
}

/// Evenly over the domain of the scenario.
[[nodiscard]] std::vector<double> profile_places(const Scenario& scenario,
                                                 const LayerStack& stack,
                                                 std::size_t points)
{
  const double thickness = stack.last_face - stack.first_face;
  const double margin = scenario.grid.size ? 0.5 * ((*scenario.grid.size)[0] - thickness)
                                           : *scenario.grid.margin;
  std::vector<double> places;
  for (std::size_t i = 0; i < points; ++i) {
    const double share = static_cast<double>(i) / static_cast<double>(points - 1);
    places.push_back(stack.first_face - margin + share * (thickness + 2.0 * margin));
  }
  return places;
}

/// Everything but the cases.
[[nodiscard]] SlabResult describe(const Scenario& scenario, const LayerStack& stack,
                                  const StackMedia& media, const SlabRequest& request)
{
  SlabResult result;
  result.title = scenario.title;
  result.scenario_yaml = scenario.text;
  result.scenario_sha256 = postproc::sha256(scenario.text);
  result.created = utc_now();
  result.source = scenario.incident ? SlabSource::plane_wave : SlabSource::current_sheet;
  result.from_right = scenario.incident && scenario.incident->angle != 0.0;
  result.sheet_x = scenario.implant ? scenario.implant->position.x : 0.0;
  for (const MediaModel model : request.models) {
    result.media.push_back(media_name(model));
  }
  for (const solver::WavePolarisation polarisation : request.polarisations) {
    const bool te = polarisation == solver::WavePolarisation::te;
    result.polarisations.emplace_back(te ? "TE" : "TM");
  }
  result.angles_deg = request.angles_deg;
  result.frequencies = request.frequencies;
  result.first = stack.first;
  result.last = stack.last;
  result.first_face = stack.first_face;
  result.last_face = stack.last_face;
  for (const scenarios::Slab& slab : stack.slabs) {
    result.layers.push_back({slab.tissue, slab.from, slab.to});
  }
  result.loss_db = request.loss_db;
  if (scenario.incident) {
    const std::string& origin = result.from_right ? stack.last : stack.first;
    result.lossy_incidence = std::ranges::any_of(request.frequencies, [&](double f) {
      return media.permittivity(origin, MediaModel::cole_cole, f).imag() < 0.0;
    });
  }
  if (request.profile_points > 1) {
    result.x = profile_places(scenario, stack, request.profile_points);
  }
  return result;
}

/// \param place  from x of the scenario to the distance from the field's first face
template <class Place>
void take_profile(const SlabResult& result, const solver::LayeredField& field,
                  Place place, SlabCase& at)
{
  const double sign = result.from_right ? -1.0 : 1.0;
  for (const double x : result.x) {
    const solver::LayerFields fields = field.at(place(x));
    at.e_magnitude.push_back(fields.e_magnitude());
    at.flux.push_back(sign * fields.flux);
  }
}

[[nodiscard]] SlabCase plane_wave_case(const SlabResult& result,
                                       const solver::LayeredMedium& left_to_right,
                                       solver::WavePolarisation polarisation,
                                       double angle_deg)
{
  const solver::LayeredMedium medium =
      result.from_right ? solver::reversed(left_to_right) : left_to_right;
  const double angle = angle_deg * std::numbers::pi / 180.0;
  const double kt =
      solver::transverse_wavenumber(medium.eps.front(), medium.frequency, angle);
  const solver::PlaneWaveAnswer answer =
      solver::solve_plane_wave(medium, {polarisation, kt});
  SlabCase at;
  at.source_flux = answer.incident_flux;
  at.reflection = answer.reflection;
  at.transmission = answer.transmission;
  at.reflectance = answer.reflectance;
  at.entering = answer.entering;
  at.transmittance = answer.transmittance;
  at.absorbed = answer.absorbed;
  if (result.from_right) {
    std::ranges::reverse(at.absorbed);
  }
  if (result.loss_db) {
    at.loss_depth =
        solver::depth_of_loss(answer.field, answer.incident_flux, *result.loss_db);
  }
  take_profile(
      result, answer.field,
      [&](double x) {
        return result.from_right ? result.last_face - x : x - result.first_face;
      },
      at);
  return at;
}

[[nodiscard]] SlabCase sheet_case(const SlabResult& result,
                                  const solver::LayeredMedium& medium)
{
  const solver::CurrentSheetAnswer answer =
      solver::solve_current_sheet(medium, {}, result.sheet_x - result.first_face);
  // A sheet between lossless mirrors delivers nothing, and shares of nothing are none.
  const double whole = answer.delivered > 0.0 ? answer.delivered
                                              : std::numeric_limits<double>::quiet_NaN();
  SlabCase at;
  at.source_flux = answer.delivered;
  at.reflectance = answer.into_first / whole;
  at.transmittance = answer.into_last / whole;
  for (const double heat : answer.absorbed) {
    at.absorbed.push_back(heat / whole);
  }
  take_profile(
      result, answer.field, [&](double x) { return x - result.first_face; }, at);
  return at;
}

}  // namespace

std::string media_name(MediaModel model)
{
  return model == MediaModel::cole_cole ? "cole-cole" : "debye";
}

StackMedia::StackMedia(const Scenario& scenario, const std::vector<double>& frequencies,
                       bool fit)
    : tissues_(tissues_of(scenario))
{
  if (fit) {
    fitted_ = fit_media(scenario, tissues_, frequencies);
  }
}

bool StackMedia::is_conductor(const std::string& tissue) const
{
  return materials::is_conductor(
      *std::ranges::find(tissues_, tissue, &materials::Tissue::name));
}

std::complex<double> StackMedia::permittivity(const std::string& tissue, MediaModel model,
                                              double frequency) const
{
  const auto at = std::ranges::find(tissues_, tissue, &materials::Tissue::name);
  if (model == MediaModel::cole_cole) {
    return materials::relative_permittivity(*at, frequency);
  }
  const auto number = static_cast<std::size_t>(at - tissues_.begin());
  return materials::relative_permittivity(fitted_.media.at(number),
                                          fitted_.relaxation_times, frequency);
}

double StackMedia::fit_error() const
{
  double worst = 0.0;
  for (const materials::FittedMedium& medium : fitted_.media) {
    worst = std::max(worst, medium.max_relative_error);
  }
  return worst;
}

solver::LayeredMedium layered_medium(const LayerStack& stack, const StackMedia& media,
                                     MediaModel model, double frequency)
{
  solver::LayeredMedium medium;
  medium.frequency = frequency;
  medium.conductor_first = media.is_conductor(stack.first);
  medium.conductor_last = media.is_conductor(stack.last);
  const auto eps = [&](const std::string& tissue, bool conductor) {
    return conductor ? std::complex<double>{1.0}
                     : media.permittivity(tissue, model, frequency);
  };
  medium.eps.push_back(eps(stack.first, medium.conductor_first));
  for (const scenarios::Slab& slab : stack.slabs) {
    medium.eps.push_back(eps(slab.tissue, false));
    medium.thickness.push_back(slab.to - slab.from);
  }
  medium.eps.push_back(eps(stack.last, medium.conductor_last));
  return medium;
}

SlabResult solve_slab(const Scenario& scenario, const StackMedia& media,
                      const SlabRequest& request)
{
  const LayerStack stack = scenarios::layer_stack(scenario.body);
  SlabResult result = describe(scenario, stack, media, request);
  for (const MediaModel model : request.models) {
    for (const solver::WavePolarisation polarisation : request.polarisations) {
      for (const double angle : request.angles_deg) {
        for (const double frequency : request.frequencies) {
          const solver::LayeredMedium medium =
              layered_medium(stack, media, model, frequency);
          result.cases.push_back(
              result.source == SlabSource::plane_wave
                  ? plane_wave_case(result, medium, polarisation, angle)
                  : sheet_case(result, medium));
        }
      }
    }
  }
  return result;
}

}  // namespace torsowave::app
