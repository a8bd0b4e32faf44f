// A label map, through the scenario that names it. The first byte says what the file is,
// the next two how the scenario maps it (what is kept, turned and cut, which labels have
// a tissue); the others are the file, or what it is made of.

#include <algorithm>
#include <array>
#include <cmath>
#include <fstream>
#include <numeric>
#include <optional>

#include "fuzz/input.hpp"
#include "fuzz/label_files.hpp"
#include "geometry/tissue_map.hpp"
#include "scenarios/input_error.hpp"
#include "scenarios/reader.hpp"

namespace {

using namespace torsowave;
using scenarios::Scenario;

/// A file in place, as the scenario names it.
struct MapFile {
  std::filesystem::path path;
  std::string inside;
};

[[nodiscard]] const fuzz::ScratchFolder& folder()
{
  static const fuzz::ScratchFolder one;
  return one;
}

[[nodiscard]] MapFile write_map(unsigned kind, std::span<const std::uint8_t> bytes)
{
  const auto put = [](const char* name, std::span<const std::uint8_t> content) {
    fuzz::fill(folder() / name, content);
    return MapFile{folder() / name, ""};
  };
  switch (kind % 7) {
    case 0:
      return put("map.png", bytes);  // or .bmp: what is in it decides
    case 1:
      return put("map.png", fuzz::packed_png(bytes));
    case 2:
      return put("map.nii", bytes);
    case 3:
      return put("map.nii.gz", bytes);
    case 4:
      return put("map.nii.gz", fuzz::gzipped(bytes));
    case 5:
      return {put("map.h5", bytes).path, "/labels"};
    default: {
      const std::filesystem::path file = folder() / "arrays.h5";
      return {file, fuzz::write_label_arrays(file, bytes)};
    }
  }
}

/// The keys of the map, one bit or two for each.
[[nodiscard]] std::string keys_of(unsigned first, unsigned second)
{
  constexpr std::array axes{"z", "y", "x", "z"};
  constexpr std::array flips{"none", "x", "y", "both"};
  constexpr std::array tissues{
      "",
      ", tissues: {0: air, 1: muscle, 2: fat_not_infiltrated, 3: skin_dry, 4: muscle, "
      "5: blood, 6: air, 7: muscle, 255: blood, -1: muscle, 65535: muscle}",
      ", tissues: {\"#000000\": air, \"#ff0000\": muscle, \"#00ff00\": blood, "
      "\"#0000ff\": "
      "skin_dry, \"#ffffff\": muscle}",
      ", tissues: {0: air, 1: muscle}"};
  std::string keys = std::string(", axis: ") + axes.at(first & 3U) +
                     ", flip: " + flips.at(first >> 2U & 3U) + tissues.at(second & 3U);
  keys += (first & 16U) != 0 ? ", slice: 0" : "";
  keys += (first & 32U) != 0 ? ", crop: {columns: [0, 3], rows: [1, 2]}" : "";
  keys += (first & 64U) != 0 ? ", resampling: nearest" : "";
  keys += (first & 128U) != 0 ? "" : ", pixel: 2 mm";
  keys += (second & 4U) != 0 ? ", center: file" : "";
  keys += (second & 8U) != 0 ? ", center: [9 mm, 0.3 mm]" : "";
  return keys;
}

[[nodiscard]] std::string scenario_of(const MapFile& map, const std::string& keys)
{
  return "title: Invented map\nmode: TMz\n"
         "grid: {cell: 2 mm, size: [136 mm, 126 mm], absorbing_cells: 8}\n"
         "body:\n  label_map: {file: \"" +
         map.path.filename().string() + (map.inside.empty() ? "" : ":" + map.inside) +
         "\"" + keys +
         "}\n"
         "implant: {position: [1 mm, -1 mm], source: line_current}\n"
         "waveform: {type: pulse, center: 915 MHz, bandwidth: 1.4 GHz}\n"
         "frequencies: [915 MHz]\n";
}

/// All cells of a small raster, and nothing else.
void cut(const Scenario& scenario)
{
  constexpr geometry::Raster raster{9, 8, 5e-3, {-21e-3, -20e-3}};
  const geometry::TissueMap map =
      geometry::voxelise(raster, scenario.body.background, scenario.body.shapes, {},
                         geometry::Averaging::volume);
  const std::vector<double> areas = geometry::areas_by_tissue(map);
  const double whole = std::accumulate(areas.begin(), areas.end(), 0.0);
  fuzz::require(std::abs(whole - 9 * 8 * 25e-6) < 1e-12,
                "areas that are not the slice's");
}

void look(const Scenario& scenario)
{
  fuzz::require(scenario.body.label_map.has_value(), "a map that is not there");
  const scenarios::LabelMapSpec& map = *scenario.body.label_map;
  geometry::require_sound(*map.grid);
  std::vector<std::size_t> pixels(map.grid->tissues.size(), 0);
  for (const std::uint16_t tissue : map.grid->pixels) {
    ++pixels.at(tissue);
  }
  for (const scenarios::MappedLabel& label : map.labels) {
    const auto at = std::ranges::find(map.grid->tissues, label.tissue);
    fuzz::require(at != map.grid->tissues.end(), "a label without its tissue");
    pixels.at(static_cast<std::size_t>(at - map.grid->tissues.begin())) -= label.pixels;
  }
  fuzz::require(
      std::ranges::count(pixels, 0) == static_cast<std::ptrdiff_t>(pixels.size()),
      "labels that are not as many as pixels");
  cut(scenario);
}

[[nodiscard]] std::optional<Scenario> read(const std::string& text)
{
  try {
    return scenarios::parse_scenario(text, folder() / "scenario.yaml");
  } catch (const scenarios::InputError& error) {
    fuzz::require(!error.faults().empty(), "a refusal without a fault");
    return std::nullopt;
  }
}

/// What follows the end of a picture or volume is none of it: a reader that takes it for
/// pixels has not seen that the file is too short.
void append_and_compare(const MapFile& map, const std::string& text,
                        const Scenario& before)
{
  std::ofstream(map.path, std::ios::binary | std::ios::app) << std::string(64, '\x5A');
  if (const auto after = read(text)) {
    fuzz::require(
        before.body.label_map->grid->pixels == after->body.label_map->grid->pixels,
        "pixels from beyond the end");
  }
}

}  // namespace

// NOLINTNEXTLINE(readability-identifier-naming): the name that libFuzzer calls
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size)
{
  if (size < 3) {
    return 0;
  }
  const MapFile map = write_map(data[0], {data + 3, size - 3});
  const std::string text = scenario_of(map, keys_of(data[1], data[2]));
  if (const auto scenario = read(text)) {
    look(*scenario);
    if (map.inside.empty()) {
      append_and_compare(map, text, *scenario);
    }
  }
  return 0;
}
