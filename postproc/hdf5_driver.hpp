/// \file
/// \brief HDF5 file drivers: one that remembers a failed write instead of passing it on,
/// and one for files that others may have made or damaged.
///
/// HDF5 keeps data back in caches, so a full disk can show as late as when an object is
/// closed, where a destructor has nobody to tell. Worse, HDF5 1.10 cannot close a file
/// whose flush failed, and crashes at the end of the process. With this driver HDF5 never
/// sees a failure: the first one is kept, what follows is dropped, and every object
/// closes. Whoever writes asks OutputStatus before calling the file good.

#pragma once

#include <filesystem>

#include "postproc/hdf5_handle.hpp"

namespace torsowave::postproc::hdf5 {

/// What became of the bytes of one file.
struct OutputStatus {
  int error = 0;  ///< errno of the first failure, 0 while all is well
};

/// File access properties that make H5Fcreate use this driver.
/// \param status  must outlive the file
/// \throws WriteError
[[nodiscard]] PropertyList output_access(OutputStatus& status);

/// Opens a file to be read, with a driver that lacks the metadata accumulator of HDF5's
/// own: HDF5 1.10 looks for an address in it without a check, and one near the end of all
/// addresses, as a damaged file can have it, ends the process in H5F__accum_read.
/// \throws WriteError  It cannot be opened, or is no HDF5 file.
[[nodiscard]] File open_input(const std::filesystem::path& path);

}  // namespace torsowave::postproc::hdf5
