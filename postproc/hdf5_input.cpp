#include "postproc/hdf5_input.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <iterator>
#include <limits>
#include <memory>

namespace torsowave::postproc::hdf5 {
namespace {

/// HDF5 knows a file by its first member.
struct InputFile {
  H5FD_t base;
  int descriptor;
  haddr_t end_of_addresses;
  haddr_t end_of_file;
};

[[nodiscard]] InputFile& self(H5FD_t* file)
{
  return *reinterpret_cast<InputFile*>(file);
}

[[nodiscard]] const InputFile& self(const H5FD_t* file)
{
  return *reinterpret_cast<const InputFile*>(file);
}

H5FD_t* open(const char* name, unsigned /*flags*/, hid_t /*access*/,
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
  auto file = std::make_unique<InputFile>();
  file->descriptor = descriptor;
  file->end_of_file = static_cast<haddr_t>(about.st_size);
  return &file.release()->base;
}

herr_t close(H5FD_t* base)
{
  const std::unique_ptr<InputFile> file(&self(base));
  ::close(file->descriptor);
  return 0;
}

herr_t query(const H5FD_t* /*file*/, unsigned long* flags)
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

/// Bytes beyond the end read as zero, as in HDF5's own driver.
herr_t read(H5FD_t* base, H5FD_mem_t /*type*/, hid_t /*transfer*/, haddr_t address,
            size_t size, void* buffer)
{
  constexpr auto last = static_cast<haddr_t>(std::numeric_limits<off_t>::max());
  if (address > last || size > last - address) {
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
      return -1;
    }
    const auto done = static_cast<size_t>(std::max<ssize_t>(count, 0));
    to += done;
    offset += static_cast<off_t>(done);
    size -= done;
  }
  return 0;
}

/// HDF5 takes no driver without.
herr_t write(H5FD_t* /*file*/, H5FD_mem_t /*type*/, hid_t /*transfer*/,
             haddr_t /*address*/, size_t /*size*/, const void* /*buffer*/)
{
  return -1;
}

[[nodiscard]] H5FD_class_t driver_class()
{
  H5FD_class_t driver{};
  driver.name = "torsowave_input";
  driver.maxaddr = static_cast<haddr_t>(std::numeric_limits<off_t>::max());
  driver.fc_degree = H5F_CLOSE_WEAK;
  driver.open = &open;
  driver.close = &close;
  driver.query = &query;
  driver.get_eoa = &end_of_addresses;
  driver.set_eoa = &set_end_of_addresses;
  driver.get_eof = &end_of_file;
  driver.read = &read;
  driver.write = &write;
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

File open_input(const std::filesystem::path& path)
{
  const PropertyList access(H5Pcreate(H5P_FILE_ACCESS), "H5Pcreate");
  check(H5Pset_driver(access.id(), driver_id(), nullptr), "H5Pset_driver");
  return {H5Fopen(path.c_str(), H5F_ACC_RDONLY, access.id()),
          "H5Fopen of " + path.string()};
}

}  // namespace torsowave::postproc::hdf5
