/// \file
/// \brief A stored file that cannot be used.

#pragma once

#include <stdexcept>

namespace torsowave::postproc {

/// A file is missing, damaged, or not what it should be; the message says which file,
/// what in it, and what to do.
class ReadError : public std::runtime_error {
public:
  using std::runtime_error::runtime_error;
};

}  // namespace torsowave::postproc
