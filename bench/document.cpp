#include <fmt/format.h>

#include <cstddef>
#include <fstream>
#include <iterator>
#include <string_view>

#include "bench/report.hpp"
#include "postproc/atomic_file.hpp"

namespace torsowave::bench {
namespace {

constexpr std::string_view begin_mark = "<!-- measured: begin -->\n";
constexpr std::string_view end_mark = "<!-- measured: end -->\n";

[[nodiscard]] std::string text_of(const std::filesystem::path& document)
{
  std::ifstream file(document, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

}  // namespace

std::string document_fault(const std::string& path)
{
  const std::string text = text_of(path);
  const std::size_t from = text.find(begin_mark);
  if (from != std::string::npos && text.find(end_mark, from) != std::string::npos) {
    return {};
  }
  return fmt::format(
      "{} cannot be read or lacks the lines between which the tables go; write {} and {} "
      "there",
      path, begin_mark.substr(0, begin_mark.size() - 1),
      end_mark.substr(0, end_mark.size() - 1));
}

void put_into_document(const std::string& tables, const std::filesystem::path& document)
{
  const std::string old = text_of(document);
  const std::size_t from = old.find(begin_mark) + begin_mark.size();
  postproc::write_atomically(
      document, old.substr(0, from) + tables + old.substr(old.find(end_mark, from)));
}

}  // namespace torsowave::bench
