/// \file
/// \brief Reading checked values out of a YAML tree while collecting every fault.

#pragma once

#include <cstddef>
#include <initializer_list>
#include <limits>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "scenarios/document.hpp"
#include "scenarios/input_error.hpp"
#include "scenarios/quantity.hpp"
#include "scenarios/scenario.hpp"

namespace torsowave::scenarios {

/// The faults and places of one file while it is read.
class Reading {
public:
  explicit Reading(std::string file) : file_(std::move(file)) {}
  Reading(const Reading&) = delete;
  Reading& operator=(const Reading&) = delete;

  void fault(Mark mark, std::string key, std::string problem);
  void remember(const std::string& key, Mark mark);

  /// Reports a problem with a value that was read before, at its place.
  void fault_at(const std::string& key, std::string problem);

  /// Whether `read` found nothing wrong.
  template <class Read>
  bool sound(Read read)
  {
    const std::size_t before = count_;
    read();
    return count_ == before;
  }

  /// Hands over the key paths seen, if all is well.
  /// \throws InputError  With all faults, in the order of the file.
  [[nodiscard]] std::map<std::string, Location> finish();

private:
  std::string file_;
  std::vector<Fault> faults_;
  std::size_t count_ = 0;  ///< faults seen; more than are kept if there are very many
  std::map<std::string, Location> locations_;
};

/// Bounds of a number, in SI. The lower one may itself be forbidden.
struct Range {
  double min = -std::numeric_limits<double>::infinity();
  double max = std::numeric_limits<double>::infinity();
  bool min_excluded = false;
  std::string_view rule;  ///< for messages, e.g. "greater than 0 and at most 100 m"
};

/// A value of the file, or nothing where the key is absent. Each reading function returns
/// nothing after reporting what is wrong, and silently where the value is absent.
class Value {
public:
  Value() = default;
  Value(Reading& reading, NodePtr node, std::string path, Mark mark);

  [[nodiscard]] explicit operator bool() const { return node_ != nullptr; }
  [[nodiscard]] const std::string& path() const { return path_; }
  [[nodiscard]] Mark mark() const { return mark_; }
  [[nodiscard]] Node::Kind kind() const { return node_->kind; }
  [[nodiscard]] const NodePtr& node() const { return node_; }
  [[nodiscard]] Reading& reading() const { return *reading_; }

  /// Reports a problem with this value; does nothing where it is absent.
  void fault(std::string problem) const;

  [[nodiscard]] std::optional<double> quantity(Dimension dimension,
                                               const Range& range) const;
  [[nodiscard]] std::optional<double> number(const Range& range) const;
  [[nodiscard]] std::optional<int> integer(int min, int max) const;
  [[nodiscard]] std::optional<bool> boolean() const;

  /// A single value, as written. \param expected  for messages, e.g. "the name of a
  /// tissue".
  [[nodiscard]] std::optional<std::string> text(std::string_view expected) const;

  /// One of a list of words.
  template <class Choice>
  [[nodiscard]] std::optional<Choice> choice(
      std::initializer_list<std::pair<std::string_view, Choice>> choices) const
  {
    std::vector<std::string> names;
    for (const auto& [name, meaning] : choices) {
      names.emplace_back(name);
    }
    const std::optional<std::size_t> which = index_of_choice(names);
    return which ? std::optional<Choice>{(choices.begin() + *which)->second}
                 : std::nullopt;
  }
  [[nodiscard]] std::optional<std::string> word(
      const std::vector<std::string>& names) const;

  /// The items of a list. \param expected  for messages, e.g. "a list [x, y]".
  [[nodiscard]] std::optional<std::vector<Value>> items(std::string_view expected,
                                                        std::size_t min,
                                                        std::size_t max) const;

private:
  [[nodiscard]] std::optional<std::string> scalar(std::string_view expected) const;
  [[nodiscard]] std::optional<std::size_t> index_of_choice(
      const std::vector<std::string>& names) const;
  [[nodiscard]] std::optional<double> within(double value, const Range& range,
                                             const std::string& shown) const;

  Reading* reading_ = nullptr;
  NodePtr node_;
  std::string path_;
  Mark mark_;
};

/// A map of the file. It records the keys asked for; `reject_others` reports the rest,
/// each with the nearest of them. Keys given twice are reported at once.
class Section {
public:
  explicit Section(Value value);

  /// Whether there is a map to read.
  [[nodiscard]] explicit operator bool() const { return map_ != nullptr; }
  [[nodiscard]] Value get(const std::string& key);

  /// Reports the key where it is missing. \param example  its value, for the message.
  [[nodiscard]] Value require(const std::string& key, std::string_view example);

  /// Exactly one of the keys must be there: reports none and more than one.
  /// \return  The value of the first that is there.
  [[nodiscard]] Value exactly_one(const std::vector<std::string>& keys);

  /// All values, whatever their keys (maps by name).
  [[nodiscard]] std::vector<std::pair<std::string, Value>> all();

  void reject_others();
  [[nodiscard]] std::string path_of(const std::string& key) const;
  [[nodiscard]] const Value& value() const { return value_; }

private:
  void report_repeated() const;
  [[nodiscard]] Value value_of(const Entry& entry) const;

  Value value_;
  const Node* map_ = nullptr;
  std::vector<std::string> known_;
};

/// Sets `target` if there is a value.
template <class Target, class Source>
void assign(Target& target, const std::optional<Source>& value)
{
  if (value) {
    target = *value;
  }
}

}  // namespace torsowave::scenarios
