#include "app/render_options.hpp"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cmath>

#include "app/run_plan.hpp"
#include "postproc/figure_scale.hpp"
#include "scenarios/message_text.hpp"
#include "scenarios/quantity.hpp"

namespace torsowave::app {
namespace {

using postproc::Result;
using scenarios::Dimension;
using scenarios::in_quotes;

constexpr int slide_width = 1920;       // [px]: the width of common projectors
constexpr int thumbnail_width = 320;    // [px]
constexpr double print_inches = 7.087;  // 180 mm, both columns of a journal
constexpr double print_density = 300.0;

[[noreturn]] void refuse(const std::string& option, const std::string& problem)
{
  throw CLI::ValidationError(fmt::format("{}: {}", option, problem));
}

[[nodiscard]] double quantity(const std::string& option, const std::string& text,
                              Dimension dimension)
{
  try {
    return scenarios::parse_quantity(text, dimension);
  } catch (const scenarios::QuantityError& error) {
    refuse(option, error.what());
  }
}

[[nodiscard]] std::optional<double> optional_quantity(const std::string& option,
                                                      const std::string& text,
                                                      Dimension dimension)
{
  return text.empty() ? std::nullopt : std::optional(quantity(option, text, dimension));
}

/// Two pictures of one name would be written at the same time.
template <class Item>
void add_once(std::vector<Item>& items, const Item& item)
{
  if (std::ranges::find(items, item) == items.end()) {
    items.push_back(item);
  }
}

/// Items that were given one by one or with commas between them.
[[nodiscard]] std::vector<std::string> items_of(const std::vector<std::string>& words)
{
  std::vector<std::string> items;
  for (const std::string& word : words) {
    std::size_t begin = 0;
    while (begin <= word.size()) {
      const std::size_t end = std::min(word.find(',', begin), word.size());
      std::string item = word.substr(begin, end - begin);
      const std::size_t first = item.find_first_not_of(' ');
      if (first != std::string::npos) {
        add_once(items, item.substr(first, item.find_last_not_of(' ') - first + 1));
      }
      begin = end + 1;
    }
  }
  return items;
}

/// Numbers of the frequencies asked for.
[[nodiscard]] std::vector<std::size_t> frequency_numbers(const RenderOptions& options,
                                                         const Result& result)
{
  std::vector<std::size_t> numbers;
  for (const std::string& text : items_of(options.frequencies)) {
    const double wanted = quantity("--frequency", text, Dimension::frequency);
    const auto number = frequency_number(result, wanted);
    if (!number) {
      std::vector<std::string> known;
      for (const auto& f : result.frequencies) {
        known.push_back(postproc::frequency_text(f.frequency));
      }
      refuse("--frequency", fmt::format("the result has no {}; it has {}",
                                        in_quotes(text), scenarios::listed(known)));
    }
    add_once(numbers, *number);
  }
  for (std::size_t f = 0; options.frequencies.empty() && f < result.frequencies.size();
       ++f) {
    numbers.push_back(f);
  }
  return numbers;
}

[[nodiscard]] postproc::Look look_of(const RenderOptions& options)
{
  postproc::Look look;
  look.theme = options.theme == "dark" ? postproc::dark_theme : postproc::light_theme;
  if (options.size == "slide") {
    look.width = slide_width;
  } else if (options.size == "print") {
    look.width = static_cast<int>(std::lround(print_inches * print_density));
    look.dots_per_inch = print_density;
  } else if (options.size == "thumbnail") {
    look.width = thumbnail_width;
    look.core_only = true;
  }
  if (options.width > 0) {
    look.width = options.width;
  }
  return look;
}

[[nodiscard]] postproc::Scale scale_of(const RenderOptions& options)
{
  return options.scale == "phase"    ? postproc::Scale::phase
         : options.scale == "linear" ? postproc::Scale::linear
                                     : postproc::Scale::decibel;
}

/// The quantities named, each of them drawable; without names all that are.
[[nodiscard]] std::vector<std::string> quantities(
    const RenderOptions& options, const Result& result, const Moments& moments,
    const std::optional<postproc::SliceLine>& line)
{
  const std::vector<std::string> known = quantities_of(result, line.has_value());
  const std::vector<std::string> named = items_of(options.quantities);
  for (const std::string& name : named) {
    if (std::ranges::find(known, name) == known.end() && !is_field_name(name)) {
      refuse("--quantity",
             fmt::format("{} is none{}; this result has {}", in_quotes(name),
                         scenarios::hint(name, known), scenarios::listed(known)));
    }
    if (const std::string problem = obstacle(result, moments, name, line);
        !problem.empty()) {
      refuse("--quantity", fmt::format("{}: {}", name, problem));
    }
  }
  return named.empty() ? known : named;
}

[[nodiscard]] std::optional<SlowMotion> slow_motion(const RenderOptions& options)
{
  if (options.slow.empty()) {
    return std::nullopt;
  }
  SlowMotion slow;
  slow.from = quantity("--slow", options.slow[0], Dimension::time);
  slow.to = quantity("--slow", options.slow[1], Dimension::time);
  try {
    slow.factor = scenarios::parse_number(options.slow[2]);
  } catch (const scenarios::QuantityError& error) {
    refuse("--slow", error.what());
  }
  if (!(slow.from < slow.to) || !(slow.factor > 0.0) || slow.factor > 1000.0) {
    refuse(
        "--slow",
        "write two times, the earlier one first, and how many times slower, from above "
        "0 to 1000, e.g. --slow \"0.5 ns\" \"1.5 ns\" 4");
  }
  return slow;
}

/// Every moment's row, every second one, ... so that not too many are kept.
[[nodiscard]] std::vector<postproc::Snapshot> history_of(
    const postproc::StoredSnapshots& stored, const Result& result,
    const std::optional<postproc::SliceLine>& line)
{
  const std::size_t step = history_stride(stored.count());
  std::vector<postproc::Snapshot> history;
  for (std::size_t n = 0; n < stored.count(); n += step) {
    const postproc::Snapshot moment = stored.frame(n);
    history.push_back(line ? postproc::row_of(moment, result, stored.plan().stride, *line)
                           : moment);
  }
  return history;
}

/// Number of the stored moment nearest to a time.
[[nodiscard]] std::size_t nearest(const std::vector<double>& times, double wanted)
{
  const auto found = std::ranges::min_element(
      times, {}, [&](double time) { return std::abs(time - wanted); });
  return static_cast<std::size_t>(found - times.begin());
}

/// Numbers of the moments to draw.
[[nodiscard]] std::vector<std::size_t> moment_numbers(const RenderOptions& options,
                                                      const std::vector<double>& times,
                                                      const std::vector<double>& shown)
{
  std::vector<std::size_t> numbers;
  for (const std::string& text : items_of(options.times)) {
    const double wanted = quantity("--time", text, Dimension::time);
    const double air = times.size() > 1 ? times[1] - times[0] : 0.0;
    if (wanted < times.front() - air || wanted > times.back() + air) {
      refuse("--time",
             fmt::format("{} is not among the stored moments, which go from "
                         "{:.4g} to {:.4g} ns",
                         in_quotes(text), 1e9 * times.front(), 1e9 * times.back()));
    }
    add_once(numbers, nearest(times, wanted));
  }
  if (!options.times.empty()) {
    return numbers;
  }
  for (const double time : shown) {
    if (const auto found = std::ranges::lower_bound(times, time); found != times.end()) {
      numbers.push_back(static_cast<std::size_t>(found - times.begin()));
    }
  }
  if (numbers.empty()) {
    numbers.push_back(times.size() / 2);  // a file that does not say which
  }
  return numbers;
}

}  // namespace

std::filesystem::path result_file_of(const std::string& source)
{
  const std::filesystem::path path(source);
  return std::filesystem::is_directory(path) ? path / "result.h5" : path;
}

std::optional<postproc::SliceLine> line_of(const RenderOptions& options,
                                           const Result& result)
{
  const auto at = optional_quantity("--at", options.at, Dimension::length);
  if (options.along.empty() && at) {
    refuse("--at", "tells where a line lies; say --along x or --along y too");
  }
  if (options.along.empty()) {
    return std::nullopt;
  }
  if (result.mode == "1D") {
    refuse("--along", "is for slices; in mode 1D all curves are along x");
  }
  try {
    return postproc::line_through(
        result, options.along == "x" ? postproc::SliceAxis::x : postproc::SliceAxis::y,
        at);
  } catch (const std::invalid_argument& error) {
    refuse("--at", error.what());
  }
}

Moments moments_of(const RenderOptions& options, const Result& result,
                   const postproc::StoredSnapshots& stored)
{
  Moments moments;
  if (stored.count() == 0) {
    if (!options.times.empty()) {
      refuse("--time", "the run took no snapshots");
    }
    return moments;
  }
  moments.plan = stored.plan();
  for (const std::size_t n :
       moment_numbers(options, stored.times(), stored.plan().shown)) {
    moments.shown.push_back(stored.frame(n));
  }
  const auto line = line_of(options, result);
  const std::vector<std::string> named = items_of(options.quantities);
  const bool wanted = named.empty() || std::ranges::count(named, "spacetime") > 0;
  if (wanted && (line || result.mode == "1D")) {
    moments.history = history_of(stored, result, line);
  }
  return moments;
}

PictureOrder picture_order(const RenderOptions& options, const Result& result,
                           const Moments& moments)
{
  PictureOrder order;
  order.line = line_of(options, result);
  order.quantities = quantities(options, result, moments, order.line);
  order.frequencies = frequency_numbers(options, result);
  order.scale = scale_of(options);
  order.look = look_of(options);
  order.curves_as = options.format;
  return order;
}

FilmOrder film_order(const RenderOptions& options, const Result& result)
{
  FilmOrder order;
  const std::vector<std::string> named = items_of(options.quantities);
  if (named.size() > 1) {
    refuse("--quantity", "an animation shows one quantity");
  }
  order.quantity = named.empty() ? "" : named.front();
  const std::vector<std::size_t> frequencies = frequency_numbers(options, result);
  if (!options.frequencies.empty() && frequencies.size() > 1) {
    refuse("--frequency", "an animation shows one frequency");
  }
  order.frequency =
      frequencies.empty() ? 0.0 : result.frequencies[frequencies.front()].frequency;
  order.cycles = options.cycles;
  order.frames_per_second = options.frames_per_second;
  order.length = optional_quantity("--length", options.length, Dimension::time);
  order.from = optional_quantity("--from", options.from, Dimension::time);
  order.to = optional_quantity("--to", options.to, Dimension::time);
  order.slow = slow_motion(options);
  if (options.scale == "phase") {
    refuse("--scale", "an animation takes dB or linear");
  }
  order.decibel = options.scale != "linear";
  order.range = options.range;
  static_cast<void>(line_of(options, result));
  if (!options.along.empty()) {
    order.along = options.along == "x" ? postproc::SliceAxis::x : postproc::SliceAxis::y;
    order.at = optional_quantity("--at", options.at, Dimension::length);
  }
  order.look = look_of(options);
  return order;
}

}  // namespace torsowave::app
