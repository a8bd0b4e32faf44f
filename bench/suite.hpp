/// \file
/// \brief What is measured, and the numbers that come out.

#pragma once

#include <functional>
#include <string>
#include <vector>

#include "bench/agreement.hpp"
#include "bench/machine_speed.hpp"
#include "bench/measure.hpp"
#include "bench/roofline.hpp"
#include "bench/scene.hpp"

namespace torsowave::bench {

struct SuiteOptions {
  bool quick = false;  ///< the three headline ratios alone
  int threads = 1;     ///< the larger number of threads; the smaller one is 1
  int size = 0;        ///< columns and rows of the only grid; 0: the usual grids
  int rounds = 5;
  double seconds = 0.25;  ///< that a contender runs in each round, about
};

/// One contender on one scene.
struct Line {
  Rate rate;           ///< [cell-steps/s]
  double bytes = 0.0;  ///< of a cell-step; 0: not counted
  Ceiling ceiling;     ///< rate 0: not known
};

/// One scene.
struct Case {
  std::string mode;
  GridSize size;
  int poles = 0;
  Shares shares;
  Cost cost;  ///< of the product's stepper
  std::vector<Line> lines;

  [[nodiscard]] const Line* find(const std::string& name, int threads) const;
};

/// A ratio that users are told.
struct Headline {
  std::string key;   ///< in the JSON
  std::string text;  ///< for people
  Spread value;
};

struct Report {
  Machine machine;
  int threads = 1;
  int rounds = 5;
  std::vector<MachineSpeed> speeds;  ///< empty if quick
  std::vector<Agreement> agreement;
  std::vector<Case> cases;
  std::vector<Headline> headlines;
  std::vector<std::string> notes;  ///< what was left out, and why
};

/// Where a suite stands.
struct SuiteProgress {
  std::string doing;
  double fraction = 0.0;
};

[[nodiscard]] Report run_suite(const SuiteOptions& options,
                               const std::function<void(const SuiteProgress&)>& tell);

/// The ratios that the cases hold.
[[nodiscard]] std::vector<Headline> headlines_of(const std::vector<Case>& cases,
                                                 int threads);

}  // namespace torsowave::bench
