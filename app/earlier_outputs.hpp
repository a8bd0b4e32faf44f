/// \file
/// \brief What an earlier answer left in a folder, and what becomes of it.

#pragma once

#include <filesystem>
#include <functional>
#include <string>
#include <string_view>

namespace torsowave::app {

/// \param mark  the file that every answer of the kind has
/// \param what  the folder then holds, for the message: "a result"
/// \throws scenarios::InputError  The folder holds one already; an empty folder: never.
void refuse_to_replace(const std::filesystem::path& folder, std::string_view mark,
                       std::string_view what);

/// Whether a name is that of a PNG file that begins like this, for remove_earlier().
[[nodiscard]] std::function<bool(const std::string& name)> png_named(std::string begin);

/// Removes those files of an earlier answer that the new one might not replace: they
/// would show another scenario.
/// \param mark  nothing is removed without it
/// \throws postproc::WriteError
void remove_earlier(const std::filesystem::path& folder, std::string_view mark,
                    const std::function<bool(const std::string& name)>& belongs);

/// What tells viewers where in result.h5 the fields are; not every result has it.
inline constexpr std::string_view viewer_file = "result.xdmf";

/// Of an earlier run: pictures, those that `render` drew too, links, the file for
/// viewers, the page, the copy of a label map.
void remove_earlier_outputs(const std::filesystem::path& folder);

}  // namespace torsowave::app
