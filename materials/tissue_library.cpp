#include <fmt/format.h>

#include <algorithm>
#include <cstddef>
#include <stdexcept>

#include "materials/constants.hpp"
#include "materials/tissue.hpp"
#include "materials/tissue_table.hpp"

namespace torsowave::materials {
namespace {

constexpr std::string_view report =
    "C. Gabriel, AL/OE-TR-1996-0037, 1996, Appendix C; model: S. Gabriel, R. W. Lau, "
    "C. Gabriel, Phys. Med. Biol. 41 (1996) 2271-2293";

std::string with_note(std::string text, std::string_view note)
{
  return note.empty() ? text : fmt::format("{}; {}", text, note);
}

ColeCole model_of(const PublishedRow& row)
{
  constexpr std::array<double, 4> unit{1e-12, 1e-9, 1e-6, 1e-3};  // ps, ns, us, ms
  ColeCole model;
  model.eps_inf = row.eps_inf;
  model.ionic_conductivity = row.ionic_conductivity;
  for (std::size_t n = 0; n < unit.size(); ++n) {
    const PublishedTerm& term = row.terms[n];
    model.terms[n] = {term.strength, term.relaxation_time * unit[n], term.alpha};
  }
  return model;
}

void set_density(Tissue& tissue, double density, std::string_view row)
{
  if (density <= 0.0) {
    return;
  }
  tissue.density = density;
  tissue.density_source = fmt::format(
      "row \"{}\" of a public tissue density table as transcribed in a public script "
      "(accessed January 2026); secondary source",
      row);
}

Tissue tissue_of(const PublishedRow& row)
{
  const std::string check =
      row.tabulation_agrees
          ? "confirmed by an independent tabulation within 1.3e-4, 10 Hz to 100 GHz"
          : "no independent tabulation seen";
  const std::string source =
      fmt::format("{}; own row \"{}\" ({} transcriptions agree; {})", report,
                  row.report_row, row.transcriptions, check);
  Tissue tissue{std::string{row.name},
                std::string{row.display_name},
                model_of(row),
                {},
                with_note(source, row.note),
                {}};
  set_density(tissue, row.density, row.density_row);
  return tissue;
}

const PublishedRow& model_row(const SharedRow& shared)
{
  for (const PublishedRow& row : published_rows()) {
    if (row.name == shared.model) {
      return row;
    }
  }
  throw std::logic_error(
      fmt::format("tissue table: {} has no model row {}", shared.name, shared.model));
}

Tissue tissue_of(const SharedRow& row)
{
  const std::string_view basis =
      row.basis == SameAs::report_remark
          ? "no measurements of its own: a remark in the report"
          : "no measurements of its own: by the tabulation alone";
  const std::string source =
      fmt::format("{}; same parameters as {} ({})", report, row.model, basis);
  Tissue tissue{std::string{row.name},       std::string{row.display_name},
                model_of(model_row(row)),    {},
                with_note(source, row.note), {}};
  set_density(tissue, row.density, row.density_row);
  return tissue;
}

/// Flat low-loss polymer: sigma = w eps0 eps_r tan(delta) at 1 GHz.
DebyeMedium polymer(double eps_r, double loss_tangent)
{
  return {eps_r, two_pi * 1e9 * vacuum_permittivity * eps_r * loss_tangent, {}};
}

void add_capsule_materials(std::vector<Tissue>& library)
{
  library.push_back(
      {"air",
       "Air",
       DebyeMedium{1.0, 0.0, {}},
       {},
       "taken as vacuum: eps_r = 1, lossless (real air is about 6e-4 above; "
       "from memory)",
       {}});
  library.push_back(
      {"alumina",
       "Alumina ceramic, 99.5 %",
       DebyeMedium{9.8, 0.0, {}},
       {},
       "eps_r 9.8, losses (tan about 1e-4) left out; typical data-sheet values, "
       "from memory",
       {}});
  library.push_back(
      {"peek_like",
       "PEEK-like polymer",
       polymer(3.2, 0.003),
       {},
       "eps_r 3.2, loss tangent 0.003 at 1 GHz taken as a conductivity; typical "
       "data-sheet values, from memory",
       {}});
}

std::vector<Tissue> build_library()
{
  std::vector<Tissue> library;
  for (const PublishedRow& row : published_rows()) {
    library.push_back(tissue_of(row));
  }
  for (const SharedRow& row : shared_rows()) {
    library.push_back(tissue_of(row));
  }
  std::ranges::sort(library, {}, &Tissue::name);
  add_capsule_materials(library);
  return library;
}

}  // namespace

std::span<const Tissue> tissue_library()
{
  static const std::vector<Tissue> library = build_library();
  return library;
}

}  // namespace torsowave::materials
