// Measures the product's steppers against the textbook's, and all against the machine.

#include <fmt/format.h>
#include <CLI/CLI.hpp>

#include <chrono>
#include <filesystem>
#include <functional>
#include <string>

#include <omp.h>
#include <unistd.h>

#include "app/clock_text.hpp"
#include "app/exit_codes.hpp"
#include "app/failure.hpp"
#include "app/terminal.hpp"
#include "bench/report.hpp"
#include "bench/suite.hpp"
#include "postproc/atomic_file.hpp"

namespace torsowave::bench {
namespace {

struct Options {
  SuiteOptions suite;
  std::string json;
  std::string document;
};

void describe(CLI::App& program, Options& options)
{
  program.add_flag("--quick", options.suite.quick,
                   "Only the three headline ratios (under a minute), as JSON");
  program
      .add_option("--threads", options.suite.threads,
                  "Threads of the parallel measurements (default: all processors)")
      ->check(CLI::Range(1, 1024));
  program
      .add_option("--size", options.suite.size,
                  "Measure on one grid of SIZE x SIZE cells instead of the usual ones")
      ->check(CLI::Range(64, 16384));
  program
      .add_option("--rounds", options.suite.rounds,
                  "Rounds in which everything is timed once (default: 5)")
      ->check(CLI::Range(1, 1000));
  program
      .add_option("--seconds", options.suite.seconds,
                  "Time that each stepper runs in a round, about (default: 0.25)")
      ->check(CLI::Range(0.001, 60.0));
  program.add_option("--json", options.json, "Also write all numbers to this file");
  program
      .add_option("--document", options.document,
                  "Also put the tables between the marker lines of this Markdown file")
      ->check(document_fault);
  program.footer(
      "Prints tables in Markdown (with --quick: JSON) to standard output; speeds are in\n"
      "cell-steps per second. Close other programs first, and see "
      "docs/performance.md.\n\n"
      "example: torsowave_bench --threads 2 --document docs/performance.md");
}

/// Tells on standard error, on a terminal all the time and else every 10 s.
class Printer {
public:
  void operator()(const SuiteProgress& p)
  {
    const auto now = Clock::now();
    if (now - last_ < (terminal_ ? std::chrono::milliseconds(300)
                                 : std::chrono::milliseconds(10'000))) {
      return;
    }
    last_ = now;
    const double spent = std::chrono::duration<double>(now - begin_).count();
    const std::string left =
        p.fraction > 0.0 ? fmt::format(", about {} left",
                                       app::clock_text(spent * (1.0 / p.fraction - 1.0)))
                         : "";
    const std::string text =
        fmt::format("{:.0f} %, {}{}", 100.0 * p.fraction, p.doing, left);
    app::print_message(terminal_ ? fmt::format("\r{:90}", text) : text + "\n");
  }

  void clear() const
  {
    if (terminal_) {
      app::print_message(fmt::format("\r{:90}\r", ""));
    }
  }

private:
  using Clock = std::chrono::steady_clock;
  bool terminal_ = ::isatty(STDERR_FILENO) != 0;
  Clock::time_point begin_ = Clock::now();
  Clock::time_point last_ = begin_ - std::chrono::hours(1);
};

int run(int argc, char** argv)
{
  CLI::App program{"Speed of torsowave's steppers, side by side with the textbook's",
                   "torsowave_bench"};
  Options options;
  options.suite.threads = omp_get_max_threads();
  describe(program, options);
  try {
    program.parse(argc, argv);
  } catch (const CLI::Success& asked) {
    return program.exit(asked);
  }
  if (!options.json.empty()) {
    const postproc::PartFile part(options.json);  // it fails now or not at all
  }
  Printer printer;
  const Report report = run_suite(options.suite, std::ref(printer));
  printer.clear();
  if (!options.json.empty()) {
    postproc::write_atomically(options.json, full_json(report));
  }
  if (!options.document.empty()) {
    put_into_document(markdown(report), options.document);
  }
  app::print_result(options.suite.quick ? quick_json(report) : markdown(report));
  app::flush_results();
  return app::exit_done;
}

}  // namespace
}  // namespace torsowave::bench

int main(int argc, char** argv)
{
  torsowave::app::tell_failed_writes();
  try {
    return torsowave::bench::run(argc, argv);
  } catch (...) {
    return torsowave::app::explain_failure();
  }
}
