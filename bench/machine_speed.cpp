#include "bench/machine_speed.hpp"

#include <algorithm>
#include <cstdlib>
#include <functional>
#include <memory>
#include <new>
#include <utility>

#include <omp.h>

#include "bench/vector_loops.hpp"

namespace torsowave::bench {
namespace {

/// An array for each thread, first touched by it.
class Buffers {
public:
  Buffers(int threads, std::size_t bytes) : count_(bytes / sizeof(float))
  {
    for (int p = 0; p < threads; ++p) {
      buffers_.emplace_back(static_cast<float*>(std::aligned_alloc(64, bytes)));
      if (buffers_.back() == nullptr) {
        throw std::bad_alloc();
      }
    }
    const std::function<void(float*)> clear = [this](float* a) {
      std::fill(a, a + count_, 1.0F);
    };
    each(clear);
  }

  [[nodiscard]] std::size_t count() const noexcept { return count_; }

  /// Each thread on its own array.
  void each(const std::function<void(float*)>& body) const
  {
#pragma omp parallel num_threads(static_cast <int>(buffers_.size()))
    body(buffers_[static_cast<std::size_t>(omp_get_thread_num())].get());
  }

private:
  struct Free {
    void operator()(float* memory) const noexcept { std::free(memory); }
  };
  std::size_t count_;
  std::vector<std::unique_ptr<float, Free>> buffers_;
};

/// Bytes of each thread's array: half of the cache of its own, an eighth of a shared
/// one (others use it too), and eight times the largest.
[[nodiscard]] std::size_t footprint(const Machine& machine, Level level, int threads)
{
  const auto whole = [](std::size_t bytes) { return bytes / 4096 * 4096; };
  switch (level) {
    case Level::l1:
      return whole(machine.level1 / 2);
    case Level::l2:
      return whole(machine.level2 / 2);
    case Level::l3:
      return whole(std::max(machine.level3 / 8, 2 * machine.level2));
    default:
      return whole(8 * machine.level3 / static_cast<std::size_t>(threads));
  }
}

using Loop = void (*)(float*, std::size_t, long);

/// Repetitions of at least some 10 us, so that waking the threads costs nothing.
[[nodiscard]] Contender array_loop(const std::string& name, Loop loop, int threads,
                                   std::size_t bytes, double work_per_byte)
{
  auto buffers = std::make_shared<Buffers>(threads, bytes);
  const long times = std::max(1L, static_cast<long>((4UL << 20U) / bytes));
  return {
      name, threads,
      static_cast<double>(bytes) * static_cast<double>(times) * threads * work_per_byte,
      timed([buffers, loop, times] {
        buffers->each([&](float* a) { loop(a, buffers->count(), times); });
      })};
}

[[nodiscard]] Contender arithmetic_loop(const VectorLoops& loops, int threads)
{
  constexpr long times = 100'000;
  auto buffers = std::make_shared<Buffers>(threads, 4096);
  return {"arithmetic", threads, 1.0 * times * threads * arithmetic_in_loop,
          timed([buffers, loop = loops.arithmetic] {
            buffers->each([&](float* a) {
              for (int k = 0; k < 8; ++k) {
                a[k] = 0.001F * static_cast<float>(k + 1);
              }
              loop(a, times);
            });
          })};
}

[[nodiscard]] std::vector<Contender> loops_for(const Machine& machine, int threads)
{
  const VectorLoops loops = vector_loops(machine.lanes);
  const double vectors_per_byte =
      1.0 / (static_cast<double>(machine.lanes) * sizeof(float));
  std::vector<Contender> contenders;
  contenders.reserve(levels.size() + 4);
  for (const Level level : levels) {
    contenders.push_back(array_loop(name_of(level), loops.update, threads,
                                    footprint(machine, level, threads), 2.0));
  }
  // Parts of an odd number of cache lines: none fall on the same sets of the cache.
  constexpr std::size_t lines = 64 * side_by_side;
  const std::size_t parts = footprint(machine, Level::l2, threads) / lines;
  contenders.push_back(array_loop("parts in L2", loops.update_parts, threads,
                                  (parts % 2 == 0 ? parts - 1 : parts) * lines, 2.0));
  const std::size_t level1 = footprint(machine, Level::l1, threads);
  contenders.push_back(arithmetic_loop(loops, threads));
  contenders.push_back(
      array_loop("loads", loops.loads, threads, level1, vectors_per_byte));
  contenders.push_back(
      array_loop("stores", loops.stores, threads, level1, vectors_per_byte));
  return contenders;
}

}  // namespace

std::vector<MachineSpeed> machine_speed(const Machine& machine,
                                        const std::vector<int>& threads,
                                        const Rounds& rounds)
{
  std::vector<Contender> contenders;
  for (const int team : threads) {
    for (Contender& c : loops_for(machine, team)) {
      contenders.push_back(std::move(c));
    }
  }
  const std::vector<Rate> rates = measure(contenders, rounds);
  std::vector<MachineSpeed> speeds;
  for (const int team : threads) {
    MachineSpeed speed;
    speed.threads = team;
    const auto rate = [&](const char* name) {
      return find_rate(rates, name, team)->spread();
    };
    for (const Level level : levels) {
      speed.update[static_cast<std::size_t>(level)] = rate(name_of(level));
    }
    speed.update_parts = rate("parts in L2");
    speed.arithmetic = rate("arithmetic");
    speed.loads = rate("loads");
    speed.stores = rate("stores");
    speeds.push_back(speed);
  }
  return speeds;
}

}  // namespace torsowave::bench
