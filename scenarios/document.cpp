#include "scenarios/document.hpp"

#include <fmt/format.h>
#include <yaml-cpp/eventhandler.h>
#include <yaml-cpp/yaml.h>

#include <algorithm>
#include <optional>
#include <sstream>
#include <string_view>
#include <unordered_map>
#include <utility>

#include "scenarios/input_error.hpp"
#include "scenarios/message_text.hpp"

namespace torsowave::scenarios {
namespace {

constexpr std::string_view byte_order_mark = "\xEF\xBB\xBF";

/// Turns the parser's byte columns, from 0, into character columns, from 1.
class Columns {
public:
  explicit Columns(std::string_view text)
  {
    for (std::size_t at = 0; at < text.size(); ++at) {
      if ((static_cast<unsigned char>(text[at]) & 0xC0U) == 0x80U) {
        continuations_.push_back(at);
      }
    }
  }

  [[nodiscard]] Mark mark(int line, int column, std::size_t position) const
  {
    const std::size_t line_start =
        position - std::min(position, static_cast<std::size_t>(column));
    const auto first = std::ranges::lower_bound(continuations_, line_start);
    const auto last = std::ranges::lower_bound(continuations_, position);
    return {line + 1, column + 1 - static_cast<int>(last - first)};
  }

  [[nodiscard]] Mark mark(const YAML::Mark& at) const
  {
    if (at.is_null()) {
      return {1, 1};
    }
    return mark(at.line, at.column, static_cast<std::size_t>(at.pos));
  }

private:
  std::vector<std::size_t> continuations_;  ///< UTF-8 continuation bytes, ascending
};

[[noreturn]] void refuse(const std::string& file, Mark mark, std::string problem)
{
  scenarios::refuse(Location{file, mark.line, mark.column}, std::move(problem));
}

/// Builds the tree from the parser's events.
class TreeBuilder : public YAML::EventHandler {
public:
  TreeBuilder(const std::string& file, const Columns& columns)
      : file_(file), columns_(columns)
  {
  }

  [[nodiscard]] NodePtr root() const { return root_; }

  void OnDocumentStart(const YAML::Mark& mark) override
  {
    if (++documents_ > 1) {
      fail(mark,
           "the scenario ended before this; remove the stray bracket or the second "
           "document (one scenario is one YAML document)");
    }
  }
  void OnDocumentEnd() override {}

  void OnNull(const YAML::Mark& mark, YAML::anchor_t anchor) override
  {
    if (expects_key()) {
      fail(mark, R"(a key is missing before ":"; write "key: value")");
    }
    leaf(mark, anchor, Node::Kind::empty, "");
  }

  void OnAlias(const YAML::Mark& mark, YAML::anchor_t anchor) override
  {
    refuse_key(mark);
    const auto found = anchors_.find(anchor);
    if (found == anchors_.end()) {
      fail(mark,
           "this alias stands inside the value that it repeats; write the value out");
    }
    place(found->second, mark);
  }

  void OnScalar(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                const std::string& value) override
  {
    refuse_tag(mark, tag);
    if (expects_key()) {
      pending().push_back({value, columns_.mark(mark), nullptr});
      return;
    }
    leaf(mark, anchor, Node::Kind::scalar, value);
  }

  void OnSequenceStart(const YAML::Mark& mark, const std::string& tag,
                       YAML::anchor_t anchor,
                       YAML::EmitterStyle::value /*style*/) override
  {
    open(mark, tag, anchor, Node::Kind::sequence);
  }
  void OnSequenceEnd() override { close(); }

  void OnMapStart(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                  YAML::EmitterStyle::value /*style*/) override
  {
    open(mark, tag, anchor, Node::Kind::map);
  }
  void OnMapEnd() override { close(); }

private:
  struct Frame {
    std::shared_ptr<Node> node;
    YAML::anchor_t anchor;
    YAML::Mark mark;
  };

  [[noreturn]] void fail(const YAML::Mark& mark, std::string problem) const
  {
    refuse(file_, columns_.mark(mark), std::move(problem));
  }

  void refuse_tag(const YAML::Mark& mark, const std::string& tag) const
  {
    if (!tag.empty() && tag != "?" && tag != "!") {
      fail(mark, fmt::format("YAML tags are not accepted here; remove the tag {}",
                             in_quotes(tag)));
    }
  }

  [[nodiscard]] std::vector<Entry>& pending() { return frames_.back().node->entries; }

  /// Inside a map whose last entry is complete.
  [[nodiscard]] bool expects_key()
  {
    return !frames_.empty() && frames_.back().node->kind == Node::Kind::map &&
           (pending().empty() || pending().back().value != nullptr);
  }

  void refuse_key(const YAML::Mark& mark)
  {
    if (expects_key()) {
      fail(mark, R"(a key must be a plain word; write "key: value")");
    }
  }

  void leaf(const YAML::Mark& mark, YAML::anchor_t anchor, Node::Kind kind,
            const std::string& text)
  {
    auto node = std::make_shared<Node>();
    node->kind = kind;
    node->mark = columns_.mark(mark);
    node->text = text;
    finish(std::move(node), anchor, mark);
  }

  void open(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
            Node::Kind kind)
  {
    refuse_tag(mark, tag);
    refuse_key(mark);
    if (frames_.size() >= max_depth) {
      fail(mark, fmt::format("more than {} maps and lists inside each other", max_depth));
    }
    auto node = std::make_shared<Node>();
    node->kind = kind;
    node->mark = columns_.mark(mark);
    frames_.push_back({std::move(node), anchor, mark});
  }

  void close()
  {
    const Frame frame = std::move(frames_.back());
    frames_.pop_back();
    finish(frame.node, frame.anchor, frame.mark);
  }

  void finish(NodePtr node, YAML::anchor_t anchor, const YAML::Mark& mark)
  {
    if (anchor != YAML::NullAnchor) {
      anchors_[anchor] = node;
    }
    place(std::move(node), mark);
  }

  /// Puts a complete node where it belongs and keeps the count of all nodes.
  void place(NodePtr node, const YAML::Mark& mark)
  {
    if (frames_.empty()) {
      root_ = std::move(node);
      return;
    }
    Node& parent = *frames_.back().node;
    parent.size += node->size;
    if (parent.size > max_nodes) {
      fail(mark, fmt::format("more than {} values, aliases counted at each use; simplify "
                             "the scenario",
                             max_nodes));
    }
    if (parent.kind == Node::Kind::map) {
      parent.entries.back().value = std::move(node);
    } else {
      parent.items.push_back(std::move(node));
    }
  }

  const std::string& file_;
  const Columns& columns_;
  std::vector<Frame> frames_;
  std::unordered_map<YAML::anchor_t, NodePtr> anchors_;
  NodePtr root_;
  int documents_ = 0;
};

/// Line and byte column, from 0, of a byte.
Mark mark_of_byte(std::string_view text, const Columns& columns, std::size_t at)
{
  const std::string_view before = text.substr(0, at);
  const auto line = static_cast<int>(std::ranges::count(before, '\n'));
  const std::size_t last_end = before.rfind('\n');
  const std::size_t start = last_end == std::string_view::npos ? 0 : last_end + 1;
  return columns.mark(line, static_cast<int>(at - start), at);
}

void refuse_bad_bytes(std::string_view text, const Columns& columns,
                      const std::string& file)
{
  const std::optional<std::size_t> at = first_bad_byte(text);
  if (!at) {
    return;
  }
  const unsigned byte = static_cast<unsigned char>(text[*at]);
  const std::string problem =
      byte < 0x80U
          ? fmt::format("control character 0x{:02x}; a scenario is plain text: remove it",
                        byte)
          : fmt::format("byte 0x{:02x} is not UTF-8; save the scenario as UTF-8", byte);
  refuse(file, mark_of_byte(text, columns, *at), problem);
}

}  // namespace

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

NodePtr parse_document(const std::string& text, const std::string& file)
{
  std::string_view body = text;
  if (body.starts_with(byte_order_mark)) {
    body.remove_prefix(byte_order_mark.size());
  }
  const Columns columns(body);
  refuse_bad_bytes(body, columns, file);
  TreeBuilder builder(file, columns);
  try {
    std::istringstream stream{std::string{body}};
    YAML::Parser parser(stream);
    while (parser.HandleNextDocument(builder)) {
    }
  } catch (const YAML::Exception& error) {
    refuse(file, columns.mark(error.mark),
           fmt::format("not valid YAML: {}; check the indentation, brackets and quotes "
                       "here and just above",
                       error.msg));
  }
  if (builder.root() == nullptr || builder.root()->kind == Node::Kind::empty) {
    refuse(file, {1, 1},
           "the scenario is empty; write at least body, implant and waveform");
  }
  return builder.root();
}

}  // namespace torsowave::scenarios
