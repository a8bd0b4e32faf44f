#include "postproc/table_file.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstdint>
#include <stdexcept>

#include "postproc/hdf5_output.hpp"
#include "postproc/hdf5_write.hpp"
#include "postproc/result.hpp"

namespace torsowave::postproc {
namespace {

constexpr std::int64_t format_version = 1;

void write_attributes(hid_t file, const Table& table)
{
  using hdf5::write_attribute;
  hdf5::write_head(file, table.title, "torsowave-table", format_version);
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
  hdf5::write_file(path, [&](hid_t file) {
    write_attributes(file, table);
    write_columns(file, table);
  });
}

}  // namespace torsowave::postproc
