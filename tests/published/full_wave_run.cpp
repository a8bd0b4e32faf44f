#include "published/full_wave_run.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <stdexcept>

#include "app/refinement.hpp"
#include "app/run_scenario.hpp"
#include "materials/debye_fit.hpp"
#include "postproc/temporary_folder.hpp"
#include "scenarios/reader.hpp"

namespace torsowave::reference {
namespace {

using Complex = std::complex<double>;

constexpr double radians = std::numbers::pi / 180.0;

[[nodiscard]] std::string circle(const Ring& ring)
{
  return fmt::format(
      "    - {{tissue: {}, circle: {{center: [0 mm, 0 mm], radius: {} mm}}}}\n",
      ring.tissue, ring.outer_radius_mm);
}

/// Later shapes cover earlier ones: the outermost ring comes first.
[[nodiscard]] std::string circles(const std::vector<Ring>& rings)
{
  std::string text;
  for (const Ring& ring : rings) {
    text.insert(0, circle(ring));
  }
  return text;
}

/// One circle of the innermost tissue, then a rind for each ring outside it: every rind
/// reaches from the outline down to the ring's inner radius, and the next covers it.
[[nodiscard]] std::string shells(const std::vector<Ring>& rings)
{
  const double whole = rings.back().outer_radius_mm;
  std::string text = circle({rings.front().tissue, whole});
  for (std::size_t n = 1; n < rings.size(); ++n) {
    text += fmt::format("    - {{tissue: {}, shell: {{thickness: {} mm}}}}\n",
                        rings[n].tissue, whole - rings[n - 1].outer_radius_mm);
  }
  return text;
}

}  // namespace

geometry::Point RoundBody::source() const
{
  const double radius = source_radius_mm * 1e-3;
  return {radius * std::cos(source_angle_deg * radians),
          radius * std::sin(source_angle_deg * radians)};
}

std::string homogeneous_scenario(const HomogeneousCase& homogeneous)
{
  return fmt::format(
      "title: homogeneous\nmode: TMz\n"
      "grid: {{cells_per_wavelength: {0}, size: [140 mm, 140 mm], precision: double}}\n"
      "body:\n  shapes:\n"
      "    - {{tissue: {1}, rectangle: {{min: [-1 m, -1 m], max: [1 m, 1 m]}}}}\n"
      "materials:\n  custom:\n"
      "    clear_gel: {{permittivity: 4, conductivity: 0 S/m, density: 1000 kg/m3}}\n"
      "implant: {{position: [0 mm, 0 mm], source: line_current}}\n"
      "waveform: {{type: pulse, center: {2}, bandwidth: {3}}}\nfrequencies: [{2}]\n"
      "duration: {{decay: 100 dB}}\noutputs: {{phasors: [Ez]}}\n",
      homogeneous.cells_per_wavelength, homogeneous.tissue, homogeneous.frequency,
      homogeneous.bandwidth);
}

std::string RoundBody::scenario() const
{
  const geometry::Point at = source();
  return fmt::format(
      "title: round body\nmode: TMz\ngrid: {{{}}}\nbody:\n  background: air\n"
      "  shapes:\n{}implant: {{position: [{:.12f} m, {:.12f} m], source: line_current}}\n"
      "waveform: {}\nfrequencies: {}\nduration: {}\noutputs: {{phasors: [Ez]}}\n",
      grid, as_shells ? shells(rings) : circles(rings), at.x, at.y, waveform, frequencies,
      duration);
}

Complex FullWaveRun::ez(std::size_t frequency, int i, int j) const
{
  const geometry::Raster& raster = plan.grid.raster;
  return result.phasors.at(0).values.at(frequency * raster.size() + raster.at(i, j));
}

FullWaveRun::Cell FullWaveRun::cell_at(double rho, double phi) const
{
  const geometry::Raster& raster = plan.grid.raster;
  const auto column = [&](double position, double corner) {
    return static_cast<int>(std::floor((position - corner) / raster.cell));
  };
  Cell cell{column(rho * std::cos(phi), raster.corner.x),
            column(rho * std::sin(phi), raster.corner.y),
            {},
            0.0,
            0.0};
  cell.centre = {raster.x(cell.i), raster.y(cell.j)};
  cell.rho = std::hypot(cell.centre.x, cell.centre.y);
  cell.phi = std::atan2(cell.centre.y, cell.centre.x);
  return cell;
}

FullWaveRun run_full_wave(const std::string& scenario, std::optional<double> refine)
{
  const postproc::TemporaryFolder folder;
  FullWaveRun run{app::plan_run(scenarios::parse_scenario(scenario, "case.yaml")), {}};
  app::RunOptions options;
  options.folder = folder / "result";
  options.threads = 1;  // the same bits as with more; tests run side by side
  std::optional<app::RunPlan> refined;
  if (refine) {
    refined = app::plan_refined(run.plan, *refine);
    options.refined = &*refined;
  }
  run.result = app::run_scenario(run.plan, options);
  return run;
}

Complex fitted_permittivity(const app::RunPlan& plan, const std::string& tissue,
                            std::size_t frequency)
{
  for (const materials::FittedMedium& medium : plan.fitted.media) {
    if (medium.tissue == tissue) {
      return materials::relative_permittivity(medium, plan.fitted.relaxation_times,
                                              plan.scenario.frequencies.at(frequency));
    }
  }
  throw std::invalid_argument("the plan has no " + tissue);
}

solver::cylinder::Solution exact_solution(const RoundBody& body, const app::RunPlan& plan,
                                          std::size_t frequency)
{
  solver::cylinder::Body round;
  for (const Ring& ring : body.rings) {
    round.layers.push_back(
        {ring.outer_radius_mm * 1e-3, fitted_permittivity(plan, ring.tissue, frequency)});
  }
  round.eps_outside = fitted_permittivity(plan, "air", frequency);
  return {round, solver::Polarisation::tmz, plan.scenario.frequencies.at(frequency),
          solver::cylinder::LineSource{body.source()}};
}

double FieldPair::error_db() const
{
  return 20.0 * std::log10(std::abs(found) / std::abs(exact));
}

std::vector<FieldPair> fields_on_circle(const FullWaveRun& run,
                                        const solver::cylinder::Solution& exact,
                                        std::size_t frequency, double radius, int count)
{
  std::vector<FieldPair> pairs;
  for (int n = 0; n < count; ++n) {
    const double angle = 2.0 * std::numbers::pi * n / count;
    const FullWaveRun::Cell cell = run.cell_at(radius, angle);
    pairs.push_back({run.ez(frequency, cell.i, cell.j), exact.at(cell.centre).z});
  }
  return pairs;
}

FieldErrors errors_within(const std::vector<FieldPair>& pairs, double range_db)
{
  double largest = 0.0;
  for (const FieldPair& pair : pairs) {
    largest = std::max(largest, std::abs(pair.exact));
  }
  FieldErrors errors;
  double difference = 0.0;
  double whole = 0.0;
  for (const FieldPair& pair : pairs) {
    if (std::abs(pair.exact) < largest * std::pow(10.0, -range_db / 20.0)) {
      continue;
    }
    errors.worst_db = std::max(errors.worst_db, std::abs(pair.error_db()));
    errors.worst_of_largest =
        std::max(errors.worst_of_largest, std::abs(pair.found - pair.exact) / largest);
    difference += std::norm(pair.found - pair.exact);
    whole += std::norm(pair.exact);
    ++errors.count;
  }
  errors.rms = std::sqrt(difference / whole);
  return errors;
}

namespace {

/// Power out of each of `count` sectors of a circle: ten points in each by Gauss's rule
/// of five (M. Abramowitz, I. A. Stegun, *Handbook of Mathematical Functions*, 1964,
/// table 25.4).
[[nodiscard]] std::vector<double> exact_sectors(const solver::cylinder::Solution& exact,
                                                bool is_tez, double radius, int count)
{
  constexpr std::array<double, 5> nodes{-0.906179845938664, -0.538469310105683, 0.0,
                                        0.538469310105683, 0.906179845938664};
  constexpr std::array<double, 5> weights{0.236926885056189, 0.478628670499366,
                                          0.568888888888889, 0.478628670499366,
                                          0.236926885056189};
  const double half = 0.5 * std::numbers::pi / count;  // of half a sector
  std::vector<double> angles;
  for (int part = 0; part < 2 * count; ++part) {
    for (const double node : nodes) {
      angles.push_back((2.0 * part - 1.0 + node) * half);
    }
  }
  const std::vector<solver::cylinder::Field> fields = exact.on_circle(radius, angles);
  std::vector<double> powers(static_cast<std::size_t>(count), 0.0);
  for (std::size_t n = 0; n < angles.size(); ++n) {
    const solver::cylinder::Field& at = fields[n];
    const double c = std::cos(angles[n]);
    const double s = std::sin(angles[n]);
    // TMz: S = 1/2 Re(-Ez Hy*, Ez Hx*); TEz: 1/2 Re(Ey Hz*, -Ex Hz*).
    const double outward =
        (is_tez ? 0.5 : -0.5) * (at.z * std::conj(c * at.y - s * at.x)).real();
    powers[n / (2 * nodes.size())] += outward * weights[n % 5] * half * radius;
  }
  return powers;
}

}  // namespace

SectorErrors sector_errors(const FullWaveRun& run,
                           const solver::cylinder::Solution& exact, std::size_t frequency,
                           double radius)
{
  const std::vector<double>& found = run.result.frequencies.at(frequency).sector_power;
  const std::vector<double> right =
      exact_sectors(exact, run.plan.is_tez(), radius, static_cast<int>(found.size()));
  const double largest = *std::ranges::max_element(right);
  SectorErrors errors;
  for (std::size_t s = 0; s < found.size(); ++s) {
    errors.worst_of_largest =
        std::max(errors.worst_of_largest, std::abs(found[s] - right[s]) / largest);
    if (right[s] > 0.01 * largest) {
      errors.worst_db = std::max(
          errors.worst_db,
          found[s] > 0.0 ? std::abs(10.0 * std::log10(found[s] / right[s])) : 1e3);
      ++errors.strong;
    }
  }
  return errors;
}

}  // namespace torsowave::reference
