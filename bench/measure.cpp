#include "bench/measure.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstddef>
#include <stdexcept>
#include <utility>

namespace torsowave::bench {

Spread spread_of(std::vector<double> values)
{
  if (values.empty()) {
    throw std::invalid_argument("no values to take the median of");
  }
  std::ranges::sort(values);
  const std::size_t middle = values.size() / 2;
  const double median = values.size() % 2 == 1
                            ? values[middle]
                            : 0.5 * (values[middle - 1] + values[middle]);
  return {median, values.front(), values.back()};
}

Spread Rate::spread() const
{
  return spread_of(rounds);
}

std::vector<Rate> measure(const std::vector<Contender>& contenders, const Rounds& rounds)
{
  std::vector<Rate> rates;
  std::vector<int> repetitions;
  for (const Contender& c : contenders) {
    rates.push_back({c.name, c.threads, {}});
    // The first repetition touches memory and wakes threads, the second one tells.
    if (c.fixed_repetitions == 0) {
      (void)c.seconds(1);
      const double wanted = std::ceil(rounds.seconds / std::max(1e-7, c.seconds(1)));
      repetitions.push_back(static_cast<int>(std::clamp(wanted, 1.0, 1e8)));
    } else {
      repetitions.push_back(c.fixed_repetitions);
    }
  }
  for (int round = 0; round < rounds.count; ++round) {
    for (std::size_t p = 0; p < contenders.size(); ++p) {
      const double seconds = contenders[p].seconds(repetitions[p]);
      rates[p].rounds.push_back(contenders[p].work * repetitions[p] / seconds);
      rounds.tick();
    }
  }
  return rates;
}

Spread ratio(const Rate& fast, const Rate& slow)
{
  std::vector<double> values;
  for (std::size_t p = 0; p < std::min(fast.rounds.size(), slow.rounds.size()); ++p) {
    values.push_back(fast.rounds[p] / slow.rounds[p]);
  }
  return spread_of(std::move(values));
}

std::function<double(int)> timed(std::function<void()> once)
{
  return [once = std::move(once)](int repetitions) {
    const auto begin = std::chrono::steady_clock::now();
    for (int n = 0; n < repetitions; ++n) {
      once();
    }
    return std::chrono::duration<double>(std::chrono::steady_clock::now() - begin)
        .count();
  };
}

const Rate* find_rate(const std::vector<Rate>& rates, const std::string& name,
                      int threads)
{
  const auto found = std::ranges::find_if(rates, [&](const Rate& rate) {
    return rate.name == name && rate.threads == threads;
  });
  return found == rates.end() ? nullptr : &*found;
}

}  // namespace torsowave::bench
