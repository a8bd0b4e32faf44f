/// \file
/// \brief What stops a sound scenario: too small a machine, or a signal.

#pragma once

#include <stdexcept>

namespace torsowave::app {

/// The machine cannot do it. The message says how much is needed and how much there is.
class MachineError : public std::runtime_error {
public:
  using std::runtime_error::runtime_error;
};

/// Stopped by a signal; nothing was written.
class Interrupted : public std::runtime_error {
public:
  using std::runtime_error::runtime_error;
};

/// Stopped by a signal; a checkpoint to go on from is kept.
class Suspended : public std::runtime_error {
public:
  using std::runtime_error::runtime_error;
};

}  // namespace torsowave::app
