/// \file
/// \brief The texts of an HDF5 file, checked before HDF5 follows them.

#pragma once

#include <hdf5.h>

#include <cstddef>
#include <filesystem>
#include <string>

namespace torsowave::postproc::hdf5 {

/// Texts of any length stand in collections of the global heap, which carry no check sum
/// (The HDF Group, HDF5 File Format Specification version 3.0, section III.E; from
/// memory). HDF5 1.10 trusts the sizes in them: an unused piece of size 0 keeps it busy
/// for ever, too large a one lets it read beyond. Looks through the whole file.
/// \throws ReadError  A collection whose pieces do not fill it.
void require_sound_heaps(hid_t file, const std::filesystem::path& path);

/// The same of what a data set of texts refers to: each text has to be a piece that is
/// there, as long as it says. HDF5 1.10 copies as many bytes as the piece has, whatever
/// the length of the text.
/// \param count  of texts
/// \throws ReadError  Also where texts are stored in chunks that are not compressed.
void require_sound_texts(hid_t dataset, const std::string& name, std::size_t count);

}  // namespace torsowave::postproc::hdf5
