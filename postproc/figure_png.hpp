/// \file
/// \brief A picture as PNG (ISO/IEC 15948), in memory or as a file.

#pragma once

#include <filesystem>
#include <string>

#include "postproc/canvas.hpp"

namespace torsowave::postproc {

/// The bytes of a PNG file: 8-bit RGB, without alpha, with the picture's resolution if it
/// has one.
/// \throws std::bad_alloc
[[nodiscard]] std::string encode_png(const Canvas& canvas);

/// Writes beside the final name and renames.
/// \throws WriteError
void write_png(const Canvas& canvas, const std::filesystem::path& path);

}  // namespace torsowave::postproc
