#include "bench/numpy_textbook.hpp"

#include <fmt/format.h>

#include <array>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <memory>
#include <string>

#include <unistd.h>
#include <nlohmann/json.hpp>

#include "bench/contenders.hpp"
#include "bench/paths.hpp"
#include "postproc/atomic_file.hpp"

namespace torsowave::bench {
namespace {

using Json = nlohmann::json;

/// One word of a shell's command line.
[[nodiscard]] std::string quoted(const std::string& word)
{
  std::string result = "'";
  for (const char c : word) {
    result += c == '\'' ? std::string("'\\''") : std::string(1, c);
  }
  return result + "'";
}

/// Standard output of a command.
/// \throws ScriptFailed
[[nodiscard]] std::string output_of(const std::string& command)
{
  std::FILE* const pipe = popen(command.c_str(), "r");
  std::string text;
  std::array<char, 256> part{};
  while (pipe != nullptr && std::fgets(part.data(), part.size(), pipe) != nullptr) {
    text += part.data();
  }
  if (pipe == nullptr || pclose(pipe) != 0) {
    throw ScriptFailed(fmt::format("this command failed: {}", command));
  }
  return text;
}

[[nodiscard]] Json line(const solver::AbsorberProfile::Line& l)
{
  return {{"b", l.b}, {"c", l.c}, {"inverse_kappa", l.inverse_kappa}};
}

[[nodiscard]] Json axis(const solver::AbsorberProfile& profile)
{
  return {{"edges", line(profile.at_edges)}, {"cells", line(profile.at_cells)}};
}

[[nodiscard]] Json description(const Scene& scene)
{
  constexpr int different_currents = 1024;
  const solver::Grid& grid = scene.grid;
  Json json{{"nx", grid.raster.nx},
            {"ny", grid.raster.ny},
            {"dx", grid.raster.cell},
            {"dt", grid.time_step},
            {"absorbing_cells", grid.absorbing_cells},
            {"source_i", scene.source_i},
            {"source_j", scene.source_j},
            {"relaxation_times", scene.medium.relaxation_times}};
  json["along_x"] = axis(absorber_along_x(scene.absorber, grid, scene.medium));
  json["along_y"] = axis(absorber_along_y(scene.absorber, grid, scene.medium));
  for (const solver::MediumEntry& entry : scene.medium.palette) {
    json["eps_inf"].push_back(entry.eps_inf);
    json["conductivity"].push_back(entry.conductivity);
    json["strengths"].push_back(entry.strengths);
  }
  for (int n = 0; n < different_currents; ++n) {
    json["currents"].push_back(scene.current(grid.time(n) + 0.5 * grid.time_step));
  }
  return json;
}

[[nodiscard]] std::string script(const std::filesystem::path& folder, int steps,
                                 int warm_up)
{
  return fmt::format("{} {} {} {} {}", quoted(python_path()),
                     quoted(source_folder() + "/bench/textbook.py"),
                     quoted(folder.string()), steps, warm_up);
}

}  // namespace

bool numpy_is_there()
{
  try {
    (void)output_of(quoted(python_path()) + " -c 'import numpy' 2>/dev/null");
    return true;
  } catch (const ScriptFailed&) {
    return false;
  }
}

NumpyTextbook::NumpyTextbook(const Scene& scene)
{
  std::string name =
      (std::filesystem::temp_directory_path() / "torsowave-XXXXXX").string();
  if (mkdtemp(name.data()) == nullptr) {
    throw postproc::WriteError(name + ": could not make this folder");
  }
  folder_ = name;
  postproc::write_atomically(folder_ / "scene.json", description(scene).dump());
  const auto* const cells = reinterpret_cast<const char*>(scene.medium.cells.data());
  postproc::write_atomically(
      folder_ / "cells.u16",
      {cells, scene.medium.cells.size() * sizeof(scene.medium.cells[0])});
}

NumpyTextbook::~NumpyTextbook()
{
  std::error_code stays;
  std::filesystem::remove_all(folder_, stays);
}

double NumpyTextbook::seconds(int steps, int warm_up) const
{
  return std::stod(output_of(script(folder_, steps, warm_up)));
}

std::vector<double> NumpyTextbook::field_after(int steps) const
{
  const std::filesystem::path file = folder_ / "ez.f64";
  (void)output_of(script(folder_, steps, 0) + " " + quoted(file.string()));
  std::vector<double> field(std::filesystem::file_size(file) / sizeof(double));
  std::ifstream(file, std::ios::binary)
      .read(reinterpret_cast<char*>(field.data()),
            static_cast<std::streamsize>(field.size() * sizeof(double)));
  return field;
}

Contender numpy_contender(const Scene& scene, int steps)
{
  auto script = std::make_shared<NumpyTextbook>(scene);
  return {numpy, 1, scene.cells(),
          [script](int repetitions) { return script->seconds(repetitions, 1); }, steps};
}

}  // namespace torsowave::bench
