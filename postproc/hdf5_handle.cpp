#include "postproc/hdf5_handle.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <string>

#include "postproc/atomic_file.hpp"

namespace torsowave::postproc::hdf5 {
namespace {

/// Appends one level of the error stack to the std::string behind `text`.
herr_t collect(unsigned /*level*/, const H5E_error2_t* error, void* text)
{
  auto& message = *static_cast<std::string*>(text);
  if (!message.empty()) {
    message += "; ";
  }
  message += error->func_name != nullptr ? error->func_name : "HDF5";
  message += ": ";
  message += error->desc != nullptr ? error->desc : "no description";
  std::replace(message.begin(), message.end(), '\n', ' ');
  return 0;
}

}  // namespace

void throw_failure(std::string_view call)
{
  std::string stack;
  // Upward: the innermost level, which names the system's error, comes first.
  H5Ewalk2(H5E_DEFAULT, H5E_WALK_UPWARD, &collect, &stack);
  H5Eclear2(H5E_DEFAULT);
  throw WriteError(
      fmt::format("{} failed: {}", call, stack.empty() ? "HDF5 gave no reason" : stack));
}

QuietErrors::QuietErrors() noexcept
{
  H5Eget_auto2(H5E_DEFAULT, &print_, &print_data_);
  H5Eset_auto2(H5E_DEFAULT, nullptr, nullptr);
}

QuietErrors::~QuietErrors()
{
  H5Eset_auto2(H5E_DEFAULT, print_, print_data_);
}

}  // namespace torsowave::postproc::hdf5
