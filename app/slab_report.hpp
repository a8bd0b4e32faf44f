/// \file
/// \brief The analytic answer for planar layers as text, comma-separated values and JSON.

#pragma once

#include <cstddef>
#include <string>

#include "postproc/slab_result.hpp"

namespace torsowave::app {

/// Layers, table of shares, differences between two models of the media.
[[nodiscard]] std::string slab_text(const postproc::SlabResult& result,
                                    std::size_t most_columns);

/// What the table's words mean, and the caution.
/// \param fit_error  of the Debye media; 0 where none were fitted
[[nodiscard]] std::string slab_notes(const postproc::SlabResult& result, double fit_error,
                                     std::size_t most_columns);

/// A record for each case, in full precision and SI units; an answer that is none is
/// empty.
[[nodiscard]] std::string slab_csv(const postproc::SlabResult& result);

/// The same with layers, sources and caution; an answer that is none is null.
[[nodiscard]] std::string slab_json(const postproc::SlabResult& result, double fit_error);

}  // namespace torsowave::app
