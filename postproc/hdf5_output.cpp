#include "postproc/hdf5_output.hpp"

#include <fmt/format.h>

#include <system_error>
#include <utility>

#include "postproc/hdf5_write.hpp"
#include "postproc/version.hpp"

namespace torsowave::postproc::hdf5 {

OutputFile::OutputFile(std::filesystem::path path) : part_(std::move(path))
{
  write([this] { file_ = create_file(part_.path().string(), output_access(status_)); });
}

OutputFile::~OutputFile()
{
  const QuietErrors quiet;
  file_ = File();
}

void OutputFile::write(const std::function<void()>& work)
{
  const QuietErrors quiet;
  try {
    work();
  } catch (const WriteError& error) {
    require_written();
    fail(error.what());
  }
  require_written();
}

void OutputFile::commit()
{
  write([this] { file_.close("H5Fclose"); });
  part_.commit();
}

void OutputFile::fail(const std::string& reason) const
{
  throw WriteError(fmt::format("cannot write {}: {}", path().string(), reason));
}

void OutputFile::require_written() const
{
  if (status_.error != 0) {
    fail(std::generic_category().message(status_.error));
  }
}

void write_head(hid_t file, const std::string& title, const std::string& format,
                std::int64_t format_version)
{
  write_attribute(file, "title", title);
  write_attribute(file, "Conventions", std::string("CF-1.8"));
  write_attribute(file, "format", format);
  write_attribute(file, "format_version", format_version);
  write_attribute(file, "tool_version", std::string(tool_version()));
  write_attribute(file, "tool_revision", std::string(tool_revision()));
}

void write_file(const std::filesystem::path& path,
                const std::function<void(hid_t file)>& fill)
{
  OutputFile file(path);
  file.write([&] { fill(file.id()); });
  file.commit();
}

}  // namespace torsowave::postproc::hdf5
