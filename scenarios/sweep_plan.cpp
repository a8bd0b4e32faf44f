#include "scenarios/sweep_plan.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <fstream>
#include <functional>
#include <iterator>
#include <limits>
#include <map>
#include <set>
#include <tuple>
#include <utility>

#include "postproc/sha256.hpp"
#include "scenarios/message_text.hpp"
#include "scenarios/node_edit.hpp"
#include "scenarios/reader.hpp"
#include "scenarios/samples_file.hpp"
#include "scenarios/section.hpp"
#include "scenarios/sweep_values.hpp"

namespace torsowave::scenarios {
namespace {

namespace fs = std::filesystem;

/// Keys whose values go hand in hand.
using Group = std::vector<Variation>;

struct Combine {
  Combination kind = Combination::grid;
  std::size_t count = 0;
  std::uint64_t seed = 0;
  bool stratified = false;
};

Combine read_combine(const Value& value)
{
  Combine combine;
  if (!value) {
    return combine;
  }
  if (value.kind() != Node::Kind::map) {
    const auto word = value.word({"grid", "zip"});
    combine.kind = word == "zip" ? Combination::zip : Combination::grid;
    return combine;
  }
  combine.kind = Combination::random;
  Section section(value);
  Section random(section.require("random", "{count: 100, seed: 1}"));
  combine.count = static_cast<std::size_t>(
      random.require("count", "100").integer(1, static_cast<int>(max_cases)).value_or(0));
  combine.seed =
      static_cast<std::uint64_t>(random.require("seed", "1")
                                     .integer(0, std::numeric_limits<int>::max())
                                     .value_or(0));
  combine.stratified =
      random.get("sampling")
          .choice<bool>({{"independent", false}, {"latin_hypercube", true}})
          .value_or(false);
  random.reject_others();
  section.reject_others();
  return combine;
}

Group read_group(const Value& value, bool random)
{
  Group group;
  Section section(value);
  const auto keys = section.all();
  for (const auto& [path, item] : keys) {
    if (auto variation = read_variation(path, item, random)) {
      group.push_back(std::move(*variation));
    }
  }
  if (section && keys.empty()) {
    value.fault("holds no key; write e.g. implant.position[1]: [-60 mm, -50 mm]");
  }
  return group;
}

/// All values of a group, or of all groups of a zip, come in equal numbers.
void check_equal_counts(const Group& group, const Value& value)
{
  for (const Variation& variation : group) {
    if (variation.values.size() != group.front().values.size()) {
      value.fault(fmt::format(
          "{} has {} values and {} has {}; keys that go hand in hand need equally many",
          group.front().path, group.front().values.size(), variation.path,
          variation.values.size()));
      return;
    }
  }
}

/// In one case a key has one value.
void check_different_keys(const std::vector<Group>& groups, const Value& value)
{
  std::set<std::string> known;
  for (const Group& group : groups) {
    for (const Variation& variation : group) {
      if (!known.insert(variation.path).second) {
        value.fault(fmt::format(
            "{} is in two items of the list; in one case it can have one value alone",
            variation.path));
        return;
      }
    }
  }
}

std::vector<Group> read_groups(const Value& value, const Combine& combine)
{
  const bool random = combine.kind == Combination::random;
  std::vector<Group> groups;
  if (value && value.kind() == Node::Kind::sequence) {
    if (combine.kind != Combination::grid) {
      value.fault(
          "a list of maps, each with keys that go hand in hand, needs combine: "
          "grid; write one map of keys");
    }
    for (const Value& item : value.items("a list of maps of keys", 1, max_cases)
                                 .value_or(std::vector<Value>{})) {
      groups.push_back(read_group(item, random));
      check_equal_counts(groups.back(), item);
    }
    check_different_keys(groups, value);
  } else {
    Group all = read_group(value, random);
    if (combine.kind == Combination::zip) {
      check_equal_counts(all, value);
      groups.push_back(std::move(all));
    } else {
      for (Variation& variation : all) {
        groups.push_back({std::move(variation)});
      }
    }
  }
  return groups;
}

/// The values of every key, in the order of the groups, for each case.
using Table = std::vector<std::vector<NodePtr>>;  // [key][case]

Table crossed(const std::vector<Group>& groups, std::size_t cases)
{
  Table table;
  std::size_t repeat = cases;
  for (const Group& group : groups) {
    const std::size_t count = group.front().values.size();
    repeat /= count;
    for (const Variation& variation : group) {
      std::vector<NodePtr>& column = table.emplace_back();
      for (std::size_t k = 0; k < cases; ++k) {
        column.push_back(variation.values[k / repeat % count]);
      }
    }
  }
  return table;
}

Table drawn(const std::vector<Group>& groups, const Combine& combine)
{
  Table table;
  for (const Group& group : groups) {
    for (const Variation& variation : group) {
      std::vector<NodePtr>& column = table.emplace_back();
      for (const double fraction :
           combine.stratified
               ? stratified_fractions(combine.seed, variation.path, combine.count)
               : independent_fractions(combine.seed, variation.path, combine.count)) {
        column.push_back(variation.draw(fraction));
      }
    }
  }
  return table;
}

std::optional<Table> make_table(const std::vector<Group>& groups, const Combine& combine,
                                const Value& vary)
{
  if (combine.kind == Combination::random) {
    return drawn(groups, combine);
  }
  std::size_t cases = 1;
  for (const Group& group : groups) {
    cases *= group.front().values.size();
    if (cases > max_cases) {
      vary.fault(
          fmt::format("more than the {} cases that a sweep may have; take fewer "
                      "values or combine: {{random: {{count: 1000, seed: 1}}}}",
                      max_cases));
      return std::nullopt;
    }
  }
  return crossed(groups, cases);
}

/// The tree with the value of each key `file` replaced.
NodePtr with_files(const NodePtr& node,
                   const std::function<std::string(const std::string&)>& replace)
{
  if (node->kind != Node::Kind::map && node->kind != Node::Kind::sequence) {
    return node;
  }
  std::shared_ptr<Node> changed;
  const auto edit = [&] {
    changed = changed == nullptr ? std::make_shared<Node>(*node) : changed;
    return changed;
  };
  for (std::size_t k = 0; k < node->items.size(); ++k) {
    NodePtr item = with_files(node->items[k], replace);
    if (item != node->items[k]) {
      edit()->items[k] = std::move(item);
    }
  }
  for (std::size_t k = 0; k < node->entries.size(); ++k) {
    const Entry& entry = node->entries[k];
    const bool file = entry.key == "file" && entry.value->kind == Node::Kind::scalar;
    NodePtr value =
        file ? scalar_node(replace(entry.value->text)) : with_files(entry.value, replace);
    if (value != entry.value) {
      edit()->entries[k].value = std::move(value);
    }
  }
  return changed == nullptr ? node : changed;
}

/// "slice.h5:/labels" names a data set within a file.
std::pair<std::string, std::string> split_file(const std::string& text)
{
  const std::size_t cut = text.rfind(":/");
  return cut == std::string::npos ? std::pair{text, std::string()}
                                  : std::pair{text.substr(0, cut), text.substr(cut)};
}

/// Digests of files, each read once.
class FileDigests {
public:
  /// Of the content; of a file that cannot be read, which the reader will report, its
  /// name.
  std::string operator()(const std::string& path)
  {
    const auto [at, is_new] = digests_.emplace(path, path);
    if (!is_new || !is_readable_input(path)) {  // a device would have no end
      return at->second;
    }
    std::ifstream stream(path, std::ios::binary);
    if (stream) {
      const std::string content{std::istreambuf_iterator<char>(stream), {}};
      at->second = "sha256:" + postproc::sha256(content);
    }
    return at->second;
  }

private:
  std::map<std::string, std::string> digests_;
};

/// Whether a path is another or leads on from there.
bool is_within(std::string_view path, std::string_view other)
{
  return !other.empty() && path.starts_with(other) &&
         (path.size() == other.size() || path[other.size()] == '.' ||
          path[other.size()] == '[');
}

/// Makes the cases and tells what is wrong with them.
class CaseBuilder {
public:
  CaseBuilder(SweepPlan& plan, std::string_view program, const std::string& base_text,
              Reading& reading)
      : plan_(plan),
        program_(program),
        base_(parse_document(base_text, plan.base.string())),
        reading_(reading)
  {
  }

  void build(const std::vector<Group>& groups, const Table& table)
  {
    std::vector<const Variation*> variations;
    for (const Group& group : groups) {
      for (const Variation& variation : group) {
        variations.push_back(&variation);
      }
    }
    for (std::size_t k = 0; k < variations.size(); ++k) {
      plan_.keys.push_back(key_of(variations[k]->path, table[k]));
    }
    for (std::size_t c = 0; c < table.front().size(); ++c) {
      NodePtr tree = base_;
      for (std::size_t k = 0; k < variations.size(); ++k) {
        tree = put(tree, *variations[k], table[k][c]);
      }
      if (!bad_path_) {
        plan_.cases.push_back(case_of(tree));
        check(c, variations);
      }
    }
  }

private:
  static SweepKey key_of(const std::string& path, const std::vector<NodePtr>& values)
  {
    SweepKey key;
    key.path = path;
    const std::optional<Numbers> numbers = as_numbers(values);
    key.numeric = numbers.has_value();
    key.unit = numbers ? numbers->unit : "";
    key.numbers = numbers ? numbers->values
                          : std::vector<double>(values.size(),
                                                std::numeric_limits<double>::quiet_NaN());
    for (const NodePtr& value : values) {
      key.texts.push_back(yaml_line(*value));
    }
    return key;
  }

  NodePtr put(const NodePtr& tree, const Variation& variation, const NodePtr& value)
  {
    try {
      return with_value(tree, variation.steps, value);
    } catch (const PathError& error) {
      if (!std::exchange(bad_path_, true)) {
        reading_.fault(variation.mark, "vary." + variation.path, error.what());
      }
      return tree;
    }
  }

  SweepCase case_of(const NodePtr& tree)
  {
    constexpr std::size_t id_digits = 32;
    const fs::path folder = fs::absolute(plan_.base).parent_path();
    const auto absolute = [&](const std::string& text) {
      return (folder / text).lexically_normal().string();
    };
    const auto content = [&](const std::string& text) {
      const auto [file, within] = split_file(text);
      return digests_(absolute(file)) + within;
    };
    SweepCase made;
    made.tree = with_files(tree, absolute);
    made.id = postproc::sha256(fmt::format("torsowave case 1\n{}\n{}", program_,
                                           yaml_text(*with_files(tree, content))))
                  .substr(0, id_digits);
    return made;
  }

  /// Reads a case as a scenario and notes its faults where the user can mend them.
  void check(std::size_t index, const std::vector<const Variation*>& variations)
  {
    SweepCase& made = plan_.cases[index];
    try {
      static_cast<void>(parse_scenario(yaml_text(*made.tree), plan_.base));
    } catch (const InputError& error) {
      for (const Fault& fault : error.faults()) {
        made.faults.push_back(placed(fault, index, variations));
      }
    }
  }

  Fault placed(const Fault& fault, std::size_t index,
               const std::vector<const Variation*>& variations) const
  {
    const std::string which =
        fmt::format("(case {} of {}: {})", index + 1, plan_.keys.front().texts.size(),
                    plan_.values_text(index));
    Fault moved = fault;
    moved.problem += " " + which;
    for (const Variation* variation : variations) {
      if (is_within(fault.key, variation->path) ||
          is_within(variation->path, fault.key)) {
        moved.location = {plan_.path.string(), variation->mark.line,
                          variation->mark.column};
        moved.key = "vary." + variation->path;
        moved.problem = (fault.key == variation->path ? "" : fault.key + ": ") +
                        std::move(moved.problem);
        return moved;
      }
    }
    moved.location = base_place(fault.key);
    return moved;
  }

  Location base_place(const std::string& key) const
  {
    Mark mark = base_->mark;
    try {
      mark = key.empty() ? mark : nearest_mark(base_, parse_path(key));
    } catch (const PathError&) {
      mark = base_->mark;  // a key that is no plain word
    }
    return {plan_.base.string(), mark.line, mark.column};
  }

  SweepPlan& plan_;
  std::string program_;
  NodePtr base_;
  Reading& reading_;
  FileDigests digests_;
  bool bad_path_ = false;
};

/// The faults of all cases, the same one in the same place once.
/// \throws InputError  There is one.
void refuse_faulty(const SweepPlan& plan)
{
  constexpr std::size_t most = 20;
  std::vector<Fault> faults;
  std::set<std::tuple<std::string, int, int, std::string>> seen;
  for (const SweepCase& one : plan.cases) {
    for (const Fault& fault : one.faults) {
      const bool is_new = seen.emplace(fault.location.file, fault.location.line,
                                       fault.location.column, fault.key)
                              .second;
      if (is_new && faults.size() < most) {
        faults.push_back(fault);
      }
    }
  }
  if (!faults.empty()) {
    throw InputError(std::move(faults));
  }
}

fs::path read_base(const Value& value, const fs::path& sweep)
{
  const auto name = value.text("the path of a scenario, relative to this file");
  return name ? sweep.parent_path() / *name : fs::path();
}

}  // namespace

std::string SweepPlan::scenario_text(std::size_t index) const
{
  return yaml_text(*cases[index].tree);
}

std::string SweepPlan::values_text(std::size_t index) const
{
  std::string values;
  for (const SweepKey& key : keys) {
    values +=
        fmt::format("{}{} = {}", values.empty() ? "" : ", ", key.path, key.texts[index]);
  }
  return values;
}

SweepPlan read_sweep(const fs::path& path, std::string_view program, bool keep_faulty)
{
  SweepPlan plan;
  plan.path = path;
  plan.text = read_input_text(path, "sweep file");
  if (plan.text.find_first_not_of(" \t\r\n") == std::string::npos) {
    refuse({path.string(), 1, 1},
           "the sweep file is empty; write at least base and vary");
  }
  const NodePtr document = parse_document(plan.text, path.string());
  Reading reading(path.string());
  Section root(Value(reading, document, "", document->mark));
  plan.base = read_base(root.require("base", "abdomen.yaml"), path);
  const Combine combine = read_combine(root.get("combine"));
  const Value vary = root.require("vary", "{implant.position[1]: [-60 mm, -50 mm]}");
  const std::vector<Group> groups = read_groups(vary, combine);
  root.reject_others();
  static_cast<void>(reading.finish());

  plan.combination = combine.kind;
  Reading cases(path.string());
  const std::string base_text = read_input_text(plan.base, "scenario");
  if (const auto table = make_table(groups, combine, vary)) {
    CaseBuilder(plan, program, base_text, cases).build(groups, *table);
  }
  static_cast<void>(reading.finish());
  static_cast<void>(cases.finish());
  if (!keep_faulty) {
    refuse_faulty(plan);
  }
  return plan;
}

}  // namespace torsowave::scenarios
