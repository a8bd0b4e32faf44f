// Gives a target the files of its corpus, where there is no fuzzer: the ordinary builds
// keep what was found in this way. Each must be done with within ten seconds.
//   replay_scenario FILE_OR_FOLDER...

#include <chrono>
#include <cstdio>
#include <filesystem>
#include <vector>

#include "fuzz/input.hpp"

// NOLINTNEXTLINE(readability-identifier-naming): the name that libFuzzer calls
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

namespace {

namespace fs = std::filesystem;

constexpr std::chrono::seconds patience{10};

[[nodiscard]] bool replay(const fs::path& file)
{
  const torsowave::fuzz::Bytes bytes = torsowave::fuzz::content(file);
  const auto begin = std::chrono::steady_clock::now();
  LLVMFuzzerTestOneInput(bytes.data(), bytes.size());
  const bool quick = std::chrono::steady_clock::now() - begin < patience;
  if (!quick) {
    std::fprintf(stderr, "%s: took too long\n", file.c_str());
  }
  return quick;
}

}  // namespace

int main(int argc, char** argv)
{
  std::vector<fs::path> files;
  for (const char* argument : std::vector<const char*>(argv + 1, argv + argc)) {
    if (fs::is_directory(argument)) {
      for (const fs::directory_entry& entry : fs::directory_iterator(argument)) {
        files.push_back(entry.path());
      }
    } else {
      files.emplace_back(argument);
    }
  }
  int slow = 0;
  for (const fs::path& file : files) {
    std::fprintf(stderr, "%s\n", file.filename().c_str());  // the last one did it
    slow += replay(file) ? 0 : 1;
  }
  std::printf("%zu inputs\n", files.size());
  return files.empty() || slow > 0 ? 1 : 0;
}
