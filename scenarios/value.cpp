#include "scenarios/section.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <tuple>

#include "scenarios/message_text.hpp"

namespace torsowave::scenarios {
namespace {

/// Kept; a hopeless file need not list thousands.
constexpr std::size_t max_faults = 100;

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
    Fault rest;
    rest.location.file = file_;
    rest.problem = fmt::format("and {} more faults", count_ - faults_.size());
    faults_.push_back(std::move(rest));
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
    fault(fmt::format("{} is not known{}; accepted: {}", in_quotes(*found),
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

}  // namespace torsowave::scenarios
