/// \file
/// \brief XDMF beside result.h5, so that general scientific viewers open it: a small XML
/// file that says where in the HDF5 file the grids and their values lie.
///
/// XDMF (eXtensible Data Model and Format, version 2; the names of its elements from
/// memory, tried with an independent reader). It has no complex numbers: phasors are left
/// out.

#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "postproc/result.hpp"
#include "postproc/result_file.hpp"

namespace torsowave::postproc {

/// Two grids, lengths in metres: "slice", one layer of cells just behind the plane z = 0,
/// which hold the index of their tissue and, where result.h5 has it, SAR at each
/// frequency [W/kg per W/m of source power]; and "moments", a series over time [s] of the
/// field at the points of its snapshots, in that plane.
///
/// \param result  its frequencies, grid, tissues and whether it has SAR are used
/// \param times  of the snapshots; none: no series
/// \param file  name of result.h5, in the same folder
[[nodiscard]] std::string xdmf_text(const Result& result, const SnapshotPlan& snapshots,
                                    const std::vector<double>& times,
                                    std::string_view file);

}  // namespace torsowave::postproc
