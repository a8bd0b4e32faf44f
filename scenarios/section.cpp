#include "scenarios/section.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>
#include <utility>

#include "scenarios/message_text.hpp"

namespace torsowave::scenarios {

Section::Section(Value value) : value_(std::move(value))
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
