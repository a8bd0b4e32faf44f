/// \file
/// \brief A YAML text as a tree with marks, read within limits.

#pragma once

#include <cstddef>
#include <memory>
#include <string>
#include <vector>

namespace torsowave::scenarios {

/// A place in the text; line and column count from 1, columns in characters.
struct Mark {
  int line = 0;
  int column = 0;
};

struct Node;
using NodePtr = std::shared_ptr<const Node>;

/// One "key: value" of a map, in the order of the file; keys may repeat.
struct Entry {
  std::string key;
  Mark mark;  ///< of the key
  NodePtr value;
};

struct Node {
  enum class Kind { empty, scalar, sequence, map };
  Kind kind = Kind::empty;
  Mark mark;
  std::string text;            ///< scalar
  std::vector<NodePtr> items;  ///< sequence
  std::vector<Entry> entries;  ///< map
  std::size_t size = 1;        ///< nodes in this tree, aliased ones counted at each use
};

/// For messages, e.g. "a list".
[[nodiscard]] std::string kind_name(Node::Kind kind);

inline constexpr std::size_t max_nodes = 200'000;  ///< with every alias expanded
inline constexpr std::size_t max_depth = 32;       ///< maps and lists inside each other

/// Reads one YAML document. Aliases share their anchor's node.
///
/// \param file  stands for the text in messages.
/// \throws InputError  Not UTF-8, control characters, not YAML, empty, more than one
///         document, tags, keys that are not plain words, or beyond the limits.
[[nodiscard]] NodePtr parse_document(const std::string& text, const std::string& file);

}  // namespace torsowave::scenarios
