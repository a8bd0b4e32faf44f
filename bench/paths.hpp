/// \file
/// \brief Where the sources and the Python of this build are.

#pragma once

#include <string>

namespace torsowave::bench {

/// Root of the source tree.
[[nodiscard]] std::string source_folder();

/// The Python that runs textbook.py.
[[nodiscard]] std::string python_path();

}  // namespace torsowave::bench
