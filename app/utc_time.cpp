#include "app/utc_time.hpp"

#include <fmt/chrono.h>

#include <ctime>

namespace torsowave::app {

std::string utc_now()
{
  return fmt::format("{:%Y-%m-%dT%H:%M:%SZ}", fmt::gmtime(std::time(nullptr)));
}

}  // namespace torsowave::app
