/// \file
/// \brief From exceptions to messages and exit codes.

#pragma once

namespace torsowave::app {

/// Tells the user, on standard error, about the exception that is being handled: "error:
/// " before each line of its message. Call it in a catch block alone. \return  The exit
/// code that the exception stands for. \see exit_codes.hpp
[[nodiscard]] int explain_failure();

}  // namespace torsowave::app
