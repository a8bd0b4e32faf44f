#include "postproc/table_file.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstdint>
#include <stdexcept>

#include "postproc/atomic_file.hpp"
#include "postproc/hdf5_driver.hpp"
#include "postproc/hdf5_heap.hpp"
#include "postproc/hdf5_output.hpp"
#include "postproc/hdf5_read.hpp"
#include "postproc/hdf5_write.hpp"
#include "postproc/result.hpp"

namespace torsowave::postproc {
namespace {

constexpr std::int64_t format_version = 1;
constexpr const char* format_name = "torsowave-table";

void write_attributes(hid_t file, const Table& table)
{
  using hdf5::write_attribute;
  hdf5::write_head(file, table.title, format_name, format_version);
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

/// \throws ReadError
void require_format(hid_t file)
{
  if (hdf5::text_attribute(file, "format").value_or("") != format_name) {
    throw ReadError("is no table of a sweep");
  }
  const auto version =
      hdf5::required(hdf5::integer_attribute(file, "format_version"), "format_version");
  if (version > format_version) {
    throw ReadError(
        fmt::format("has format {}, this program knows up to {}; use a newer program",
                    version, format_version));
  }
}

[[nodiscard]] Table columns_of(hid_t file)
{
  constexpr std::size_t most_rows = 100'000'000;
  Table table;
  table.title = hdf5::text_attribute(file, "title").value_or("");
  table.rows = hdf5::length_of(file, "row", most_rows);
  for (const std::string& name : hdf5::members(file)) {
    if (name == "row") {
      continue;
    }
    TableColumn column{name, "", "", {}, {}};
    {
      const hdf5::Dataset dataset = hdf5::open_dataset(file, name);
      column.unit = hdf5::text_attribute(dataset.id(), "units").value_or("");
      column.long_name = hdf5::text_attribute(dataset.id(), "long_name").value_or("");
    }
    if (column.unit.empty()) {
      column.texts = hdf5::read_texts(file, name, {table.rows});
    } else {
      column.numbers = hdf5::read_doubles(file, name, {table.rows});
    }
    table.columns.push_back(std::move(column));
  }
  return table;
}

}  // namespace

const TableColumn* Table::find(const std::string& name) const
{
  const auto found = std::ranges::find(columns, name, &TableColumn::name);
  return found == columns.end() ? nullptr : &*found;
}

Table read_table(const std::filesystem::path& path)
{
  const hdf5::QuietErrors quiet;
  try {
    const hdf5::File file = hdf5::open_input(path);
    hdf5::require_sound_heaps(file.id(), path);
    require_format(file.id());
    return columns_of(file.id());
  } catch (const ReadError& error) {
    throw ReadError(fmt::format("{}: {}", path.string(), error.what()));
  } catch (const WriteError& error) {  // what HDF5 itself could not do
    throw ReadError(
        fmt::format("{}: cannot be read as a table: {}", path.string(), error.what()));
  }
}

void write_table(const std::filesystem::path& path, const Table& table)
{
  hdf5::write_file(path, [&](hid_t file) {
    write_attributes(file, table);
    write_columns(file, table);
  });
}

}  // namespace torsowave::postproc
