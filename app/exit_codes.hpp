/// \file
/// \brief Exit codes of the program: a contract that scripts rely on.

#pragma once

namespace torsowave::app {

inline constexpr int exit_done = 0;
inline constexpr int exit_fault = 1;      ///< anything not listed here
inline constexpr int exit_input = 2;      ///< the input is wrong; nothing is written
inline constexpr int exit_machine = 3;    ///< not enough memory or disk
inline constexpr int exit_suspended = 4;  ///< stopped by a signal, a checkpoint is kept

}  // namespace torsowave::app
