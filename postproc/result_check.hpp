/// \file
/// \brief Whether what a file says of a run can be true of one.

#pragma once

#include "postproc/result.hpp"

namespace torsowave::postproc {

/// What everything that is made of a result takes for granted beside the shapes of its
/// variables: an even grid, frequencies, powers, times and directions that are numbers,
/// layers in mode 1D and there alone. \throws ReadError  Names what is wrong.
void require_possible(const Result& result);

/// \param times  of snapshots [s] \throws ReadError  They are no numbers, or not
/// ascending.
void require_ascending(const std::vector<double>& times, const char* name);

}  // namespace torsowave::postproc
