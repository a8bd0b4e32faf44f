#include "scenarios/reader.hpp"

#include <fmt/format.h>

#include <fstream>
#include <system_error>
#include <utility>

#include "scenarios/input_error.hpp"
#include "scenarios/message_text.hpp"
#include "scenarios/sections.hpp"

namespace torsowave::scenarios {
namespace {

[[noreturn]] void refuse_file(const std::filesystem::path& path, std::string problem)
{
  Location whole_file;
  whole_file.file = path.string();
  refuse(std::move(whole_file), std::move(problem));
}

std::string read_text(const std::filesystem::path& path)
{
  std::error_code error;
  const auto status = std::filesystem::status(path, error);
  if (!std::filesystem::exists(status)) {
    refuse_file(path, "no such file; give the path of a scenario (YAML)");
  }
  if (std::filesystem::is_directory(status)) {
    refuse_file(path, "is a directory; give the path of a scenario file in it");
  }
  std::ifstream stream(path, std::ios::binary);
  if (!stream) {
    refuse_file(path, "cannot be opened; check that you may read it");
  }
  std::string text(max_scenario_bytes + 1, '\0');
  stream.read(text.data(), static_cast<std::streamsize>(text.size()));
  if (stream.bad()) {
    refuse_file(path, "cannot be read to its end; check the disk");
  }
  text.resize(static_cast<std::size_t>(stream.gcount()));
  return text;
}

void read_mode(const Value& value, Scenario& scenario)
{
  const auto mode =
      value.choice<Mode>({{"1D", Mode::one_d}, {"TMz", Mode::tmz}, {"TEz", Mode::tez}});
  assign(scenario.mode, mode);
  if (mode && *mode != Mode::tmz) {
    not_in_this_version(value, fmt::format("mode {} is", value.node()->text), "TMz");
  }
}

/// The implant, or the illumination that stands in its place.
void read_source(Section& root, const TissueNames& names, Scenario& scenario)
{
  const Value incident = root.get("incident");
  not_in_this_version(incident, "incident is", "implant");
  const Value implant =
      incident
          ? root.get("implant")
          : root.require("implant", "{position: [12 mm, -38 mm], source: line_current}");
  if (implant) {
    scenario.implant = read_implant(implant, names);
  }
}

void read_sections(Section& root, Reading& reading, Scenario& scenario)
{
  assign(scenario.title, root.get("title").text("free text"));
  read_mode(root.get("mode"), scenario);
  std::vector<std::string> custom;
  scenario.materials = read_materials(root.get("materials"), custom);
  const TissueNames names(scenario.materials.custom, custom);
  Sound sound;
  sound.grid = reading.sound([&] {
    scenario.grid = read_grid(root.require("grid", "{cell: 0.5 mm, margin: 40 mm}"));
  });
  sound.body = reading.sound([&] {
    scenario.body =
        read_body(root.require("body", "{background: air, shapes: [...]}"), names);
  });
  sound.implant = reading.sound([&] { read_source(root, names, scenario); });
  scenario.waveform = read_waveform(
      root.require("waveform", "{type: pulse, center: 2.45 GHz, bandwidth: 1 GHz}"),
      scenario.path.parent_path());
  scenario.frequencies = read_frequencies(root.get("frequencies"), root, scenario);
  scenario.duration = read_duration(root.get("duration"));
  sound.outputs =
      reading.sound([&] { scenario.outputs = read_outputs(root.get("outputs")); });
  read_link(root.get("link"));
  root.reject_others();
  check_placement(scenario, names, sound, reading);
}

}  // namespace

Scenario parse_scenario(const std::string& text, const std::filesystem::path& name)
{
  if (text.size() > max_scenario_bytes) {
    refuse_file(name, fmt::format("larger than the {} MiB that a scenario may have",
                                  max_scenario_bytes >> 20U));
  }
  Scenario scenario;
  scenario.text = text;
  scenario.path = name;
  const NodePtr document = parse_document(text, name.string());
  Reading reading(name.string());
  Section root(Value(reading, document, "", document->mark));
  if (root) {
    read_sections(root, reading, scenario);
  }
  scenario.locations = reading.finish();
  return scenario;
}

Scenario read_scenario(const std::filesystem::path& path)
{
  return parse_scenario(read_text(path), path);
}

}  // namespace torsowave::scenarios
