/// \file
/// \brief Times several things side by side, so that their ratios mean something on a
/// machine that others use too.
///
/// Google Benchmark times one thing after the other and knows no ratio of two of them in
/// the same round; that is all that is needed here, hence a loop of our own.

#pragma once

#include <functional>
#include <string>
#include <vector>

namespace torsowave::bench {

/// One thing to be timed.
struct Contender {
  std::string name;
  int threads = 1;
  double work = 0.0;  ///< of one repetition: cell-steps, bytes, instructions
  std::function<double(int repetitions)> seconds;  ///< does them, returns the time [s]
  int fixed_repetitions = 0;  ///< in a round; 0: as many as fill the round's time
};

/// Median and range of a number over the rounds.
struct Spread {
  double median = 0.0;
  double least = 0.0;
  double most = 0.0;
};

/// Work per second of one contender.
struct Rate {
  std::string name;
  int threads = 1;
  std::vector<double> rounds;  ///< [work/s]

  [[nodiscard]] Spread spread() const;
};

/// How to measure.
struct Rounds {
  int count = 5;
  double seconds = 0.25;               ///< that a contender runs in each round, about
  std::function<void()> tick = [] {};  ///< called after each contender of each round
};

/// Times all contenders once in each round, A B C A B C ..., after one repetition of each
/// that does not count.
[[nodiscard]] std::vector<Rate> measure(const std::vector<Contender>& contenders,
                                        const Rounds& rounds);

/// \throws std::invalid_argument  No values.
[[nodiscard]] Spread spread_of(std::vector<double> values);

/// How many times faster `fast` is than `slow`, from the two rates of each round.
[[nodiscard]] Spread ratio(const Rate& fast, const Rate& slow);

/// Makes `seconds` of Contender from a function that does one repetition.
[[nodiscard]] std::function<double(int)> timed(std::function<void()> once);

/// The rate of that name and number of threads, or null.
[[nodiscard]] const Rate* find_rate(const std::vector<Rate>& rates,
                                    const std::string& name, int threads);

}  // namespace torsowave::bench
