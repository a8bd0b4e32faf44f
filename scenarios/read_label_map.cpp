#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <map>
#include <system_error>

#include "scenarios/label_image.hpp"
#include "scenarios/label_map.hpp"
#include "scenarios/message_text.hpp"
#include "scenarios/sections.hpp"

namespace torsowave::scenarios {
namespace {

constexpr std::size_t most_labels = 65'536;
constexpr int default_small_part = 3;
constexpr double least_pixel = 1e-9;  // [m]: far above the rounding of a place

/// The keys of a map as they are written.
struct MapKeys {
  LabelSource source;
  bool relative = false;
  std::optional<std::array<double, 2>> pixel;  ///< [m]
  geometry::Resampling resampling = geometry::Resampling::fractions;
  bool left_right = false;
  bool front_back = false;
  std::optional<LabelCrop> crop;
  std::optional<geometry::Point> center;  ///< empty: the file's coordinates
  int small_part = default_small_part;
  std::map<std::int32_t, std::string> tissues;  ///< by label
  bool with_colours = false;
};

/// "slice.h5:/labels" names an array within a file.
void read_file(const Value& value, const std::filesystem::path& folder, MapKeys& keys)
{
  const auto text = value.text("the path of a file");
  if (!text) {
    return;
  }
  const std::size_t cut = text->rfind(":/");
  const std::string name = text->substr(0, cut);
  keys.source.inside = cut == std::string::npos ? "" : text->substr(cut + 1);
  keys.relative = std::filesystem::path(name).is_relative();
  keys.source.file = found_map_file(folder, name);
  std::error_code error;
  if (!std::filesystem::is_regular_file(keys.source.file, error)) {
    value.fault(fmt::format("no such file: {}; write a path relative to the scenario",
                            in_quotes(keys.source.file.string())));
  } else if (keys.source.inside.empty() && name.ends_with(".h5")) {
    value.fault(fmt::format("names no array in the file; write e.g. {}:/labels", name));
  }
}

void read_pixel(const Value& value, MapKeys& keys)
{
  if (!value) {
    return;
  }
  if (value.kind() != Node::Kind::sequence) {
    if (const auto size = value.quantity(Dimension::length, positive_length)) {
      keys.pixel = {*size, *size};
    }
    return;
  }
  const auto items = value.items("a length, or a list of two: width and height", 2, 2);
  if (!items) {
    return;
  }
  const auto width = (*items)[0].quantity(Dimension::length, positive_length);
  const auto height = (*items)[1].quantity(Dimension::length, positive_length);
  if (width && height) {
    keys.pixel = {*width, *height};
  }
}

[[nodiscard]] std::array<int, 2> read_range(const Value& value)
{
  const auto items =
      value.items("a list of the first and the last, e.g. [20, 480]", 2, 2);
  if (!items) {
    return {};
  }
  const int first = (*items)[0].integer(0, max_map_side).value_or(0);
  const int last = (*items)[1].integer(0, max_map_side).value_or(max_map_side);
  if (first > last) {
    value.fault("the first is larger than the last; exchange them");
  }
  return {first, last};
}

void read_crop(const Value& value, MapKeys& keys)
{
  if (!value) {
    return;
  }
  Section section(value);
  LabelCrop crop;
  crop.columns = read_range(section.require("columns", "[20, 480]"));
  crop.rows = read_range(section.require("rows", "[20, 480]"));
  section.reject_others();
  keys.crop = crop;
}

void read_center(const Value& value, MapKeys& keys)
{
  keys.center = geometry::Point{};
  if (!value) {
    return;
  }
  if (value.kind() == Node::Kind::scalar && value.node()->text == "file") {
    keys.center = std::nullopt;
  } else {
    assign(keys.center, read_point(value));
  }
}

/// A whole number, or a colour #rrggbb.
[[nodiscard]] std::optional<std::int32_t> parse_label(const std::string& text,
                                                      bool& is_colour)
{
  is_colour = text.starts_with('#');
  const char* begin = text.data() + (is_colour ? 1 : 0);
  const char* end = text.data() + text.size();
  std::int32_t label = 0;
  const auto parsed = std::from_chars(begin, end, label, is_colour ? 16 : 10);
  const bool whole = parsed.ec == std::errc() && parsed.ptr == end;
  constexpr std::size_t colour_length = 7;
  return whole && (!is_colour || (text.size() == colour_length && label >= 0))
             ? std::optional{label}
             : std::nullopt;
}

void read_tissues(const Value& value, const TissueNames& names, MapKeys& keys)
{
  if (!value) {
    return;
  }
  bool with_numbers = false;
  for (const auto& [key, tissue] : Section(value).all()) {
    bool is_colour = false;
    const auto label = parse_label(key, is_colour);
    if (!label) {
      tissue.fault(
          fmt::format("{} is no label; accepted: whole numbers, or colours "
                      "\"#rrggbb\" (in quotes)",
                      in_quotes(key)));
      continue;
    }
    keys.with_colours = keys.with_colours || is_colour;
    with_numbers = with_numbers || !is_colour;
    if (const auto name = names.read(tissue)) {
      keys.tissues[*label] = *name;
    }
  }
  if (keys.with_colours && with_numbers) {
    value.fault("has numbers and colours; write one kind of label");
  }
}

void read_flip(const Value& value, MapKeys& keys)
{
  const auto flip = value.word({"none", "x", "y", "both"});
  keys.left_right = flip == "x" || flip == "both";
  keys.front_back = flip == "y" || flip == "both";
}

[[nodiscard]] MapKeys read_keys(Section& section, const TissueNames& names,
                                const std::filesystem::path& folder)
{
  MapKeys keys;
  read_file(section.require("file", "slice.png"), folder, keys);
  read_pixel(section.get("pixel"), keys);
  assign(keys.source.slice, section.get("slice").integer(0, 32'767));
  assign(keys.source.axis,
         section.get("axis").choice<SliceAxis>(
             {{"x", SliceAxis::x}, {"y", SliceAxis::y}, {"z", SliceAxis::z}}));
  assign(keys.resampling, section.get("resampling")
                              .choice<geometry::Resampling>(
                                  {{"fractions", geometry::Resampling::fractions},
                                   {"nearest", geometry::Resampling::nearest}}));
  read_flip(section.get("flip"), keys);
  read_crop(section.get("crop"), keys);
  read_center(section.get("center"), keys);
  assign(keys.small_part, section.get("small_part").integer(0, 1'000'000));
  read_tissues(section.get("tissues"), names, keys);
  section.reject_others();
  return keys;
}

/// Reads the file's slice, as the keys want it turned and cut.
[[nodiscard]] std::optional<LabelImage> read_image(Section& section, const MapKeys& keys)
{
  LabelImage image;
  try {
    image = read_label_image(keys.source);
  } catch (const LabelFileError& error) {
    const Value at = section.get(error.key());
    (at ? at : section.get("file"))
        .fault(error.key() == "file"
                   ? fmt::format("{} {}", keys.source.file.string(), error.what())
                   : fmt::format("{}{}", at ? "" : error.key() + " ", error.what()));
    return std::nullopt;
  }
  mirror(image, keys.left_right, keys.front_back);
  if (keys.crop &&
      (keys.crop->columns[1] >= image.nx || keys.crop->rows[1] >= image.ny)) {
    section.get("crop").fault(
        fmt::format("reaches beyond the map, which has columns 0 to {} and rows 0 to {}",
                    image.nx - 1, image.ny - 1));
    return std::nullopt;
  }
  return image;
}

/// Size of the pixels [m]: as written, else as the file says.
[[nodiscard]] std::optional<std::array<double, 2>> pixel_of(Section& section,
                                                            const MapKeys& keys,
                                                            LabelImage& image)
{
  constexpr double alike = 1e-3;
  const std::array<double, 2> in_file{image.pixel_x, image.pixel_y};
  const bool known = positive_length.max >= std::max(in_file[0], in_file[1]) &&
                     in_file[0] > 0.0 && in_file[1] > 0.0;
  if (!keys.pixel && !known) {
    static_cast<void>(section.require("pixel", "1 mm"));
    return std::nullopt;
  }
  const std::array<double, 2> size = keys.pixel.value_or(in_file);
  if (std::min(size[0], size[1]) < least_pixel) {
    section.get(keys.pixel ? "pixel" : "file")
        .fault(
            fmt::format("has pixels of {:.3g} x {:.3g} mm; accepted are pixels of 1 nm "
                        "or more",
                        1e3 * size[0], 1e3 * size[1]));
    return std::nullopt;
  }
  if (known && (std::abs(size[0] / in_file[0] - 1.0) > alike ||
                std::abs(size[1] / in_file[1] - 1.0) > alike)) {
    image.notes.push_back(
        fmt::format("the file's pixels are {:.4g} x {:.4g} mm; the "
                    "scenario's pixel of {:.4g} x {:.4g} mm goes first",
                    1e3 * in_file[0], 1e3 * in_file[1], 1e3 * size[0], 1e3 * size[1]));
  }
  if (size[0] * image.nx > max_length || size[1] * image.ny > max_length) {
    section.get("file").fault(
        fmt::format("the map would be {:.4g} x {:.4g} m; at most 100 "
                    "m are accepted: make pixel smaller",
                    size[0] * image.nx, size[1] * image.ny));
    return std::nullopt;
  }
  return size;
}

/// "7 (spleen?): 120 pixels" for each, the first of many.
[[nodiscard]] std::string list_unmapped(const std::vector<LabelCount>& unmapped,
                                        const LabelImage& image)
{
  constexpr std::size_t most_listed = 40;
  std::string text;
  for (std::size_t n = 0; n < std::min(unmapped.size(), most_listed); ++n) {
    const auto& [label, pixels] = unmapped[n];
    const auto name = image.names.find(label);
    text += fmt::format(
        "{}{}{}: {} pixel{}", n == 0 ? "" : ", ", label_text(label, image.colour),
        name == image.names.end() ? "" : fmt::format(" ({})", printable(name->second)),
        pixels, pixels == 1 ? "" : "s");
  }
  return text + (unmapped.size() > most_listed
                     ? fmt::format(" and {} more", unmapped.size() - most_listed)
                     : "");
}

/// The tissue of each label that occurs.
[[nodiscard]] std::optional<std::vector<std::string>> tissues_of(
    Section& section, const MapKeys& keys, const TissueNames& names,
    const LabelImage& image, const std::vector<LabelCount>& counts)
{
  std::vector<std::string> tissues;
  std::vector<LabelCount> unmapped;
  for (const LabelCount& count : counts) {
    const auto written = keys.tissues.find(count.label);
    const auto named = image.names.find(count.label);
    if (written != keys.tissues.end() && image.colour == keys.with_colours) {
      tissues.push_back(written->second);
    } else if (named != image.names.end() && names.is_known(named->second)) {
      tissues.push_back(named->second);
    } else {
      unmapped.push_back(count);
    }
  }
  if (unmapped.empty()) {
    return tissues;
  }
  const Value at = section.get("tissues");
  (at ? at : section.get("file"))
      .fault(fmt::format("{} of the map have no tissue: {}; write tissues: {{{}: muscle, "
                         "...}}",
                         image.colour ? "colours" : "labels",
                         list_unmapped(unmapped, image),
                         fmt::format("{0}{1}{0}", image.colour ? "\"" : "",
                                     label_text(unmapped.front().label, image.colour))));
  return std::nullopt;
}

/// Lower left corner of the map that is left [m].
[[nodiscard]] std::optional<geometry::Point> corner_of(Section& section,
                                                       const MapKeys& keys,
                                                       const LabelImage& image,
                                                       std::array<double, 2> pixel)
{
  if (keys.center) {
    return geometry::Point{keys.center->x - 0.5 * image.nx * pixel[0],
                           keys.center->y - 0.5 * image.ny * pixel[1]};
  }
  if (!image.corner) {
    section.get("center").fault(
        "the file tells no coordinates; write a point, e.g. [0 mm, 0 mm]");
    return std::nullopt;
  }
  const std::array<int, 2> first =
      keys.crop ? std::array{keys.crop->columns[0], keys.crop->rows[0]}
                : std::array{0, 0};
  const geometry::Point corner{image.corner->x + first[0] * pixel[0],
                               image.corner->y + first[1] * pixel[1]};
  if (!(std::max(std::abs(corner.x), std::abs(corner.y)) <= max_length)) {
    section.get("center").fault("the file's coordinates are beyond 100 m; write a point");
    return std::nullopt;
  }
  return corner;
}

void note_parts(LabelMapSpec& spec)
{
  for (const geometry::TissueParts& tissue : spec.parts.tissues) {
    if (tissue.small > 0) {
      spec.notes.push_back(fmt::format(
          "label map: {} of {} parts of {} have fewer than {} pixels ({} in all)",
          tissue.small, tissue.parts, tissue.tissue, spec.small_part,
          tissue.small_pixels));
    }
  }
  if (spec.parts.small_holes > 0) {
    spec.notes.push_back(
        fmt::format("label map: {} of {} holes in the body have fewer "
                    "than {} pixels",
                    spec.parts.small_holes, spec.parts.holes, spec.small_part));
  }
}

/// All that is left once the file is read.
[[nodiscard]] std::optional<LabelMapSpec> build_map(Section& section, const MapKeys& keys,
                                                    const TissueNames& names,
                                                    const std::string& background,
                                                    LabelImage& image)
{
  const auto pixel = pixel_of(section, keys, image);
  if (keys.crop) {
    crop(image, *keys.crop);
  }
  choose_colour(image, keys.with_colours);
  const auto counts = count_labels(image, most_labels);
  if (!counts) {
    section.get("file").fault(fmt::format(
        "has more than {} different labels; is it a label map?", most_labels));
    return std::nullopt;
  }
  const auto tissues = tissues_of(section, keys, names, image, *counts);
  if (!pixel || !tissues) {
    return std::nullopt;
  }
  const auto corner = corner_of(section, keys, image, *pixel);
  if (!corner) {
    return std::nullopt;
  }
  geometry::LabelGrid grid = grid_of(image, *counts, *tissues);
  grid.resampling = keys.resampling;
  if (!place_grid(grid, *pixel, *corner, background)) {
    section.get("file").fault(fmt::format(
        "every pixel is {}, the background; there is no body", in_quotes(background)));
    return std::nullopt;
  }
  LabelMapSpec spec;
  spec.file = keys.source.file;
  spec.relative = keys.relative;
  spec.small_part = static_cast<std::size_t>(keys.small_part);
  for (std::size_t n = 0; n < counts->size(); ++n) {
    spec.labels.push_back({label_text((*counts)[n].label, image.colour), (*tissues)[n],
                           (*counts)[n].pixels});
  }
  for (const std::string& note : image.notes) {
    spec.notes.push_back("label map: " + note);
  }
  if (keys.small_part > 0) {
    spec.parts = geometry::label_parts(grid, background, spec.small_part);
    note_parts(spec);
  }
  spec.grid = std::make_shared<const geometry::LabelGrid>(std::move(grid));
  return spec;
}

}  // namespace

std::optional<LabelMapSpec> read_label_map(const Value& value, const TissueNames& names,
                                           const std::string& background,
                                           const std::filesystem::path& folder)
{
  Section section(value);
  if (!section) {
    return std::nullopt;
  }
  MapKeys keys;
  if (!value.reading().sound([&] { keys = read_keys(section, names, folder); })) {
    return std::nullopt;
  }
  auto image = read_image(section, keys);
  return image ? build_map(section, keys, names, background, *image) : std::nullopt;
}

}  // namespace torsowave::scenarios
