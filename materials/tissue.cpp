#include "materials/tissue.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstddef>
#include <numeric>
#include <stdexcept>
#include <utility>

namespace torsowave::materials {
namespace {

/// Levenshtein distance: the least number of insertions, deletions and replacements.
/// V. I. Levenshtein, Soviet Physics Doklady 10 (1966) 707-710 (from memory).
std::size_t edit_distance(std::string_view a, std::string_view b)
{
  std::vector<std::size_t> row(b.size() + 1);
  std::iota(row.begin(), row.end(), std::size_t{0});
  for (std::size_t i = 1; i <= a.size(); ++i) {
    std::size_t diagonal = std::exchange(row[0], i);
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t replaced = diagonal + (a[i - 1] == b[j - 1] ? 0 : 1);
      diagonal = row[j];
      row[j] = std::min({row[j] + 1, row[j - 1] + 1, replaced});
    }
  }
  return row.back();
}

std::complex<double> unscaled_permittivity(const Tissue& tissue, double frequency)
{
  if (const auto* model = std::get_if<ColeCole>(&tissue.model)) {
    return relative_permittivity(*model, frequency);
  }
  if (const auto* medium = std::get_if<DebyeMedium>(&tissue.model)) {
    return relative_permittivity(*medium, frequency);
  }
  throw std::invalid_argument(
      fmt::format("{} is a perfect conductor: it has no permittivity", tissue.name));
}

}  // namespace

bool is_conductor(const Tissue& tissue) noexcept
{
  return std::holds_alternative<PerfectConductor>(tissue.model);
}

std::complex<double> relative_permittivity(const Tissue& tissue, double frequency)
{
  const std::complex<double> eps = unscaled_permittivity(tissue, frequency);
  return {tissue.permittivity_scale * eps.real(), tissue.conductivity_scale * eps.imag()};
}

const Tissue* find_tissue(std::string_view name)
{
  const std::span<const Tissue> library = tissue_library();
  const auto found = std::ranges::find(library, name, &Tissue::name);
  return found == library.end() ? nullptr : &*found;
}

std::string nearest_name(std::string_view word, std::span<const std::string> candidates)
{
  const std::size_t limit = std::max<std::size_t>(2, word.size() / 2);
  std::size_t least = limit + 1;
  std::string nearest;
  for (const std::string& candidate : candidates) {
    const std::size_t distance = edit_distance(word, candidate);
    if (distance < least) {
      least = distance;
      nearest = candidate;
    }
  }
  return nearest;
}

}  // namespace torsowave::materials
