/// \file
/// \brief A checkpoint on disk: whole or absent, and nothing is believed unchecked.
///
/// A line of text that names the format, then records: the length of a name [u32], the
/// name, bytes of an element [u64], elements [u64], the elements, and the CRC-32 of all
/// of that [u32]; a record named "end" is the last. Byte order and numbers are those of
/// x86-64, to which the stepper is tied.

#pragma once

#include <cstdint>
#include <cstdio>
#include <filesystem>
#include <memory>
#include <span>
#include <string>

#include "postproc/atomic_file.hpp"
#include "solver/state_archive.hpp"

namespace torsowave::app {

/// What a run and the checkpoint that it goes on from must have in common.
struct CheckpointIdentity {
  std::string program;       ///< release and revision
  std::string instructions;  ///< of the kernels: others round differently
  std::string scenario;      ///< SHA-256 of the scenario and of the files it names
  std::string layout;        ///< SHA-256 of grid and sampling as planned
  double refine = 0.0;       ///< ratio of cell sizes of a second run; 0: none

  [[nodiscard]] bool operator==(const CheckpointIdentity&) const = default;
};

/// What stands before the state.
struct CheckpointHeader {
  CheckpointIdentity identity;
  double every = 0.0;  ///< interval of the checkpoints [s]
  long step = 0;       ///< time steps done
};

/// CRC-32 of what came before (0: nothing) and these bytes.
[[nodiscard]] std::uint32_t add_to_crc(std::uint32_t sum,
                                       std::span<const std::byte> bytes);

namespace detail {
struct CloseFile {
  void operator()(std::FILE* file) const noexcept
  {
    static_cast<void>(std::fclose(file));
  }
};
}  // namespace detail

using FileHandle = std::unique_ptr<std::FILE, detail::CloseFile>;

/// Writes beside the final name; an earlier checkpoint stays until commit().
class CheckpointWriter final : public solver::StateWriter {
public:
  /// \throws postproc::WriteError, as do all members
  CheckpointWriter(const std::filesystem::path& path, const CheckpointHeader& header);

  /// Forces all to disk and renames. \return  Size of the file [bytes].
  std::uint64_t commit();

private:
  void record(std::string_view name, std::size_t bytes_each,
              std::span<const std::byte> bytes) override;
  void put(std::span<const std::byte> bytes);
  [[noreturn]] void fail(int error) const;

  postproc::PartFile part_;
  FileHandle file_;
  std::uint64_t bytes_ = 0;
  std::uint32_t sum_ = 0;
};

/// Reads what CheckpointWriter wrote. Whatever the file holds, no more memory is taken
/// than the file is long.
class CheckpointReader final : public solver::StateReader {
public:
  /// Reads the header. \throws solver::StateError  Unreadable, no checkpoint, another
  /// format, damaged.
  explicit CheckpointReader(const std::filesystem::path& path);

  [[nodiscard]] const CheckpointHeader& header() const noexcept { return header_; }

  /// To be called when all is read. \throws solver::StateError  Something is left.
  void finish();

private:
  [[nodiscard]] std::size_t next(std::string_view name, std::size_t bytes_each) override;
  void take(std::span<std::byte> bytes) override;
  void get(std::span<std::byte> bytes);
  template <class Number>
  [[nodiscard]] Number get_number();
  void read_text(std::string_view name, std::string& text);

  FileHandle file_;
  std::uint64_t left_ = 0;  ///< bytes of the file
  std::uint32_t sum_ = 0;
  CheckpointHeader header_;
};

}  // namespace torsowave::app
