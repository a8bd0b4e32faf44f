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

/// Mode 1D: one length, with or without brackets.
std::optional<std::array<double, 2>> read_length(const Value& value)
{
  std::optional<double> length;
  if (value && value.kind() == Node::Kind::sequence) {
    const auto items = value.items("one length in mode 1D, e.g. 80 mm or [80 mm]", 1, 1);
    length = items ? items->front().quantity(Dimension::length, positive_length)
                   : std::nullopt;
  } else {
    length = value.quantity(Dimension::length, positive_length);
  }
  return length ? std::optional{std::array{*length, 0.0}} : std::nullopt;
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

void read_extent(Section& section, Mode mode, GridSpec& grid)
{
  static_cast<void>(section.exactly_one({"size", "margin"}));
  const Value size = section.get("size");
  const bool one_d = mode == Mode::one_d;
  grid.size = one_d ? read_length(size) : read_size(size);
  grid.margin = section.get("margin").quantity(Dimension::length, positive_length);
  if (!grid.size || !grid.cell) {
    return;
  }
  const auto [width, height] = *grid.size;
  if ((one_d ? width : std::min(width, height)) < *grid.cell) {
    size.fault("is smaller than one cell; write a larger size or a smaller grid.cell");
  }
}

}  // namespace

GridSpec read_grid(const Value& value, Mode mode)
{
  GridSpec grid;
  Section section(value);
  read_cell(section, grid);
  read_extent(section, mode, grid);
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
