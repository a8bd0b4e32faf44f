/// \file
/// \brief The groups of result.h5, one function each; what a result leaves empty is
/// absent.
///
/// Every group brings its own coordinates, since a reader that opens one group alone sees
/// only those. Functions throw WriteError if HDF5 fails, std::invalid_argument if the
/// sizes of a result do not agree. What needs more than a line to be read back is read
/// beside where it is written; stored_result.cpp reads the rest.

#pragma once

#include <span>

#include "postproc/hdf5_write.hpp"
#include "postproc/result.hpp"

namespace torsowave::postproc::hdf5 {

/// Coordinates "x" and "y" of cell centres [m], taking every stride-th.
struct PlaneAxes {
  Axis y;
  Axis x;
};
[[nodiscard]] PlaneAxes write_plane(hid_t group, const GridInfo& grid, int stride = 1);

/// The frequencies of a result as the coordinate "frequency" [Hz].
[[nodiscard]] Axis write_frequency(hid_t group, const Result& result);

void write_root_attributes(hid_t file, const Result& result);
void write_run(hid_t file, const Result& result);
void write_grid(hid_t file, const GridInfo& grid);
void write_tissue(hid_t file, const Result& result);
void write_phasors(hid_t file, const Result& result);
void write_sar(hid_t file, const Result& result);
void write_sar_peaks(hid_t file, const Result& result);
void write_surface(hid_t file, const Result& result);
void write_far_field(hid_t file, const Result& result);
void write_antenna_gain(hid_t file, const Result& result);
void write_powers(hid_t file, const Result& result);
void write_probes(hid_t file, const Result& result);
void write_energy(hid_t file, const EnergyTrace& energy);
void write_layers(hid_t file, const Result& result);
void write_refinement(hid_t file, const Result& result);

/// Into a result whose frequencies are there; nothing where the file has no such group.
/// \throws ReadError  \see hdf5_read.hpp
void read_far_field(hid_t file, Result& result);
void read_sar_peaks(hid_t file, Result& result);
void read_antenna_gain(hid_t file, Result& result);  ///< after read_far_field()
void read_probes(hid_t file, Result& result);
void read_layers(hid_t file, Result& result);

}  // namespace torsowave::postproc::hdf5
