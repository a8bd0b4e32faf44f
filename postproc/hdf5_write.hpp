/// \file
/// \brief Labelled arrays in HDF5, laid out so that netCDF-4 readers see dimensions.
///
/// What makes an HDF5 file readable as netCDF-4 (netCDF-4 file format specification and
/// HDF5 dimension scale specification): creation order is tracked on groups and
/// attributes; every dimension is a dimension scale in the variable's own group or one
/// above it; a compound type is committed in the file. All functions throw WriteError if
/// HDF5 fails, std::invalid_argument if sizes do not agree.

#pragma once

#include <complex>
#include <cstdint>
#include <limits>
#include <span>
#include <string>
#include <vector>

#include "postproc/hdf5_handle.hpp"

namespace torsowave::postproc::hdf5 {

/// Stands in tables where a value is not there, as null does in JSON.
inline constexpr double missing = std::numeric_limits<double>::quiet_NaN();

/// What every variable says about itself.
struct Description {
  std::string units;  ///< readable by udunits; "1" for pure numbers, "" for names
  std::string long_name;
};

/// A dimension: a one-dimensional variable that is its scale.
struct Axis {
  Dataset scale;
  hsize_t size = 0;
  bool unlimited = false;
};

/// The dimensions of a variable, slowest first.
using Axes = std::vector<const Axis*>;

/// \param access  file access properties; the format version is set here
[[nodiscard]] File create_file(const std::string& path, const PropertyList& access);
[[nodiscard]] Group create_group(hid_t parent, const std::string& name);

/// The compound {r, i} of two floats that h5py reads as complex64, committed at the
/// file's root as "complex64"; netCDF-4 readers cannot see a compound that is not.
[[nodiscard]] Type commit_complex_type(hid_t file);

void write_attribute(hid_t object, const std::string& name, const std::string& value);
void write_attribute(hid_t object, const std::string& name, double value);
void write_attribute(hid_t object, const std::string& name, std::int64_t value);
void write_attribute(hid_t object, const std::string& name,
                     std::span<const std::uint16_t> values);
void write_attribute(hid_t object, const std::string& name,
                     std::span<const double> values);

/// Creates a variable without values. With two axes or more, or a growing one, it is
/// stored compressed, one chunk for each index of the first axis.
[[nodiscard]] Dataset create_variable(hid_t group, const std::string& name, hid_t type,
                                      const Axes& axes, const Description& description);

/// Creates a coordinate that grows as values come; it starts empty. [values: double]
[[nodiscard]] Axis create_unlimited_axis(hid_t group, const std::string& name,
                                         const Description& description);

/// Appends one value to a growing coordinate.
void append_coordinate(Axis& axis, double value);

/// Appends one frame to a variable whose first axis has just grown by one.
void append_frame(hid_t variable, const Axes& axes, std::span<const float> values);

/// Coordinate variables.
[[nodiscard]] Axis write_axis(hid_t group, const std::string& name,
                              std::span<const double> values,
                              const Description& description);
[[nodiscard]] Axis write_axis(hid_t group, const std::string& name,
                              const std::vector<std::string>& values,
                              const Description& description);

/// Data variables; no axes make a scalar.
Dataset write_variable(hid_t group, const std::string& name,
                       std::span<const double> values, const Axes& axes,
                       const Description& description);
Dataset write_variable(hid_t group, const std::string& name,
                       std::span<const float> values, const Axes& axes,
                       const Description& description);
Dataset write_variable(hid_t group, const std::string& name,
                       std::span<const std::uint16_t> values, const Axes& axes,
                       const Description& description);
Dataset write_variable(hid_t group, const std::string& name,
                       const std::vector<std::string>& values, const Axes& axes,
                       const Description& description);

/// \param type  from commit_complex_type()
Dataset write_variable(hid_t group, const std::string& name, hid_t type,
                       std::span<const std::complex<float>> values, const Axes& axes,
                       const Description& description);

}  // namespace torsowave::postproc::hdf5
