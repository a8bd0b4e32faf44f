/// \file
/// \brief The non-linear part of the Debye fit: relaxation times for all media (private).

#pragma once

#include <complex>
#include <span>
#include <vector>

namespace torsowave::materials {

/// Relative permittivity [1] of one medium at the sample frequencies.
using Samples = std::vector<std::complex<double>>;

/// Searches `count` relaxation times [s], ascending, that serve all media.
///
/// Minimises the worst medium's largest relative error of its least-squares fit, over the
/// logarithms of the times, from a few fixed log-spaced starts.
/// \param frequencies  [Hz], ascending; the first and last are the band.
/// \param media  their samples at `frequencies`; none: the first start is returned
[[nodiscard]] std::vector<double> search_shared_times(std::span<const double> frequencies,
                                                      std::span<const Samples> media,
                                                      int count);

}  // namespace torsowave::materials
