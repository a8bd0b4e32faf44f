#include "bench/machine.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <fstream>

#include <omp.h>

#include "solver/instruction_set.hpp"
#include "solver/pass_length.hpp"

namespace torsowave::bench {
namespace {

[[nodiscard]] std::string processor_name()
{
  std::ifstream file("/proc/cpuinfo");
  std::string line;
  while (std::getline(file, line)) {
    if (line.starts_with("model name")) {
      return line.substr(std::min(line.size(), line.find(": ") + 2));
    }
  }
  return "unknown";
}

/// Of the first core, as the kernel tells it; sysconf() takes the word of the processor,
/// which a virtual machine may not pass on.
[[nodiscard]] std::size_t cache_bytes(const std::string& level, std::size_t usual)
{
  for (int index = 0; index < 8; ++index) {
    const std::string folder =
        fmt::format("/sys/devices/system/cpu/cpu0/cache/index{}/", index);
    std::string type;
    std::string found;
    std::size_t kilobytes = 0;
    std::ifstream(folder + "type") >> type;
    std::ifstream(folder + "level") >> found;
    std::ifstream(folder + "size") >> kilobytes;
    if (found == level && type != "Instruction" && kilobytes > 0) {
      return kilobytes * 1024;
    }
  }
  return usual;
}

}  // namespace

Machine this_machine()
{
  Machine machine;
  machine.processor = processor_name();
  machine.compiler = "g++ " __VERSION__;
  const solver::InstructionSet set = solver::best_instruction_set();
  machine.instruction_set = solver::name_of(set);
  machine.lanes = set == solver::InstructionSet::avx512 ? 16
                  : set == solver::InstructionSet::avx2 ? 8
                                                        : 4;
  machine.processors = omp_get_num_procs();
  machine.level1 = cache_bytes("1", 32UL << 10U);
  machine.level2 = solver::level2_cache_bytes();
  machine.level3 = cache_bytes("3", 32UL << 20U);
  return machine;
}

const char* name_of(Level level) noexcept
{
  constexpr std::array names{"L1", "L2", "L3", "memory"};
  return names[static_cast<std::size_t>(level)];
}

Level level_of(const Machine& machine, double bytes, int threads) noexcept
{
  const double each = bytes / threads;
  if (each <= static_cast<double>(machine.level1)) {
    return Level::l1;
  }
  if (each <= static_cast<double>(machine.level2)) {
    return Level::l2;
  }
  return bytes <= static_cast<double>(machine.level3) ? Level::l3 : Level::memory;
}

}  // namespace torsowave::bench
