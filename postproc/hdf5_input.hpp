/// \file
/// \brief Opens HDF5 files that others may have made or damaged.

#pragma once

#include <filesystem>

#include "postproc/hdf5_handle.hpp"

namespace torsowave::postproc::hdf5 {

/// Opens a file to be read, with a driver that lacks the metadata accumulator of HDF5's
/// own: HDF5 1.10 looks for an address in it without a check, and one near the end of all
/// addresses, as a damaged file can have it, ends the process in H5F__accum_read.
/// \throws WriteError  It cannot be opened, or is no HDF5 file.
[[nodiscard]] File open_input(const std::filesystem::path& path);

}  // namespace torsowave::postproc::hdf5
