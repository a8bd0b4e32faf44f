/// \file
/// \brief Values of a YAML tree by path: looking them up, putting others in, and writing
/// the tree as text again.

#pragma once

#include <cstddef>
#include <optional>
#include <stdexcept>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "scenarios/document.hpp"

namespace torsowave::scenarios {

/// One step down a tree: a key of a map or, from 0, an item of a list.
using PathStep = std::variant<std::string, std::size_t>;

/// Text that is no path, or a path that a tree does not have; what() says what is wrong
/// and what is accepted.
class PathError : public std::runtime_error {
public:
  using std::runtime_error::runtime_error;
};

/// Takes "implant.position[1]" apart.
/// \throws PathError  An empty step, a bracket that does not close, no number in it.
[[nodiscard]] std::vector<PathStep> parse_path(std::string_view path);

/// The value at a path, or null.
[[nodiscard]] NodePtr find_node(const NodePtr& root, const std::vector<PathStep>& path);

/// The mark of the innermost value on the way along a path that the tree has.
[[nodiscard]] Mark nearest_mark(const NodePtr& root, const std::vector<PathStep>& path);

/// The tree with `value` at `path`; whatever is not on the way is shared with the old
/// tree. Keys that are missing are added, items are not. \throws PathError  The path
/// leads into a single value or beyond the end of a list.
[[nodiscard]] NodePtr with_value(const NodePtr& root, const std::vector<PathStep>& path,
                                 NodePtr value);

/// A single value.
[[nodiscard]] NodePtr scalar_node(std::string text);

/// The tree as a YAML document with a line end: lists of single values and what lies
/// deep on one line, the rest in blocks. Reading it back gives the same tree.
[[nodiscard]] std::string yaml_text(const Node& root);

/// A value on one line, e.g. "[403.5 MHz]".
[[nodiscard]] std::string yaml_line(const Node& value);

}  // namespace torsowave::scenarios
