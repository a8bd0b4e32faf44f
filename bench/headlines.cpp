#include <fmt/format.h>

#include <algorithm>
#include <optional>

#include "bench/contenders.hpp"
#include "bench/suite.hpp"

namespace torsowave::bench {
namespace {

/// Collects the ratios that can be told.
class Headlines {
public:
  Headlines(const std::vector<Case>& cases, int threads)
      : cases_(cases), threads_(threads)
  {
  }

  [[nodiscard]] const Case* find(const std::string& mode, int nx, int poles) const
  {
    const auto found = std::ranges::find_if(cases_, [&](const Case& c) {
      return c.mode == mode && c.size.nx == nx && c.poles == poles;
    });
    return found == cases_.end() ? nullptr : &*found;
  }

  /// The tiled stepper over another contender of the same case, round by round.
  void add(const std::string& key, const std::string& text, const Case* of,
           const char* other)
  {
    const Line* const slow =
        of == nullptr ? nullptr : of->find(other, other == numpy ? 1 : threads_);
    if (slow != nullptr) {
      all_.push_back({key, text, ratio(of->find(tiled, threads_)->rate, slow->rate)});
    }
  }

  void add_threads(const Case* of)
  {
    const Line* const one = of == nullptr ? nullptr : of->find(tiled, 1);
    if (one != nullptr && threads_ > 1) {
      all_.push_back({"threads", fmt::format("{} threads over 1 thread", threads_),
                      ratio(of->find(tiled, threads_)->rate, one->rate)});
    }
  }

  /// Of two cases, which were not measured in the same rounds.
  void add_sizes(const Case* large, const Case* small)
  {
    if (large == nullptr || small == nullptr) {
      return;
    }
    const Spread a = large->find(tiled, threads_)->rate.spread();
    const Spread b = small->find(tiled, threads_)->rate.spread();
    all_.push_back({"large_over_small",
                    "throughput at 4096 x 4096 over 512 x 512, K = 3",
                    {a.median / b.median, a.least / b.most, a.most / b.least}});
  }

  void add_roofline(const Case* of)
  {
    const Line* const line = of == nullptr ? nullptr : of->find(tiled, threads_);
    if (line != nullptr && line->ceiling.rate > 0.0) {
      const Spread rate = line->rate.spread();
      const double most = line->ceiling.rate;
      all_.push_back(
          {"roofline",
           "share of the in-cache roofline, bound by " + line->ceiling.bound_by,
           {rate.median / most, rate.least / most, rate.most / most}});
    }
  }

  [[nodiscard]] std::vector<Headline> take() { return std::move(all_); }

private:
  const std::vector<Case>& cases_;
  int threads_;
  std::vector<Headline> all_;
};

}  // namespace

std::vector<Headline> headlines_of(const std::vector<Case>& cases, int threads)
{
  Headlines h(cases, threads);
  const int usual = 2048;
  const bool has_usual = h.find("TMz", usual, 3) != nullptr;
  const int nx = has_usual || cases.empty() ? usual : cases.front().size.nx;
  const Case* const three = h.find("TMz", nx, 3);
  h.add("textbook", "over the textbook stepper, K = 3", three, textbook_double);
  h.add("textbook_k2", "over the textbook stepper, K = 2", h.find("TMz", nx, 2),
        textbook_double);
  h.add("textbook_k0", "over the textbook stepper, vacuum", h.find("TMz", nx, 0),
        textbook_double);
  h.add("textbook_simd", "over the textbook stepper with `omp simd`, K = 3", three,
        textbook_simd);
  h.add("plain_sweep", "over our own plain sweep, K = 3", three, plain_sweep);
  h.add("numpy", "over NumPy (1 thread), K = 3", three, numpy);
  h.add("plain_sweep_tez", "over our own plain sweep, TEz, K = 3", h.find("TEz", nx, 3),
        plain_sweep);
  h.add_threads(three);
  h.add_sizes(h.find("TMz", 4096, 3), h.find("TMz", 512, 3));
  h.add_roofline(three);
  return h.take();
}

}  // namespace torsowave::bench
