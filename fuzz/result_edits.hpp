/// \file
/// \brief A result.h5 that HDF5 finds in order, but that does not hold what it should.

#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "fuzz/input.hpp"

namespace torsowave::fuzz {

/// Paths in a file: "/grid/x", and "/grid@cell_m" for an attribute.
[[nodiscard]] std::vector<std::string> places_in(const std::filesystem::path& file);

/// Removes what `input` chooses, or puts another thing in its place: another type, shape
/// or value.
void edit_places(const std::filesystem::path& file,
                 const std::vector<std::string>& places, Input& input);

}  // namespace torsowave::fuzz
