/// \file
/// \brief What a figure's error items add up to, and what a second cell size says.

#pragma once

#include <map>
#include <string>
#include <vector>

#include "postproc/result.hpp"

namespace torsowave::postproc {

/// The item that stands apart: it is about the body, not about the computation.
inline constexpr const char* tissue_data_item = "tissue_data";

/// The numerical error of what leaves. All its items are systematic, the same in every
/// repetition: nothing makes them independent, so they are added and not their squares.
struct CombinedUncertainty {
  double db = 0.0;       ///< sum of all items but tissue_data [dB]
  std::string dominant;  ///< name of the largest of them; empty if there is none
};

[[nodiscard]] CombinedUncertainty combined_uncertainty(
    const std::map<std::string, double>& items_db);

/// Of the figures of mode 1D: their own fit and grid errors, with the run's other items.
/// \param at  with a slab
[[nodiscard]] LayerErrors combined_layer_errors(const FrequencyResult& at);

/// The value for cells of size zero from those of two sizes, if the error goes as a power
/// of the cell: P(h) = P0 + C h^order gives P0 = coarse + (fine - coarse)/(1 -
/// ratio^order). \see L. F. Richardson, J. A. Gaunt, Phil. Trans. R. Soc. A 226 (1927)
/// 299-361 (from memory).
/// \param ratio  of the fine cell to the coarse one, 0 < ratio < 1
/// \param order  > 0
/// \throws std::invalid_argument  Out of these ranges.
[[nodiscard]] double richardson_limit(double coarse, double fine, double ratio,
                                      double order);

/// |10 log10(limit/value)|; where a sign changes, 10 log10(1 + |limit/value - 1|).
/// Infinite for a value of 0 with another limit.
[[nodiscard]] double error_db(double value, double limit);

/// What two cell sizes can be compared in.
struct RefinementScope {
  /// Losses end inside the contour that radiated power is counted on. If not, absorbed
  /// and radiated power depend on where the contour lies, which moves with the cells:
  /// they get no error, and the item "grid" stays as it is.
  bool closed = true;
  bool plane_wave = false;
};

/// Puts the Richardson error of every power, sector, far-field direction and 1D figure
/// into `run`.
///
/// In a slice that of the radiated power takes the place of the item "grid"; for a plane
/// wave the larger one of scattered and absorbed power. Mode 1D keeps its own, which is
/// exact, whereas the error of two cell sizes depends on where each has its faces.
/// The power delivered, which hangs on where the cells lie about source and capsule and
/// does not converge evenly, keeps its estimate if that is larger.
/// \param fine  the same frequencies on finer cells
/// \throws std::invalid_argument  Sizes differ.
void add_refinement(std::vector<FrequencyResult>& run,
                    const std::vector<FrequencyResult>& fine,
                    const Refinement& refinement, const RefinementScope& scope);

}  // namespace torsowave::postproc
