#include "geometry/palette.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <numeric>
#include <stdexcept>

namespace torsowave::geometry {
namespace {

constexpr std::size_t most_entries = 65535;

bool earlier(const Share& a, const Share& b) noexcept
{
  return a.tissue != b.tissue ? a.tissue < b.tissue : a.quanta < b.quanta;
}

bool earlier_mixture(const Mixture& a, const Mixture& b) noexcept
{
  return std::lexicographical_compare(a.begin(), a.end(), b.begin(), b.end(), earlier);
}

std::vector<Mixture> distinct_mixtures(std::span<const CutCell> cut)
{
  std::vector<Mixture> mixtures;
  for (const CutCell& cell : cut) {
    if (cell.mixture.size() > 1) {
      mixtures.push_back(cell.mixture);
    }
  }
  std::ranges::sort(mixtures, earlier_mixture);
  mixtures.erase(std::unique(mixtures.begin(), mixtures.end()), mixtures.end());
  return mixtures;
}

/// A mixture in multiples of `step` quanta, by largest remainders.
Mixture rounded(const Mixture& mixture, std::uint16_t step)
{
  Mixture result = mixture;
  std::vector<std::size_t> order;
  int missing = fraction_quantum / step;
  for (std::size_t n = 0; n < mixture.size(); ++n) {
    order.push_back(n);
    missing -= mixture[n].quanta / step;
    result[n].quanta = static_cast<std::uint16_t>(mixture[n].quanta / step * step);
  }
  std::ranges::stable_sort(order, std::ranges::greater{},
                           [&](std::size_t n) { return mixture[n].quanta % step; });
  for (int n = 0; n < missing; ++n) {
    Share& share = result[order[static_cast<std::size_t>(n)]];
    share.quanta = static_cast<std::uint16_t>(share.quanta + step);
  }
  std::erase_if(result, [](const Share& share) { return share.quanta == 0; });
  return result;
}

}  // namespace

Mixture quantise(std::span<const std::uint64_t> weights)
{
  const std::uint64_t total =
      std::accumulate(weights.begin(), weights.end(), std::uint64_t{0});
  struct Part {
    std::uint16_t tissue;
    std::uint64_t quanta;
    std::uint64_t remainder;
  };
  std::vector<Part> parts;
  std::uint64_t missing = fraction_quantum;
  for (std::size_t t = 0; t < weights.size(); ++t) {
    if (weights[t] > 0) {
      const std::uint64_t scaled = weights[t] * fraction_quantum;
      parts.push_back({static_cast<std::uint16_t>(t), scaled / total, scaled % total});
      missing -= scaled / total;
    }
  }
  std::ranges::stable_sort(
      parts, [](const Part& a, const Part& b) { return a.remainder > b.remainder; });
  for (std::uint64_t n = 0; n < missing; ++n) {
    ++parts[n].quanta;
  }
  Mixture mixture;
  for (const Part& part : parts) {
    if (part.quanta > 0) {
      mixture.push_back({part.tissue, static_cast<std::uint16_t>(part.quanta)});
    }
  }
  std::ranges::sort(mixture, earlier);
  return mixture;
}

int coarsen_to_fit(std::size_t pure, std::span<CutCell> cut)
{
  int step = 1;  // at fraction_quantum no mixture is left
  while (step < fraction_quantum && pure + distinct_mixtures(cut).size() > most_entries) {
    step *= 2;
    for (CutCell& cell : cut) {
      cell.mixture = rounded(cell.mixture, static_cast<std::uint16_t>(step));
    }
  }
  return step;
}

void fill_palette(TissueMap& map, std::span<const CutCell> cut)
{
  const std::vector<Mixture> mixtures = distinct_mixtures(cut);
  const std::size_t pure = map.tissues.size();
  if (pure + mixtures.size() > most_entries) {
    throw std::invalid_argument(
        fmt::format("the slice needs {} different mixtures of {} tissues, and a palette "
                    "holds {} entries: "
                    "use larger cells, fewer tissues, or no averaging",
                    mixtures.size(), pure, most_entries));
  }
  map.palette.clear();
  for (std::size_t t = 0; t < pure; ++t) {
    map.palette.push_back({{static_cast<std::uint16_t>(t), fraction_quantum}});
  }
  map.palette.insert(map.palette.end(), mixtures.begin(), mixtures.end());
  for (const CutCell& cell : cut) {
    if (cell.mixture.size() == 1) {
      map.cells[cell.index] = cell.mixture.front().tissue;
      continue;
    }
    const auto found = std::ranges::lower_bound(mixtures, cell.mixture, earlier_mixture);
    map.cells[cell.index] = static_cast<std::uint16_t>(
        pure + static_cast<std::size_t>(found - mixtures.begin()));
  }
}

}  // namespace torsowave::geometry
