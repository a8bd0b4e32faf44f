/// \file
/// \brief What an earlier result left in a folder.

#pragma once

#include <filesystem>

namespace torsowave::app {

/// Removes pictures, those that `render` drew too, and links of an earlier result: what
/// the new one does not replace would show another scenario.
void remove_earlier_outputs(const std::filesystem::path& folder);

}  // namespace torsowave::app
