/// \file
/// \brief What hdf5_write.hpp writes, read back with every size checked before it is
/// used.
///
/// All functions throw ReadError if an object is missing, of another type or shape than
/// it should be, or larger than the file can hold; WriteError (\see hdf5_handle.hpp) if
/// HDF5 fails. Messages name the object, not the file.

#pragma once

#include <complex>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "postproc/hdf5_handle.hpp"

namespace torsowave::postproc::hdf5 {

/// Lengths, slowest index first; none for a scalar.
using Shape = std::vector<std::size_t>;

/// Whether a group has a member; \param name  may be a path of existing groups
[[nodiscard]] bool has(hid_t group, const std::string& name);

/// Names of a group's members, in the order of their creation.
[[nodiscard]] std::vector<std::string> members(hid_t group);

[[nodiscard]] Group open_group(hid_t parent, const std::string& name);
[[nodiscard]] Dataset open_dataset(hid_t group, const std::string& name);

/// Attributes; empty where there is none of that name.
[[nodiscard]] std::optional<std::string> text_attribute(hid_t object,
                                                        const std::string& name);
[[nodiscard]] std::optional<double> number_attribute(hid_t object,
                                                     const std::string& name);
[[nodiscard]] std::optional<std::int64_t> integer_attribute(hid_t object,
                                                            const std::string& name);

/// Empty where there is none; \param most  values that are accepted
[[nodiscard]] std::vector<double> numbers_attribute(hid_t object, const std::string& name,
                                                    std::size_t most);

/// A value that has to be there. \param what  the attribute, for the message
template <class Value>
[[nodiscard]] Value required(std::optional<Value> value, const std::string& what);

/// Length of a coordinate. \param most  that is accepted
[[nodiscard]] std::size_t length_of(hid_t group, const std::string& name,
                                    std::size_t most);

/// \throws ReadError  `dataset` has another shape, or its values would fill more memory
///         than what is stored of it in the file can stand for.
void require_shape(hid_t dataset, const std::string& name, const Shape& shape,
                   std::size_t bytes_per_value);

/// Whole variables of a known shape.
[[nodiscard]] std::vector<double> read_doubles(hid_t group, const std::string& name,
                                               const Shape& shape);
/// The rows of a (row, column) variable; a row of nothing but NaN stands for none and is
/// empty, as all are where there is no such variable.
[[nodiscard]] std::vector<std::vector<double>> read_rows(hid_t group,
                                                         const std::string& name,
                                                         std::size_t rows,
                                                         std::size_t columns);
[[nodiscard]] std::vector<float> read_floats(hid_t group, const std::string& name,
                                             const Shape& shape);
[[nodiscard]] std::vector<std::uint16_t> read_labels(hid_t group, const std::string& name,
                                                     const Shape& shape);
[[nodiscard]] std::vector<std::string> read_texts(hid_t group, const std::string& name,
                                                  const Shape& shape);
[[nodiscard]] std::vector<std::complex<float>> read_complex(hid_t group,
                                                            const std::string& name,
                                                            const Shape& shape);

}  // namespace torsowave::postproc::hdf5
