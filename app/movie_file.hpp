/// \file
/// \brief Pictures as a film file, through ffmpeg as a process of its own.

#pragma once

#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "postproc/canvas.hpp"

namespace torsowave::app {

enum class MovieFormat {
  mp4,   ///< H.264 (ITU-T), 4:2:0, BT.709
  webp,  ///< repeats for ever
  gif    ///< repeats for ever; 256 colours, the same for all frames
};

/// The format that a file's name asks for.
/// \throws scenarios::InputError  Another extension; names those accepted.
[[nodiscard]] MovieFormat movie_format(const std::filesystem::path& path);

/// \throws MachineError  There is no ffmpeg on the search path; names the package.
void require_ffmpeg();

struct MovieSpec {
  MovieFormat format = MovieFormat::mp4;
  double frames_per_second = 25.0;
  int width = 0;   ///< [px], even
  int height = 0;  ///< [px], even
  /// Frames from all over the film, which a GIF takes its colours from.
  std::vector<postproc::Canvas> samples{};
};

/// A film that is being written beside its final name. Frames go to ffmpeg one by one:
/// memory does not grow with the film.
class MovieFile {
public:
  /// \throws MachineError         No ffmpeg.
  /// \throws postproc::WriteError The folder cannot be written.
  MovieFile(const std::filesystem::path& path, const MovieSpec& spec);

  /// Ends ffmpeg and removes the part unless finish() was reached.
  ~MovieFile();
  MovieFile(const MovieFile&) = delete;
  MovieFile& operator=(const MovieFile&) = delete;

  /// \throws postproc::WriteError   ffmpeg gave up; with its own words.
  /// \throws std::invalid_argument  A frame of another size.
  void add(const postproc::Canvas& frame);

  /// Waits for ffmpeg and gives the film its name.
  /// \throws postproc::WriteError
  void finish();

private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace torsowave::app
