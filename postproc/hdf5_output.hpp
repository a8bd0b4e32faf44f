/// \file
/// \brief An HDF5 file that is written whole or not at all, and what each of ours begins
/// with.

#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <string>

#include "postproc/atomic_file.hpp"
#include "postproc/hdf5_driver.hpp"
#include "postproc/hdf5_handle.hpp"

namespace torsowave::postproc::hdf5 {

/// Objects in the file have to be closed before it is destroyed.
class OutputFile {
public:
  /// Creates the part, empty. \throws WriteError
  explicit OutputFile(std::filesystem::path path);
  /// Removes the part unless commit() was reached.
  ~OutputFile();
  OutputFile(const OutputFile&) = delete;
  OutputFile& operator=(const OutputFile&) = delete;

  [[nodiscard]] hid_t id() const noexcept { return file_.id(); }
  /// Until commit().
  [[nodiscard]] bool is_open() const noexcept { return static_cast<bool>(file_); }
  [[nodiscard]] const std::filesystem::path& path() const noexcept
  {
    return part_.final_path();
  }

  /// Runs `work` with HDF5 silent, and names the file in what goes wrong. What the system
  /// said comes before what HDF5 made of it.
  /// \throws WriteError
  void write(const std::function<void()>& work);

  /// Closes the file and gives it its name. \throws WriteError
  void commit();

private:
  [[noreturn]] void fail(const std::string& reason) const;
  void require_written() const;

  // Destroyed from the last to the first: the file is closed before its part goes.
  PartFile part_;
  OutputStatus status_;
  File file_;
};

/// Title, format and program, as attributes of the root.
void write_head(hid_t file, const std::string& title, const std::string& format,
                std::int64_t format_version);

/// Writes a file at one go. \param fill  gets the open file
/// \throws WriteError
void write_file(const std::filesystem::path& path,
                const std::function<void(hid_t file)>& fill);

}  // namespace torsowave::postproc::hdf5
