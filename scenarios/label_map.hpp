/// \file
/// \brief A body given as a label map: what its labels mean, and its pixels as tissues.

#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "geometry/label_grid.hpp"
#include "geometry/label_parts.hpp"
#include "geometry/points.hpp"

namespace torsowave::scenarios {

struct LabelImage;

/// A label that the map has.
struct MappedLabel {
  std::string label;  ///< "3", or a colour "#c86450"
  std::string tissue;
  std::size_t pixels = 0;
};

/// A label map, read and checked. Its pixels are the body's first shape.
struct LabelMapSpec {
  std::filesystem::path file;       ///< without the path of an array in it
  bool relative = false;            ///< the scenario names it relative to its folder
  std::vector<MappedLabel> labels;  ///< ascending
  std::shared_ptr<const geometry::LabelGrid> grid;
  geometry::LabelParts parts;      ///< empty if not asked for
  std::size_t small_part = 0;      ///< pixels below which a part counts as small
  std::vector<std::string> notes;  ///< what was assumed, what is worth a look
};

/// Columns and rows to keep, counted from 0 at the lower left corner, both included.
struct LabelCrop {
  std::array<int, 2> columns{};
  std::array<int, 2> rows{};
};

/// "3", or "#c86450" of a colour.
[[nodiscard]] std::string label_text(std::int32_t label, bool colour);

/// Turns a picture's colours into grey values or the other way, as the labels that are
/// asked for want it. \param with_colours  some of them are colours
void choose_colour(LabelImage& image, bool with_colours);

void mirror(LabelImage& image, bool left_right, bool front_back);

/// \pre The crop lies within the image.
void crop(LabelImage& image, const LabelCrop& part);

/// How often each label occurs, ascending; none if there are more than `most`.
struct LabelCount {
  std::int32_t label = 0;
  std::size_t pixels = 0;
};
[[nodiscard]] std::optional<std::vector<LabelCount>> count_labels(const LabelImage& image,
                                                                  std::size_t most);

/// The image's pixels as tissues. \param counts  labels that occur, ascending;
/// \param tissues  theirs, in that order; the grid has neither place nor size yet.
[[nodiscard]] geometry::LabelGrid grid_of(const LabelImage& image,
                                          const std::vector<LabelCount>& counts,
                                          const std::vector<std::string>& tissues);

/// Sets size and place of the pixels, and the rectangle of what is not background.
/// \return  false if there is nothing but background
[[nodiscard]] bool place_grid(geometry::LabelGrid& grid, std::array<double, 2> pixel,
                              geometry::Point corner, std::string_view background);

/// Where a relative file of a label map is: a copy that a run has left beside its
/// scenario (label_map.source and the file's extension), or the file itself.
[[nodiscard]] std::filesystem::path found_map_file(const std::filesystem::path& folder,
                                                   const std::string& name);

/// The name of that copy.
[[nodiscard]] std::string map_copy_name(const std::filesystem::path& file);

}  // namespace torsowave::scenarios
