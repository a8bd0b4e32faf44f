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

void read_mode(const Value& value, Scenario& scenario)
{
  assign(
      scenario.mode,
      value.choice<Mode>({{"1D", Mode::one_d}, {"TMz", Mode::tmz}, {"TEz", Mode::tez}}));
}

const char* source_example(Mode mode)
{
  return mode == Mode::one_d
             ? "{position: 12 mm}, or incident: {plane_wave: {angle: 0 deg}}"
             : "{position: [12 mm, -38 mm]}, or incident: {plane_wave: {angle: 0 deg}}";
}

/// The implant, or the illumination that stands in its place.
void read_source(Section& root, const TissueNames& names, Scenario& scenario)
{
  const Value incident = root.get("incident");
  const Value implant = root.get("implant");
  if (!incident && !implant) {
    static_cast<void>(root.require("implant", source_example(scenario.mode)));
  } else if (incident && implant) {
    incident.fault("cannot stand beside implant; give exactly one of: implant, incident");
  }
  if (implant) {
    scenario.implant = read_implant(implant, names, scenario.mode);
  }
  if (incident) {
    scenario.incident = read_incident(incident, scenario.mode);
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
    const Value grid = root.require("grid", "{cell: 0.5 mm, margin: 40 mm}");
    scenario.grid = read_grid(grid, scenario.mode);
  });
  sound.body = reading.sound([&] {
    const char* example = scenario.mode == Mode::one_d
                              ? "{layers: [{tissue: muscle, thickness: 20 mm}]}"
                              : "{background: air, shapes: [...]}";
    scenario.body = read_body(root.require("body", example), names, scenario.mode,
                              scenario.path.parent_path());
  });
  sound.implant = reading.sound([&] { read_source(root, names, scenario); });
  scenario.waveform = read_waveform(
      root.require("waveform", "{type: pulse, center: 2.45 GHz, bandwidth: 1 GHz}"),
      scenario.path.parent_path());
  scenario.frequencies = read_frequencies(root.get("frequencies"), root, scenario);
  scenario.duration = read_duration(root.get("duration"));
  sound.outputs = reading.sound(
      [&] { scenario.outputs = read_outputs(root.get("outputs"), scenario.mode); });
  scenario.link = read_link(root.get("link"));
  root.reject_others();
  check_placement(scenario, names, sound, reading);
}

void require_size(const std::string& text, const std::filesystem::path& name,
                  std::string_view what)
{
  if (text.size() > max_scenario_bytes) {
    refuse_file(name, fmt::format("larger than the {} MiB that a {} may have",
                                  max_scenario_bytes >> 20U, what));
  }
}

template <class Read>
[[nodiscard]] Scenario parse(const std::string& text, const std::filesystem::path& name,
                             Read read)
{
  require_size(text, name, "scenario");
  Scenario scenario;
  scenario.text = text;
  scenario.path = name;
  const NodePtr document = parse_document(text, name.string());
  Reading reading(name.string());
  Section root(Value(reading, document, "", document->mark));
  if (root) {
    read(root, reading, scenario);
  }
  scenario.locations = reading.finish();
  return scenario;
}

}  // namespace

std::string read_input_text(const std::filesystem::path& path, std::string_view what)
{
  std::error_code error;
  const auto status = std::filesystem::status(path, error);
  if (!std::filesystem::exists(status)) {
    refuse_file(path, fmt::format("no such file; give the path of a {} (YAML)", what));
  }
  if (std::filesystem::is_directory(status)) {
    refuse_file(path,
                fmt::format("is a directory; give the path of a {} file in it", what));
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
  require_size(text, path, what);
  return text;
}

Scenario parse_scenario(const std::string& text, const std::filesystem::path& name)
{
  return parse(text, name, read_sections);
}

Scenario parse_link_alone(const std::string& text, const std::filesystem::path& name)
{
  return parse(text, name, [](Section& root, Reading&, Scenario& scenario) {
    scenario.link = read_link(root.get("link"));
  });
}

Scenario read_link_alone(const std::filesystem::path& path)
{
  return parse_link_alone(read_input_text(path, "scenario"), path);
}

Scenario read_scenario(const std::filesystem::path& path)
{
  return parse_scenario(read_input_text(path, "scenario"), path);
}

}  // namespace torsowave::scenarios
