/// \file
/// \brief HDF5 ids that close themselves, and the one check of every HDF5 call.

#pragma once

#include <hdf5.h>

#include <string_view>
#include <utility>

namespace torsowave::postproc::hdf5 {

/// Throws WriteError with `call` and the text of HDF5's error stack; clears the stack.
[[noreturn]] void throw_failure(std::string_view call);

/// Passes on what an HDF5 call returned. `call` names it, with the object it was for.
/// \throws WriteError  The result says failure (HDF5: any negative value).
template <class Status>
Status check(Status result, std::string_view call)
{
  if (result < 0) {
    throw_failure(call);
  }
  return result;
}

/// Keeps HDF5 from printing to stderr on its own, in this thread and while it lives.
class QuietErrors {
public:
  QuietErrors() noexcept;
  ~QuietErrors();
  QuietErrors(const QuietErrors&) = delete;
  QuietErrors& operator=(const QuietErrors&) = delete;

private:
  H5E_auto2_t print_ = nullptr;
  void* print_data_ = nullptr;
};

/// Owner of one HDF5 id.
template <herr_t (*Close)(hid_t)>
class Handle {
public:
  Handle() = default;

  /// Takes over the id that `call` returned.
  /// \throws WriteError
  Handle(hid_t id, std::string_view call) : id_(check(id, call)) {}
  ~Handle()
  {
    if (id_ >= 0) {
      Close(id_);
    }
  }
  Handle(Handle&& other) noexcept : id_(std::exchange(other.id_, H5I_INVALID_HID)) {}
  Handle& operator=(Handle&& other) noexcept
  {
    std::swap(id_, other.id_);
    return *this;
  }

  [[nodiscard]] hid_t id() const noexcept { return id_; }
  [[nodiscard]] explicit operator bool() const noexcept { return id_ >= 0; }

  /// Closes now, where a failure can still be told.
  /// \throws WriteError
  void close(std::string_view call)
  {
    check(Close(std::exchange(id_, H5I_INVALID_HID)), call);
  }

private:
  hid_t id_ = H5I_INVALID_HID;
};

using Attribute = Handle<&H5Aclose>;
using Dataset = Handle<&H5Dclose>;
using File = Handle<&H5Fclose>;
using Group = Handle<&H5Gclose>;
using PropertyList = Handle<&H5Pclose>;
using Space = Handle<&H5Sclose>;
using Type = Handle<&H5Tclose>;

}  // namespace torsowave::postproc::hdf5
