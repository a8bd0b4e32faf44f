#include "app/program_digest.hpp"

#include <filesystem>
#include <fstream>
#include <string_view>
#include <system_error>

#include "postproc/sha256.hpp"
#include "postproc/version.hpp"

namespace torsowave::app {

namespace {

[[nodiscard]] std::string digest_of_this_program()
{
  const std::filesystem::path path = "/proc/self/exe";
  std::error_code unknown;
  const auto size = std::filesystem::file_size(path, unknown);
  std::string bytes(unknown ? 0 : size, '\0');
  std::ifstream program(path, std::ios::binary);
  program.read(bytes.data(), static_cast<std::streamsize>(bytes.size()));
  return postproc::sha256(bytes);
}

}  // namespace

std::string program_digest()
{
  const std::string_view revision = postproc::tool_revision();
  if (!revision.ends_with("-dirty") && !revision.ends_with("unknown")) {
    return "";
  }
  static const std::string digest = digest_of_this_program();
  return digest;
}

}  // namespace torsowave::app
