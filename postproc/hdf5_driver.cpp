#include "postproc/hdf5_driver.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <limits>
#include <memory>

namespace torsowave::postproc::hdf5 {
namespace {

constexpr auto last_address = static_cast<haddr_t>(std::numeric_limits<off_t>::max());

/// HDF5 copies this from the access properties to open().
struct DriverInfo {
  OutputStatus* status;
};

/// HDF5 knows a file by its first member.
struct DriverFile {
  H5FD_t base;
  int descriptor;
  OutputStatus* status;  ///< of an input: `own`
  OutputStatus own;
  haddr_t end_of_addresses;
  haddr_t end_of_file;
};

[[nodiscard]] DriverFile& self(H5FD_t* file)
{
  return *reinterpret_cast<DriverFile*>(file);
}

[[nodiscard]] const DriverFile& self(const H5FD_t* file)
{
  return *reinterpret_cast<const DriverFile*>(file);
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
  auto file = std::make_unique<DriverFile>();
  file->descriptor = descriptor;
  file->status = info->status;
  return &file.release()->base;
}

H5FD_t* open_to_read(const char* name, unsigned /*flags*/, hid_t /*access*/,
                     haddr_t /*max_address*/)
{
  const int descriptor = ::open(name, O_RDONLY | O_CLOEXEC);
  if (descriptor < 0) {
    return nullptr;
  }
  struct stat about {};
  if (::fstat(descriptor, &about) != 0) {
    ::close(descriptor);
    return nullptr;
  }
  auto file = std::make_unique<DriverFile>();
  file->descriptor = descriptor;
  file->status = &file->own;
  file->end_of_file = static_cast<haddr_t>(about.st_size);
  return &file.release()->base;
}

herr_t close(H5FD_t* base)
{
  const std::unique_ptr<DriverFile> file(&self(base));
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

/// Without the metadata accumulator.
herr_t query_input(const H5FD_t* /*file*/, unsigned long* flags)
{
  *flags = H5FD_FEAT_DATA_SIEVE;
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
  if (address > last_address || size > last_address - address) {
    return -1;
  }
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
  DriverFile& file = self(base);
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

/// HDF5 takes no driver without.
herr_t refuse_to_write(H5FD_t* /*file*/, H5FD_mem_t /*type*/, hid_t /*transfer*/,
                       haddr_t /*address*/, size_t /*size*/, const void* /*buffer*/)
{
  return -1;
}

herr_t truncate(H5FD_t* base, hid_t /*transfer*/, hbool_t /*closing*/)
{
  DriverFile& file = self(base);
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
  driver.maxaddr = last_address;
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

[[nodiscard]] H5FD_class_t input_class()
{
  H5FD_class_t driver = driver_class();
  driver.name = "torsowave_input";
  driver.fapl_size = 0;
  driver.open = &open_to_read;
  driver.query = &query_input;
  driver.write = &refuse_to_write;
  driver.truncate = nullptr;
  return driver;
}

/// Both are registered once; HDF5 drops them at the end of the process.
[[nodiscard]] hid_t input_id()
{
  static const H5FD_class_t driver = input_class();
  static const hid_t id = check(H5FDregister(&driver), "H5FDregister");
  return id;
}

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

File open_input(const std::filesystem::path& path)
{
  const PropertyList access(H5Pcreate(H5P_FILE_ACCESS), "H5Pcreate");
  check(H5Pset_driver(access.id(), input_id(), nullptr), "H5Pset_driver");
  return {H5Fopen(path.c_str(), H5F_ACC_RDONLY, access.id()),
          "H5Fopen of " + path.string()};
}

}  // namespace torsowave::postproc::hdf5
