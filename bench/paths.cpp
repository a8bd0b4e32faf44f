#include "bench/paths.hpp"

namespace torsowave::bench {

std::string source_folder()
{
  return TORSOWAVE_SOURCE_FOLDER;
}

std::string python_path()
{
  return TORSOWAVE_PYTHON;
}

}  // namespace torsowave::bench
