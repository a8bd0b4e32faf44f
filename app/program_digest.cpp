#include "app/program_digest.hpp"

#include <fstream>
#include <iterator>
#include <string_view>

#include "postproc/sha256.hpp"
#include "postproc/version.hpp"

namespace torsowave::app {

std::string program_digest()
{
  const std::string_view revision = postproc::tool_revision();
  if (!revision.ends_with("-dirty") && !revision.ends_with("unknown")) {
    return "";
  }
  std::ifstream program("/proc/self/exe", std::ios::binary);
  return postproc::sha256(std::string{std::istreambuf_iterator<char>(program), {}});
}

}  // namespace torsowave::app
