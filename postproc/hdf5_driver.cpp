#include "postproc/hdf5_driver.hpp"

#include <fcntl.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <limits>
#include <memory>

namespace torsowave::postproc::hdf5 {
namespace {

/// HDF5 copies this from the access properties to open().
struct DriverInfo {
  OutputStatus* status;
};

/// HDF5 knows a file by its first member.
struct OutputFile {
  H5FD_t base;
  int descriptor;
  OutputStatus* status;
  haddr_t end_of_addresses;
  haddr_t end_of_file;
};

[[nodiscard]] OutputFile& self(H5FD_t* file)
{
  return *reinterpret_cast<OutputFile*>(file);
}

[[nodiscard]] const OutputFile& self(const H5FD_t* file)
{
  return *reinterpret_cast<const OutputFile*>(file);
}

void remember(OutputStatus& status)
{
  if (status.error == 0) {
    status.error = errno;
  }
}

H5FD_t* open(const char* name, unsigned /*flags*/, hid_t access, haddr_t /*max_address*/)
{
  const auto* info = static_cast<const DriverInfo*>(H5Pget_driver_info(access));
  if (info == nullptr) {
    return nullptr;
  }
  const int descriptor = ::open(name, O_RDWR | O_CREAT | O_TRUNC | O_CLOEXEC, 0666);
  if (descriptor < 0) {
    remember(*info->status);
    return nullptr;
  }
  auto file = std::make_unique<OutputFile>();
  file->descriptor = descriptor;
  file->status = info->status;
  return &file.release()->base;
}

herr_t close(H5FD_t* base)
{
  const std::unique_ptr<OutputFile> file(&self(base));
  if (::close(file->descriptor) != 0) {
    remember(*file->status);
  }
  return 0;
}

/// The features of HDF5's own POSIX driver.
herr_t query(const H5FD_t* /*file*/, unsigned long* flags)
{
  *flags = H5FD_FEAT_AGGREGATE_METADATA | H5FD_FEAT_ACCUMULATE_METADATA |
           H5FD_FEAT_DATA_SIEVE | H5FD_FEAT_AGGREGATE_SMALLDATA |
           H5FD_FEAT_DEFAULT_VFD_COMPATIBLE;
  return 0;
}

haddr_t end_of_addresses(const H5FD_t* file, H5FD_mem_t /*type*/)
{
  return self(file).end_of_addresses;
}

herr_t set_end_of_addresses(H5FD_t* file, H5FD_mem_t /*type*/, haddr_t address)
{
  self(file).end_of_addresses = address;
  return 0;
}

haddr_t end_of_file(const H5FD_t* file, H5FD_mem_t /*type*/)
{
  return self(file).end_of_file;
}

/// Bytes that were never written read as zero.
herr_t read(H5FD_t* base, H5FD_mem_t /*type*/, hid_t /*transfer*/, haddr_t address,
            size_t size, void* buffer)
{
  auto* to = static_cast<char*>(buffer);
  auto offset = static_cast<off_t>(address);
  while (size > 0) {
    const ssize_t count = ::pread(self(base).descriptor, to, size, offset);
    if (count == 0) {
      std::memset(to, 0, size);
      return 0;
    }
    if (count < 0 && errno != EINTR) {
      remember(*self(base).status);
      return -1;
    }
    const auto done = static_cast<size_t>(std::max<ssize_t>(count, 0));
    to += done;
    offset += static_cast<off_t>(done);
    size -= done;
  }
  return 0;
}

herr_t write(H5FD_t* base, H5FD_mem_t /*type*/, hid_t /*transfer*/, haddr_t address,
             size_t size, const void* buffer)
{
  OutputFile& file = self(base);
  file.end_of_file = std::max(file.end_of_file, address + size);
  const auto* from = static_cast<const char*>(buffer);
  auto offset = static_cast<off_t>(address);
  while (size > 0 && file.status->error == 0) {
    const ssize_t count = ::pwrite(file.descriptor, from, size, offset);
    if (count < 0 && errno != EINTR) {
      remember(*file.status);
      return 0;
    }
    const auto done = static_cast<size_t>(std::max<ssize_t>(count, 0));
    from += done;
    offset += static_cast<off_t>(done);
    size -= done;
  }
  return 0;
}

herr_t truncate(H5FD_t* base, hid_t /*transfer*/, hbool_t /*closing*/)
{
  OutputFile& file = self(base);
  if (file.end_of_file != file.end_of_addresses && file.status->error == 0 &&
      ::ftruncate(file.descriptor, static_cast<off_t>(file.end_of_addresses)) != 0) {
    remember(*file.status);
  }
  file.end_of_file = file.end_of_addresses;
  return 0;
}

[[nodiscard]] H5FD_class_t driver_class()
{
  H5FD_class_t driver{};
  driver.name = "torsowave_output";
  driver.maxaddr = static_cast<haddr_t>(std::numeric_limits<off_t>::max());
  driver.fc_degree = H5F_CLOSE_WEAK;
  driver.fapl_size = sizeof(DriverInfo);
  driver.open = &open;
  driver.close = &close;
  driver.query = &query;
  driver.get_eoa = &end_of_addresses;
  driver.set_eoa = &set_end_of_addresses;
  driver.get_eof = &end_of_file;
  driver.read = &read;
  driver.write = &write;
  driver.truncate = &truncate;
  // Every kind of data shares one address space.
  std::fill(std::begin(driver.fl_map), std::end(driver.fl_map), H5FD_MEM_SUPER);
  return driver;
}

/// Registered once; HDF5 drops it at the end of the process.
[[nodiscard]] hid_t driver_id()
{
  static const H5FD_class_t driver = driver_class();
  static const hid_t id = check(H5FDregister(&driver), "H5FDregister");
  return id;
}

}  // namespace

PropertyList output_access(OutputStatus& status)
{
  PropertyList access(H5Pcreate(H5P_FILE_ACCESS), "H5Pcreate");
  const DriverInfo info{&status};
  check(H5Pset_driver(access.id(), driver_id(), &info), "H5Pset_driver");
  return access;
}

}  // namespace torsowave::postproc::hdf5
