/// \file
/// \brief Files of label maps whose packing and check sums are right, whatever is in
/// them.

#pragma once

#include <filesystem>
#include <span>
#include <string>

#include "fuzz/input.hpp"

namespace torsowave::fuzz {

/// A PNG: width, height, depth, colour type, interlacing, number of colours and of
/// transparent ones (one byte each), then those, then the rows as they are before they
/// are packed.
[[nodiscard]] Bytes packed_png(std::span<const std::uint8_t> bytes);

/// In the format of gzip.
[[nodiscard]] Bytes gzipped(std::span<const std::uint8_t> bytes);

/// An HDF5 file with arrays of labels, names and coordinates, and in it what `bytes`
/// asks for changed. \return  path of one of the arrays, which may be gone
[[nodiscard]] std::string write_label_arrays(const std::filesystem::path& file,
                                             std::span<const std::uint8_t> bytes);

}  // namespace torsowave::fuzz
