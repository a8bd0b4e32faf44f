/// \file
/// \brief The command line of `render`, checked against the result that it draws.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/film.hpp"
#include "app/pictures.hpp"

namespace torsowave::app {

/// As the line has them.
struct RenderOptions {
  std::string source;  ///< a result folder, or its result.h5
  std::vector<std::string> quantities;
  std::vector<std::string> frequencies;
  std::vector<std::string> times;
  std::string scale;
  std::string along;
  std::string at;
  std::string theme = "light";
  std::string size;
  int width = 0;
  std::string format = "png";
  std::string output;
  std::string labels;  ///< file of a label map to write instead
  std::string animation;
  std::string beside;
  double frames_per_second = 25.0;
  std::string length;
  std::string from;
  std::string to;
  std::vector<std::string> slow;
  int cycles = 1;
  std::optional<double> range;
  bool quiet = false;
  bool json = false;
};

/// The result.h5 that a name means: itself, or the one in a folder.
[[nodiscard]] std::filesystem::path result_file_of(const std::string& source);

/// What to draw. Quantities that the result lacks are refused if they were named, left
/// out if all are drawn. \throws CLI::ValidationError  Names the option and what is
/// accepted.
[[nodiscard]] PictureOrder picture_order(const RenderOptions& options,
                                         const postproc::Result& result,
                                         const Moments& moments);

/// The line that `--along` asks for; empty without it, and in mode 1D.
/// \throws CLI::ValidationError
[[nodiscard]] std::optional<postproc::SliceLine> line_of(const RenderOptions& options,
                                                         const postproc::Result& result);

/// Moments at `--time`, else those that the run thought worth a picture.
/// \throws CLI::ValidationError, postproc::ReadError
[[nodiscard]] Moments moments_of(const RenderOptions& options,
                                 const postproc::Result& result,
                                 const postproc::StoredSnapshots& stored);

/// \throws CLI::ValidationError
[[nodiscard]] FilmOrder film_order(const RenderOptions& options,
                                   const postproc::Result& result);

}  // namespace torsowave::app
