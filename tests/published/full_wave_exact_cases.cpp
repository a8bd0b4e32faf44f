#include "published/full_wave_exact_cases.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>
#include <complex>
#include <cstdio>
#include <map>

#include "materials/tissue.hpp"
#include "postproc/uncertainty.hpp"
#include "solver/layered_medium.hpp"

namespace torsowave::reference {
namespace {

using postproc::FrequencyResult;
namespace cylinder = solver::cylinder;

std::complex<double> own_permittivity(const std::string& tissue, double frequency)
{
  return materials::relative_permittivity(*materials::find_tissue(tissue), frequency);
}

std::string layers_text(const std::vector<PlanarLayer>& layers, const std::string& last)
{
  std::string text = "body:\n  background: air\n  layers:\n";
  for (const PlanarLayer& layer : layers) {
    text += fmt::format("    - {{tissue: {}, thickness: {} mm}}\n", layer.tissue,
                        layer.thickness_mm);
  }
  return last == "air"
             ? text
             : text + fmt::format("    - {{tissue: {}, thickness: half_space}}\n", last);
}

solver::LayeredMedium exact_layers(const std::vector<PlanarLayer>& layers,
                                   const std::string& last, double frequency)
{
  solver::LayeredMedium medium;
  medium.frequency = frequency;
  medium.eps.emplace_back(1.0);
  for (const PlanarLayer& layer : layers) {
    medium.eps.push_back(own_permittivity(layer.tissue, frequency));
    medium.thickness.push_back(layer.thickness_mm * 1e-3);
  }
  medium.eps.push_back(own_permittivity(last, frequency));
  return medium;
}

/// What a run states for one share: its own items, and those of the whole run.
double stated(const FrequencyResult& at, double fit_db, double grid_db)
{
  std::map<std::string, double> items = at.uncertainty_db;
  items["fit"] = fit_db;
  items["grid"] = grid_db;
  return postproc::combined_uncertainty(items).db;
}

std::string shapes_text(const std::vector<Ring>& rings)
{
  std::string text;
  for (const Ring& ring : rings) {
    if (ring.tissue == "air") {
      continue;  // the capsule
    }
    text.insert(0, fmt::format("    - {{tissue: {}, circle: {{center: [0 mm, 0 mm], "
                               "radius: {} mm}}}}\n",
                               ring.tissue, ring.outer_radius_mm));
  }
  return "body:\n  background: air\n  shapes:\n" + text;
}

}  // namespace

ExactCase plane_wave_on_layers(const std::string& name,
                               const std::vector<PlanarLayer>& layers,
                               const std::string& last, bool from_right)
{
  const std::string scenario =
      "title: layers\nmode: 1D\ngrid: {cell: 0.5 mm, margin: 12 mm}\n" +
      layers_text(layers, last) +
      fmt::format("incident: {{plane_wave: {{angle: {} deg}}}}\n", from_right ? 180 : 0) +
      "waveform: {type: pulse, center: 3 GHz, bandwidth: 5.6 GHz}\n"
      "frequencies: [403.5 MHz, 915 MHz, 2.45 GHz, 5.8 GHz]\nduration: {decay: 80 dB}\n";
  return {name, scenario, [=](const FullWaveRun& run, std::size_t f) {
            const FrequencyResult& at = run.result.frequencies[f];
            solver::LayeredMedium medium = exact_layers(layers, last, at.frequency);
            if (from_right) {
              medium = solver::reversed(medium);
            }
            const auto exact = solver::solve_plane_wave(medium, {});
            const postproc::LayerResponse& slab = *at.slab;
            std::vector<Figure> figures;
            figures.push_back(
                {"R", *slab.reflectance, exact.reflectance,
                 stated(at, *slab.fit_error.reflectance, *slab.grid_error.reflectance)});
            figures.push_back({"T", *slab.transmittance, exact.transmittance,
                               stated(at, *slab.fit_error.transmittance,
                                      *slab.grid_error.transmittance)});
            for (std::size_t n = 0; n < layers.size(); ++n) {
              const std::size_t m = from_right ? layers.size() - 1 - n : n;
              figures.push_back({"A " + layers[n].tissue, slab.absorbed_by_layer[n],
                                 exact.absorbed[m],
                                 stated(at, slab.fit_error.absorbed_by_layer[n],
                                        slab.grid_error.absorbed_by_layer[n])});
            }
            return figures;
          }};
}

ExactCase sheet_in_muscle()
{
  const std::vector<PlanarLayer> layers{{"skin_dry", 2.0}, {"fat_not_infiltrated", 10.0}};
  const std::string scenario =
      "title: sheet\nmode: 1D\ngrid: {cell: 0.5 mm, margin: 40 mm}\n" +
      layers_text(layers, "muscle") +
      "implant: {position: 27.3 mm, source: current_sheet}\n"
      "waveform: {type: pulse, center: 1.4 GHz, bandwidth: 2.4 GHz}\n"
      "frequencies: [403.5 MHz, 915 MHz, 2.45 GHz]\nduration: {decay: 80 dB}\n";
  return {
      "current sheet in muscle", scenario, [=](const FullWaveRun& run, std::size_t f) {
        const FrequencyResult& at = run.result.frequencies[f];
        const solver::LayeredMedium medium = exact_layers(layers, "muscle", at.frequency);
        const auto exact = solver::solve_current_sheet(medium, {}, 27.3e-3);
        const postproc::LayerResponse& slab = *at.slab;
        const double all = postproc::combined_uncertainty(at.uncertainty_db).db;
        std::vector<Figure> figures{
            {"into air", *slab.into_first * at.source_power, exact.into_first, all},
            {"into muscle", *slab.into_last * at.source_power, exact.into_last, all},
            {"share into air", *slab.into_first, exact.into_first / exact.delivered,
             stated(at, *slab.fit_error.into_first, *slab.grid_error.into_first)},
            {"share into muscle", *slab.into_last, exact.into_last / exact.delivered,
             stated(at, *slab.fit_error.into_last, *slab.grid_error.into_last)}};
        for (std::size_t n = 0; n < layers.size(); ++n) {
          figures.push_back({"A " + layers[n].tissue, slab.absorbed_by_layer[n],
                             exact.absorbed[n] / exact.delivered,
                             stated(at, slab.fit_error.absorbed_by_layer[n],
                                    slab.grid_error.absorbed_by_layer[n])});
        }
        return figures;
      }};
}

ExactCase round_case(const RoundCase& round)
{
  const std::string scenario =
      "title: round\nmode: " + round.mode +
      fmt::format("\ngrid: {{cells_per_wavelength: {}, margin: {} mm}}\n", round.cells,
                  round.margin_mm) +
      shapes_text(round.rings) + round.source + "\n" + round.band +
      "duration: {decay: 70 dB}\n";
  return {round.name, scenario, [=](const FullWaveRun& run, std::size_t f) {
            const FrequencyResult& at = run.result.frequencies[f];
            cylinder::Body body;
            for (const Ring& ring : round.rings) {
              body.layers.push_back({ring.outer_radius_mm * 1e-3,
                                     own_permittivity(ring.tissue, at.frequency)});
            }
            const cylinder::Solution exact(body,
                                           round.mode == "TMz"
                                               ? solver::Polarisation::tmz
                                               : solver::Polarisation::tez,
                                           at.frequency, round.exact_source);
            const cylinder::Powers powers = exact.powers();
            const double all = postproc::combined_uncertainty(at.uncertainty_db).db;
            std::vector<Figure> figures;
            if (powers.scattered) {
              figures.push_back({"scattered", at.radiated_power, *powers.scattered, all});
              figures.push_back({"absorbed", at.absorbed_power,
                                 *powers.extinguished - *powers.scattered, all});
            } else {
              figures.push_back({"leaves", *at.body_surface_power, powers.leaving, all});
              if (powers.delivered) {
                figures.push_back(
                    {"delivered", at.source_power, *powers.delivered,
                     at.grid_error_db.at("source") + at.uncertainty_db.at("fit")});
              }
              figures.push_back({"radiated", at.radiated_power, *powers.radiated, all});
            }
            return figures;
          }};
}

void expect_inside(const ExactCase& one, const FullWaveRun& run)
{
  for (std::size_t f = 0; f < run.result.frequencies.size(); ++f) {
    const FrequencyResult& at = run.result.frequencies[f];
    std::string items;
    for (const auto& [name, db] : at.uncertainty_db) {
      items += fmt::format(" {} {:.4f}", name, db);
    }
    for (const Figure& figure : one.figures(run, f)) {
      const double error = 10.0 * std::log10(figure.found / figure.exact);
      const std::string line =
          fmt::format("{:<40} {:7.1f} MHz {:<20} true {:+.4f} stated {:.4f} dB", one.name,
                      at.frequency * 1e-6, figure.name, error, figure.stated_db);
      std::printf("%s (%s )\n", line.c_str(), items.c_str());
      EXPECT_LE(std::abs(error), figure.stated_db) << line;
    }
  }
}

}  // namespace torsowave::reference
