#include <algorithm>
#include <array>

#include "scenarios/sections.hpp"

namespace torsowave::scenarios {
namespace {

constexpr double fine_enough = 10.0;  ///< cells per wavelength

std::optional<std::array<double, 2>> read_size(const Value& value)
{
  const auto items = value.items("a list of two lengths, e.g. [460 mm, 340 mm]", 2, 2);
  if (!items) {
    return std::nullopt;
  }
  const auto width = (*items)[0].quantity(Dimension::length, positive_length);
  const auto height = (*items)[1].quantity(Dimension::length, positive_length);
  if (!width || !height) {
    return std::nullopt;
  }
  return std::array{*width, *height};
}

void read_cell(Section& section, GridSpec& grid)
{
  static_cast<void>(section.exactly_one({"cell", "cells_per_wavelength"}));
  grid.cell = section.get("cell").quantity(Dimension::length, positive_length);
  const Value sampling = section.get("cells_per_wavelength");
  grid.cells_per_wavelength =
      sampling.number({2.0, 1000.0, false, "a bare number from 2 to 1000"});
  assign(grid.allow_coarse, section.get("allow_coarse").boolean());
  if (grid.cells_per_wavelength.value_or(fine_enough) < fine_enough &&
      !grid.allow_coarse) {
    sampling.fault(
        "fewer than 10 cells per wavelength are too coarse; write 10 or more, or "
        "grid.allow_coarse: true");
  }
}

void read_extent(Section& section, GridSpec& grid)
{
  static_cast<void>(section.exactly_one({"size", "margin"}));
  const Value size = section.get("size");
  grid.size = read_size(size);
  grid.margin = section.get("margin").quantity(Dimension::length, positive_length);
  if (grid.size && grid.cell && std::min((*grid.size)[0], (*grid.size)[1]) < *grid.cell) {
    size.fault("is smaller than one cell; write a larger size or a smaller grid.cell");
  }
}

}  // namespace

GridSpec read_grid(const Value& value)
{
  GridSpec grid;
  Section section(value);
  read_cell(section, grid);
  read_extent(section, grid);
  assign(grid.absorbing_cells, section.get("absorbing_cells").integer(4, 64));
  assign(grid.courant,
         section.get("courant").number({0.0, 1.0, true, "greater than 0 and at most 1"}));
  assign(grid.precision,
         section.get("precision")
             .choice<Precision>({{"single", Precision::single_precision},
                                 {"double", Precision::double_precision}}));
  assign(grid.averaging,
         section.get("averaging")
             .choice<geometry::Averaging>({{"volume", geometry::Averaging::volume},
                                           {"none", geometry::Averaging::none}}));
  assign(grid.correct_dispersion,
         section.get("dispersion").choice<bool>({{"corrected", true}, {"plain", false}}));
  section.reject_others();
  return grid;
}

}  // namespace torsowave::scenarios
