#include "scenarios/section.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>
#include <stdexcept>
#include <tuple>

#include "scenarios/message_text.hpp"

namespace torsowave::scenarios {
namespace {

constexpr std::size_t max_faults =
    100;  ///< kept; a hopeless file need not list thousands

std::string kind_name(Node::Kind kind)
{
  switch (kind) {
    case Node::Kind::empty:
      return "nothing";
    case Node::Kind::scalar:
      return "a single value";
    case Node::Kind::sequence:
      return "a list";
    case Node::Kind::map:
      return "a map of keys";
  }
  return "";
}

}  // namespace

void Reading::fault(Mark mark, std::string key, std::string problem)
{
  ++count_;
  if (faults_.size() < max_faults) {
    faults_.push_back(
        {{file_, mark.line, mark.column}, std::move(key), std::move(problem)});
  }
}

void Reading::remember(const std::string& key, Mark mark)
{
  locations_.emplace(key, Location{file_, mark.line, mark.column});
}

void Reading::fault_at(const std::string& key, std::string problem)
{
  const Location& at = locations_.at(key);
  fault({at.line, at.column}, key, std::move(problem));
}

std::map<std::string, Location> Reading::finish()
{
  if (count_ == 0) {
    return std::move(locations_);
  }
  std::ranges::stable_sort(faults_, {}, [](const Fault& fault) {
    return std::tuple{fault.location.line, fault.location.column};
  });
  if (count_ > faults_.size()) {
    faults_.push_back(
        {{file_, 0, 0}, "", fmt::format("and {} more faults", count_ - faults_.size())});
  }
  throw InputError(std::move(faults_));
}

Value::Value(Reading& reading, NodePtr node, std::string path, Mark mark)
    : reading_(&reading), node_(std::move(node)), path_(std::move(path)), mark_(mark)
{
  if (!path_.empty()) {
    reading.remember(path_, mark_);
  }
}

void Value::fault(std::string problem) const
{
  if (node_ != nullptr) {
    reading_->fault(mark_, path_, std::move(problem));
  }
}

std::optional<std::string> Value::scalar(std::string_view expected) const
{
  if (node_ == nullptr) {
    return std::nullopt;
  }
  if (node_->kind != Node::Kind::scalar) {
    fault(fmt::format("must be {}, got {}", expected, kind_name(node_->kind)));
    return std::nullopt;
  }
  return node_->text;
}

std::optional<std::string> Value::text(std::string_view expected) const
{
  std::optional<std::string> found = scalar(expected);
  if (found && first_bad_byte(*found)) {
    fault(fmt::format("must be {} without control characters", expected));
    return std::nullopt;
  }
  return found;
}

std::optional<double> Value::within(double value, const Range& range,
                                    const std::string& shown) const
{
  const bool low = range.min_excluded ? value <= range.min : value < range.min;
  if (low || value > range.max) {
    fault(fmt::format("must be {}, got {}", range.rule, printable(shown)));
    return std::nullopt;
  }
  return value;
}

std::optional<double> Value::quantity(Dimension dimension, const Range& range) const
{
  const std::optional<std::string> found =
      scalar("one value with its unit (" + accepted_units(dimension) + ")");
  if (!found) {
    return std::nullopt;
  }
  try {
    return within(parse_quantity(*found, dimension), range, *found);
  } catch (const QuantityError& error) {
    fault(error.what());
    return std::nullopt;
  }
}

std::optional<double> Value::number(const Range& range) const
{
  const std::optional<std::string> found = scalar("a bare number");
  if (!found) {
    return std::nullopt;
  }
  try {
    return within(parse_number(*found), range, *found);
  } catch (const QuantityError& error) {
    fault(error.what());
    return std::nullopt;
  }
}

std::optional<int> Value::integer(int min, int max) const
{
  const std::string rule = fmt::format("a whole number from {} to {}", min, max);
  const std::optional<double> found =
      number({static_cast<double>(min), static_cast<double>(max), false, rule});
  if (found && *found != std::floor(*found)) {
    fault(fmt::format("must be {}, got {}", rule, printable(node_->text)));
    return std::nullopt;
  }
  return found ? std::optional<int>{static_cast<int>(*found)} : std::nullopt;
}

std::optional<bool> Value::boolean() const
{
  return choice<bool>({{"true", true}, {"false", false}});
}

std::optional<std::size_t> Value::index_of_choice(
    const std::vector<std::string>& names) const
{
  const std::optional<std::string> found = scalar("one of: " + listed(names));
  if (!found) {
    return std::nullopt;
  }
  const auto at = std::ranges::find(names, *found);
  if (at == names.end()) {
    fault(fmt::format("{} is not known{}; accepted: {}", quoted(*found),
                      hint(*found, names), listed(names)));
    return std::nullopt;
  }
  return static_cast<std::size_t>(at - names.begin());
}

std::optional<std::string> Value::word(const std::vector<std::string>& names) const
{
  const std::optional<std::size_t> which = index_of_choice(names);
  return which ? std::optional<std::string>{names[*which]} : std::nullopt;
}

std::optional<std::vector<Value>> Value::items(std::string_view expected, std::size_t min,
                                               std::size_t max) const
{
  if (node_ == nullptr) {
    return std::nullopt;
  }
  if (node_->kind != Node::Kind::sequence) {
    fault(fmt::format("must be {}, got {}", expected, kind_name(node_->kind)));
    return std::nullopt;
  }
  const std::size_t count = node_->items.size();
  if (count < min || count > max) {
    fault(
        fmt::format("must be {}, got {} item{}", expected, count, count == 1 ? "" : "s"));
    return std::nullopt;
  }
  std::vector<Value> found;
  for (std::size_t i = 0; i < count; ++i) {
    const NodePtr& item = node_->items[i];
    found.emplace_back(*reading_, item, fmt::format("{}[{}]", path_, i), item->mark);
  }
  return found;
}

Section::Section(const Value& value) : value_(value)
{
  if (!value_) {
    return;
  }
  if (value_.kind() != Node::Kind::map) {
    value_.fault(fmt::format("must be a map of keys (key: value), got {}",
                             kind_name(value_.kind())));
    return;
  }
  map_ = value_.node().get();
  report_repeated();
}

std::string Section::path_of(const std::string& key) const
{
  const std::string shown = printable(key);
  return value_.path().empty() ? shown : value_.path() + "." + shown;
}

void Section::report_repeated() const
{
  std::map<std::string, int> first_line;
  for (const Entry& entry : map_->entries) {
    const auto [at, is_first] = first_line.emplace(entry.key, entry.mark.line);
    if (!is_first) {
      value_.reading().fault(
          entry.mark, path_of(entry.key),
          fmt::format("given twice, first in line {}; keep one of them", at->second));
    }
  }
}

/// A value stands where it starts, or at its key if it starts in another line.
Value Section::value_of(const Entry& entry) const
{
  const Node& node = *entry.value;
  const bool beside = node.kind != Node::Kind::empty && node.mark.line == entry.mark.line;
  return {value_.reading(), entry.value, path_of(entry.key),
          beside ? node.mark : entry.mark};
}

Value Section::get(const std::string& key)
{
  if (std::ranges::find(known_, key) == known_.end()) {
    known_.push_back(key);
  }
  if (map_ == nullptr) {
    return {};
  }
  const auto found = std::ranges::find(map_->entries, key, &Entry::key);
  return found == map_->entries.end() ? Value{} : value_of(*found);
}

Value Section::require(const std::string& key, std::string_view example)
{
  Value found = get(key);
  if (!found && map_ != nullptr) {
    value_.reading().fault(value_.mark(), path_of(key),
                           fmt::format("is missing; write e.g. {}: {}", key, example));
  }
  return found;
}

Value Section::exactly_one(const std::vector<std::string>& keys)
{
  Value first;
  std::string first_key;
  for (const std::string& key : keys) {
    const Value found = get(key);
    if (found && first) {
      found.fault(fmt::format("cannot stand beside {}; give exactly one of: {}",
                              first_key, listed(keys)));
    } else if (found) {
      first = found;
      first_key = key;
    }
  }
  if (!first && map_ != nullptr) {
    value_.fault(
        fmt::format("one key is missing; give exactly one of: {}", listed(keys)));
  }
  return first;
}

std::vector<std::pair<std::string, Value>> Section::all()
{
  std::vector<std::pair<std::string, Value>> found;
  std::set<std::string> seen;
  for (const Entry& entry : map_ == nullptr ? std::vector<Entry>{} : map_->entries) {
    if (seen.insert(entry.key).second) {
      known_.push_back(entry.key);
      found.emplace_back(entry.key, value_of(entry));
    }
  }
  return found;
}

void Section::reject_others()
{
  if (map_ == nullptr) {
    return;
  }
  for (const Entry& entry : map_->entries) {
    if (std::ranges::find(known_, entry.key) == known_.end()) {
      value_.reading().fault(entry.mark, path_of(entry.key),
                             fmt::format("unknown key{}; accepted: {}",
                                         hint(entry.key, known_), listed(known_)));
    }
  }
}

}  // namespace torsowave::scenarios
