#include "app/checkpoint_file.hpp"

#include <fmt/format.h>
#include <zlib.h>

#include <array>
#include <cerrno>
#include <string_view>
#include <system_error>

namespace torsowave::app {
namespace {

using solver::StateError;

constexpr std::string_view any_format = "torsowave checkpoint, format ";
constexpr std::string_view format = "torsowave checkpoint, format 1\n";
constexpr std::string_view last = "end";
constexpr std::uint32_t longest_name = 64;
constexpr std::size_t longest_text = 256;
constexpr std::size_t buffer = std::size_t{1} << 20;

template <class Number>
[[nodiscard]] std::span<const std::byte> bytes_of(const Number& number)
{
  return std::as_bytes(std::span(&number, 1));
}

[[nodiscard]] std::span<const std::byte> bytes_of(std::string_view text)
{
  return std::as_bytes(std::span(text));
}

[[nodiscard]] FileHandle open(const std::filesystem::path& path, const char* mode)
{
  FileHandle file(std::fopen(path.c_str(), mode));
  if (file) {
    static_cast<void>(std::setvbuf(file.get(), nullptr, _IOFBF, buffer));
  }
  return file;
}

[[noreturn]] void damaged()
{
  throw StateError("is damaged");
}

}  // namespace

std::uint32_t add_to_crc(std::uint32_t sum, std::span<const std::byte> bytes)
{
  if (bytes.empty()) {
    return sum;  // zlib starts anew where it is given no address
  }
  return static_cast<std::uint32_t>(
      crc32_z(sum, reinterpret_cast<const Bytef*>(bytes.data()), bytes.size()));
}

CheckpointWriter::CheckpointWriter(const std::filesystem::path& path,
                                   const CheckpointHeader& header)
    : part_(path), file_(open(part_.path(), "wbe"))
{
  if (!file_) {
    fail(errno);
  }
  put(bytes_of(format));
  write("program", header.identity.program);
  write("instructions", header.identity.instructions);
  write("scenario", header.identity.scenario);
  write("layout", header.identity.layout);
  write_value("refine", header.identity.refine);
  write_value("every", header.every);
  write_value("step", header.step);
}

void CheckpointWriter::fail(int error) const
{
  throw postproc::WriteError(fmt::format("cannot write {}: {}",
                                         part_.final_path().string(),
                                         std::generic_category().message(error)));
}

void CheckpointWriter::put(std::span<const std::byte> bytes)
{
  if (bytes.empty()) {
    return;  // fwrite() wants no null pointer even for nothing
  }
  if (std::fwrite(bytes.data(), 1, bytes.size(), file_.get()) != bytes.size()) {
    fail(errno);
  }
  bytes_ += bytes.size();
  sum_ = add_to_crc(sum_, bytes);
}

void CheckpointWriter::record(std::string_view name, std::size_t bytes_each,
                              std::span<const std::byte> bytes)
{
  sum_ = 0;
  put(bytes_of(static_cast<std::uint32_t>(name.size())));
  put(bytes_of(name));
  put(bytes_of(std::uint64_t{bytes_each}));
  put(bytes_of(std::uint64_t{bytes.size() / bytes_each}));
  put(bytes);
  put(bytes_of(std::uint32_t{sum_}));
}

std::uint64_t CheckpointWriter::commit()
{
  write(last, std::string_view());
  if (std::fclose(file_.release()) != 0) {
    fail(errno);
  }
  part_.commit();
  return bytes_;
}

CheckpointReader::CheckpointReader(const std::filesystem::path& path)
    : file_(open(path, "rbe"))
{
  std::error_code error;
  left_ = std::filesystem::file_size(path, error);
  if (!file_ || error) {
    throw StateError("cannot be read");
  }
  std::array<char, format.size()> head{};
  get(std::as_writable_bytes(std::span(head)));
  const std::string_view found(head.data(), head.size());
  if (found != format) {
    throw StateError(found.starts_with(any_format)
                         ? "has the format of another release of torsowave"
                         : "is no checkpoint");
  }
  read_text("program", header_.identity.program);
  read_text("instructions", header_.identity.instructions);
  read_text("scenario", header_.identity.scenario);
  read_text("layout", header_.identity.layout);
  read_value("refine", header_.identity.refine);
  read_value("every", header_.every);
  read_value("step", header_.step);
}

void CheckpointReader::read_text(std::string_view name, std::string& text)
{
  read_growing(name, text, longest_text);
}

void CheckpointReader::get(std::span<std::byte> bytes)
{
  if (bytes.size() > left_) {
    throw StateError("is truncated");
  }
  if (bytes.empty()) {
    return;
  }
  if (std::fread(bytes.data(), 1, bytes.size(), file_.get()) != bytes.size()) {
    throw StateError("cannot be read");
  }
  left_ -= bytes.size();
  sum_ = add_to_crc(sum_, bytes);
}

template <class Number>
Number CheckpointReader::get_number()
{
  Number number{};
  get(std::as_writable_bytes(std::span(&number, 1)));
  return number;
}

std::size_t CheckpointReader::next(std::string_view name, std::size_t bytes_each)
{
  sum_ = 0;
  const auto length = get_number<std::uint32_t>();
  if (length > longest_name) {
    damaged();
  }
  std::string found(length, '\0');
  get(std::as_writable_bytes(std::span(found)));
  const auto found_each = get_number<std::uint64_t>();
  const auto count = get_number<std::uint64_t>();
  if (found != name || found_each != bytes_each) {
    damaged();
  }
  if (count > left_ / bytes_each) {
    throw StateError("is truncated");
  }
  return count;
}

void CheckpointReader::take(std::span<std::byte> bytes)
{
  get(bytes);
  const std::uint32_t sum = sum_;
  if (get_number<std::uint32_t>() != sum) {
    damaged();
  }
}

void CheckpointReader::finish()
{
  std::string nothing;
  read_growing(last, nothing, 0);
  if (left_ != 0) {
    damaged();
  }
}

}  // namespace torsowave::app
