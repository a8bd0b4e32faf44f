#include "postproc/table_file.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstdint>
#include <stdexcept>
#include <system_error>

#include "postproc/atomic_file.hpp"
#include "postproc/hdf5_driver.hpp"
#include "postproc/hdf5_write.hpp"
#include "postproc/result.hpp"
#include "postproc/version.hpp"

namespace torsowave::postproc {
namespace {

constexpr std::int64_t format_version = 1;

void write_attributes(hid_t file, const Table& table)
{
  using hdf5::write_attribute;
  write_attribute(file, "title", table.title);
  write_attribute(file, "Conventions", std::string("CF-1.8"));
  write_attribute(file, "format", std::string("torsowave-table"));
  write_attribute(file, "format_version", format_version);
  write_attribute(file, "tool_version", std::string(tool_version()));
  write_attribute(file, "tool_revision", std::string(tool_revision()));
  write_attribute(file, "caution", std::string(caution));
}

void write_columns(hid_t file, const Table& table)
{
  std::vector<double> number;
  for (std::size_t r = 0; r < table.rows; ++r) {
    number.push_back(static_cast<double>(r));
  }
  const hdf5::Axis row =
      hdf5::write_axis(file, "row", number, {"1", "row of the table, from 0"});
  for (const TableColumn& column : table.columns) {
    const hdf5::Description description{column.unit, column.long_name};
    if (column.is_text()) {
      hdf5::write_variable(file, column.name, column.texts, {&row}, description);
    } else {
      hdf5::write_variable(file, column.name, column.numbers, {&row}, description);
    }
  }
}

}  // namespace

const TableColumn* Table::find(const std::string& name) const
{
  const auto found = std::ranges::find(columns, name, &TableColumn::name);
  return found == columns.end() ? nullptr : &*found;
}

void write_table(const std::filesystem::path& path, const Table& table)
{
  PartFile part(path);
  const hdf5::QuietErrors quiet;
  hdf5::OutputStatus status;
  const auto fail = [&](const std::string& reason) {
    throw WriteError(fmt::format(
        "cannot write {}: {}", path.string(),
        status.error != 0 ? std::generic_category().message(status.error) : reason));
  };
  try {
    hdf5::File file =
        hdf5::create_file(part.path().string(), hdf5::output_access(status));
    write_attributes(file.id(), table);
    write_columns(file.id(), table);
    file.close("H5Fclose");
  } catch (const WriteError& error) {
    fail(error.what());
  }
  if (status.error != 0) {
    fail("");
  }
  part.commit();
}

}  // namespace torsowave::postproc
