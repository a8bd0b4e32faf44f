#include "scenarios/node_edit.hpp"

#include <fmt/format.h>
#include <yaml-cpp/yaml.h>

#include <algorithm>
#include <charconv>
#include <utility>

#include "scenarios/message_text.hpp"

namespace torsowave::scenarios {
namespace {

constexpr std::string_view accepted =
    "write a path as in messages, e.g. implant.position[1]";

/// The number of "[1]..." and the rest behind it.
std::pair<std::size_t, std::string_view> take_index(std::string_view text,
                                                    std::string_view path)
{
  const std::size_t end = text.find(']');
  std::size_t index = 0;
  const char* last = text.data() + std::min(end, text.size());
  const auto [stop, error] = std::from_chars(text.data() + 1, last, index);
  if (end == std::string_view::npos || error != std::errc{} || stop != last) {
    throw PathError(fmt::format("{} has no number from 0 between brackets; {}",
                                in_quotes(path), accepted));
  }
  return {index, text.substr(end + 1)};
}

NodePtr child_of(const NodePtr& node, const PathStep& step)
{
  if (const auto* key = std::get_if<std::string>(&step)) {
    const auto found = std::ranges::find(node->entries, *key, &Entry::key);
    return found == node->entries.end() ? nullptr : found->value;
  }
  const std::size_t index = std::get<std::size_t>(step);
  return index < node->items.size() ? node->items[index] : nullptr;
}

std::size_t size_of(const Node& node)
{
  std::size_t size = 1;
  for (const NodePtr& item : node.items) {
    size += item->size;
  }
  for (const Entry& entry : node.entries) {
    size += entry.value->size;
  }
  return size;
}

/// The node at path[depth - 1] with the value further down.
NodePtr rebuilt(const NodePtr& node, const std::vector<PathStep>& path, std::size_t depth,
                NodePtr value)
{
  if (depth == path.size()) {
    return value;
  }
  auto changed =
      node == nullptr ? std::make_shared<Node>() : std::make_shared<Node>(*node);
  if (const auto* key = std::get_if<std::string>(&path[depth])) {
    if (changed->kind == Node::Kind::empty) {
      changed->kind = Node::Kind::map;
    }
    if (changed->kind != Node::Kind::map) {
      throw PathError(fmt::format("the base has {} where the path goes on with {}",
                                  kind_name(changed->kind), in_quotes(*key)));
    }
    const auto found = std::ranges::find(changed->entries, *key, &Entry::key);
    const NodePtr below = found == changed->entries.end() ? nullptr : found->value;
    NodePtr child = rebuilt(below, path, depth + 1, std::move(value));
    if (found == changed->entries.end()) {
      changed->entries.push_back({*key, changed->mark, std::move(child)});
    } else {
      found->value = std::move(child);
    }
  } else {
    const std::size_t index = std::get<std::size_t>(path[depth]);
    if (changed->kind != Node::Kind::sequence || index >= changed->items.size()) {
      throw PathError(fmt::format(
          "the base has {} where the path goes on with [{}]; items count from 0",
          changed->kind == Node::Kind::sequence
              ? fmt::format("a list of {}", changed->items.size())
              : kind_name(changed->kind),
          index));
    }
    changed->items[index] =
        rebuilt(changed->items[index], path, depth + 1, std::move(value));
  }
  changed->size = size_of(*changed);
  return changed;
}

bool is_flat(const Node& node)
{
  constexpr std::size_t short_enough = 12;
  return node.size <= short_enough;
}

void emit(YAML::Emitter& out, const Node& node, bool top)
{
  const auto flow = [&] { return !top && is_flat(node) ? YAML::Flow : YAML::Block; };
  switch (node.kind) {
    case Node::Kind::empty:
      out << YAML::Null;
      break;
    case Node::Kind::scalar:
      out << node.text;
      break;
    case Node::Kind::sequence:
      out << flow() << YAML::BeginSeq;
      for (const NodePtr& item : node.items) {
        emit(out, *item, false);
      }
      out << YAML::EndSeq;
      break;
    case Node::Kind::map:
      out << flow() << YAML::BeginMap;
      for (const Entry& entry : node.entries) {
        out << YAML::Key << entry.key << YAML::Value;
        emit(out, *entry.value, false);
      }
      out << YAML::EndMap;
      break;
  }
}

}  // namespace

std::vector<PathStep> parse_path(std::string_view path)
{
  std::vector<PathStep> steps;
  std::string_view rest = path;
  while (!rest.empty() || steps.empty()) {
    if (!steps.empty() && rest.front() == '[') {
      const auto [index, behind] = take_index(rest, path);
      steps.emplace_back(index);
      rest = behind;
      continue;
    }
    if (!steps.empty()) {
      if (rest.front() != '.') {
        throw PathError(fmt::format("{} lacks a dot behind a bracket; {}",
                                    in_quotes(path), accepted));
      }
      rest.remove_prefix(1);
    }
    const std::size_t end = std::min(rest.find_first_of(".["), rest.size());
    if (end == 0) {
      throw PathError(fmt::format("{} has an empty key; {}", in_quotes(path), accepted));
    }
    steps.emplace_back(std::string(rest.substr(0, end)));
    rest.remove_prefix(end);
  }
  return steps;
}

NodePtr find_node(const NodePtr& root, const std::vector<PathStep>& path)
{
  NodePtr node = root;
  for (const PathStep& step : path) {
    node = node == nullptr ? nullptr : child_of(node, step);
  }
  return node;
}

Mark nearest_mark(const NodePtr& root, const std::vector<PathStep>& path)
{
  NodePtr node = root;
  for (const PathStep& step : path) {
    const NodePtr below = child_of(node, step);
    if (below == nullptr) {
      break;
    }
    node = below;
  }
  return node->mark;
}

NodePtr with_value(const NodePtr& root, const std::vector<PathStep>& path, NodePtr value)
{
  return rebuilt(root, path, 0, std::move(value));
}

NodePtr scalar_node(std::string text)
{
  auto node = std::make_shared<Node>();
  node->kind = Node::Kind::scalar;
  node->text = std::move(text);
  return node;
}

std::string yaml_text(const Node& root)
{
  YAML::Emitter out;
  emit(out, root, true);
  return std::string(out.c_str(), out.size()) + "\n";
}

std::string yaml_line(const Node& value)
{
  YAML::Emitter out;
  out.SetSeqFormat(YAML::Flow);
  out.SetMapFormat(YAML::Flow);
  emit(out, value, false);
  return {out.c_str(), out.size()};
}

}  // namespace torsowave::scenarios
