/// \file
/// \brief An HDF5 file driver that remembers a failed write instead of passing it on.
///
/// HDF5 keeps data back in caches, so a full disk can show as late as when an object is
/// closed, where a destructor has nobody to tell. Worse, HDF5 1.10 cannot close a file
/// whose flush failed, and crashes at the end of the process. With this driver HDF5 never
/// sees a failure: the first one is kept, what follows is dropped, and every object
/// closes. Whoever writes asks OutputStatus before calling the file good.

#pragma once

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

}  // namespace torsowave::postproc::hdf5
