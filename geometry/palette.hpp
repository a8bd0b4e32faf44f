/// \file
/// \brief From area weights to mixtures, and from mixtures to a palette.

#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "geometry/tissue_map.hpp"

namespace torsowave::geometry {

/// Area weights (one for each tissue, any common unit, not all 0) as shares by the method
/// of largest remainders: quanta sum to fraction_quantum; among equal remainders the
/// first tissue gains. Tissues left with no quantum are dropped. \pre The weights' sum
/// times fraction_quantum fits 64 bits.
[[nodiscard]] Mixture quantise(std::span<const std::uint64_t> weights);

/// A cell that an outline cuts.
struct CutCell {
  std::size_t index = 0;  ///< Raster::at()
  Mixture mixture;
};

/// Rounds the shares of all cells to multiples of 1, 2, 4, ... quanta, the least for
/// which the palette can hold `pure` tissues and all mixtures, or of 64 quanta. \return
/// quanta in a multiple
int coarsen_to_fit(std::size_t pure, std::span<CutCell> cut);

/// Fills TissueMap::palette (pure tissues, then the mixtures in use, in lexicographic
/// order) and the entries of TissueMap::cells that belong to `cut`. \throws
/// std::invalid_argument  The palette would exceed 65535 entries.
void fill_palette(TissueMap& map, std::span<const CutCell> cut);

}  // namespace torsowave::geometry
