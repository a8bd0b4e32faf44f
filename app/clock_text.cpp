#include "app/clock_text.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace torsowave::app {

std::string clock_text(double seconds)
{
  const int whole = static_cast<int>(std::min(seconds, 3.6e8));
  return whole < 3600
             ? fmt::format("{}:{:02}", whole / 60, whole % 60)
             : fmt::format("{}:{:02}:{:02}", whole / 3600, whole / 60 % 60, whole % 60);
}

}  // namespace torsowave::app
