#include "app/movie_file.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <stdexcept>
#include <system_error>
#include <utility>

#include "app/machine_error.hpp"
#include "postproc/atomic_file.hpp"
#include "scenarios/input_error.hpp"

namespace torsowave::app {
namespace {

constexpr const char* program = "ffmpeg";
constexpr const char* no_ffmpeg =
    "animations need the program ffmpeg, which is not on the search path; install the "
    "package ffmpeg";

[[nodiscard]] std::string system_text(int error)
{
  return std::generic_category().message(error);
}

/// A file descriptor that closes itself.
class Descriptor {
public:
  explicit Descriptor(int id = -1) : id_(id) {}
  ~Descriptor() { close(); }
  Descriptor(const Descriptor&) = delete;
  Descriptor& operator=(const Descriptor&) = delete;

  [[nodiscard]] int id() const noexcept { return id_; }
  void close() noexcept
  {
    if (id_ >= 0) {
      ::close(id_);
      id_ = -1;
    }
  }

private:
  int id_;
};

/// What posix_spawn() needs, and gives back by itself.
class SpawnSetup {
public:
  SpawnSetup(int input, int messages)
  {
    posix_spawn_file_actions_init(&actions_);
    posix_spawn_file_actions_adddup2(&actions_, input, STDIN_FILENO);
    posix_spawn_file_actions_addopen(&actions_, STDOUT_FILENO, "/dev/null", O_WRONLY, 0);
    posix_spawn_file_actions_adddup2(&actions_, messages, STDERR_FILENO);
    // The film ends by the end of its frames alone: a signal from the terminal is for us,
    // and what we ignore is not the child's concern.
    posix_spawnattr_init(&attributes_);
    sigset_t signals;
    sigemptyset(&signals);
    sigaddset(&signals, SIGPIPE);
    posix_spawnattr_setsigdefault(&attributes_, &signals);
    posix_spawnattr_setpgroup(&attributes_, 0);
    posix_spawnattr_setflags(&attributes_, POSIX_SPAWN_SETSIGDEF | POSIX_SPAWN_SETPGROUP);
  }
  ~SpawnSetup()
  {
    posix_spawn_file_actions_destroy(&actions_);
    posix_spawnattr_destroy(&attributes_);
  }
  SpawnSetup(const SpawnSetup&) = delete;
  SpawnSetup& operator=(const SpawnSetup&) = delete;

  [[nodiscard]] int spawn(pid_t& child, char* const* arguments) const
  {
    return ::posix_spawnp(&child, program, &actions_, &attributes_, arguments, environ);
  }

private:
  posix_spawn_file_actions_t actions_{};
  posix_spawnattr_t attributes_{};
};

/// One ffmpeg that reads frames from a pipe.
class Encoder {
public:
  /// \throws MachineError
  explicit Encoder(std::vector<std::string> arguments)
  {
    std::array<int, 2> ends{};
    messages_ = std::tmpfile();
    if (messages_ == nullptr || ::pipe2(ends.data(), O_CLOEXEC) != 0) {
      throw MachineError(fmt::format("cannot start {}: {}", program, system_text(errno)));
    }
    Descriptor input(ends[0]);
    frames_ = ends[1];
    std::vector<char*> pointers;
    pointers.reserve(arguments.size() + 1);
    for (std::string& argument : arguments) {
      pointers.push_back(argument.data());
    }
    pointers.push_back(nullptr);
    const int error =
        SpawnSetup(input.id(), ::fileno(messages_)).spawn(child_, pointers.data());
    if (error != 0) {
      child_ = -1;
      throw MachineError(error == ENOENT ? no_ffmpeg
                                         : fmt::format("cannot start {}: {}", program,
                                                       system_text(error)));
    }
  }

  ~Encoder()
  {
    close_frames();
    if (child_ > 0) {
      ::kill(child_, SIGKILL);
      ::waitpid(child_, nullptr, 0);
    }
    if (messages_ != nullptr) {
      std::fclose(messages_);
    }
  }
  Encoder(const Encoder&) = delete;
  Encoder& operator=(const Encoder&) = delete;

  /// False if ffmpeg has gone: finish() tells why.
  [[nodiscard]] bool write(std::span<const std::uint8_t> bytes) const
  {
    while (!bytes.empty()) {
      const ssize_t count = ::write(frames_, bytes.data(), bytes.size());
      if (count < 0 && errno != EINTR) {
        return false;
      }
      bytes = bytes.subspan(static_cast<std::size_t>(std::max<ssize_t>(count, 0)));
    }
    return true;
  }

  /// Waits for the end. \return What went wrong; empty if all is well.
  [[nodiscard]] std::string finish()
  {
    close_frames();
    int status = 0;
    while (::waitpid(child_, &status, 0) < 0 && errno == EINTR) {
    }
    child_ = -1;
    if (WIFEXITED(status) && WEXITSTATUS(status) == 0) {
      return "";
    }
    return fmt::format("{} failed: {}", program, last_words());
  }

private:
  void close_frames() noexcept
  {
    if (frames_ >= 0) {
      ::close(frames_);
      frames_ = -1;
    }
  }

  /// The end of its messages in one line.
  [[nodiscard]] std::string last_words() const
  {
    constexpr std::size_t most = 400;
    std::string text;
    std::rewind(messages_);
    std::array<char, 256> part{};
    for (std::size_t count = 0;
         (count = std::fread(part.data(), 1, part.size(), messages_)) > 0;) {
      text.append(part.data(), count);
    }
    if (text.size() > most) {
      text.erase(0, text.size() - most);
    }
    while (!text.empty() && text.back() == '\n') {
      text.pop_back();
    }
    for (char& c : text) {
      c = c == '\n' ? ' ' : c;
    }
    return text.empty() ? "it gave no reason" : text;
  }

  std::FILE* messages_ = nullptr;
  int frames_ = -1;
  pid_t child_ = -1;
};

/// Frames come raw, 8 bits for red, green and blue.
[[nodiscard]] std::vector<std::string> input_arguments(const MovieSpec& spec)
{
  return {program,      "-hide_banner",
          "-loglevel",  "error",
          "-nostdin",   "-y",
          "-f",         "rawvideo",
          "-pix_fmt",   "rgb24",
          "-s",         fmt::format("{}x{}", spec.width, spec.height),
          "-framerate", fmt::format("{:.6g}", spec.frames_per_second),
          "-i",         "pipe:0"};
}

void append(std::vector<std::string>& arguments, std::vector<std::string> more)
{
  arguments.insert(arguments.end(), more.begin(), more.end());
}

[[nodiscard]] std::vector<std::string> arguments_of(const MovieSpec& spec,
                                                    const std::string& palette,
                                                    const std::string& output)
{
  std::vector<std::string> arguments = input_arguments(spec);
  switch (spec.format) {
    case MovieFormat::mp4:
      append(arguments, {"-vf",
                         "scale=out_color_matrix=bt709:out_range=tv,format=yuv420p",
                         "-colorspace",
                         "bt709",
                         "-color_primaries",
                         "bt709",
                         "-color_trc",
                         "bt709",
                         "-color_range",
                         "tv",
                         "-c:v",
                         "libx264",
                         "-preset",
                         "veryfast",
                         "-crf",
                         "16",
                         "-movflags",
                         "+faststart",
                         "-f",
                         "mp4"});
      break;
    case MovieFormat::webp:
      append(arguments, {"-c:v", "libwebp_anim", "-quality", "85", "-compression_level",
                         "2", "-loop", "0", "-f", "webp"});
      break;
    case MovieFormat::gif:
      append(arguments, {"-i", palette, "-filter_complex",
                         "[0:v][1:v]paletteuse=dither=none:diff_mode=rectangle", "-loop",
                         "0", "-f", "gif"});
      break;
  }
  arguments.push_back(output);
  return arguments;
}

/// The 256 colours of a GIF, from frames all over it.
void make_palette(const MovieSpec& spec, const std::string& path)
{
  std::vector<std::string> arguments = input_arguments(spec);
  append(arguments,
         {"-vf", "palettegen=stats_mode=full:reserve_transparent=0", "-frames:v", "1",
          "-c:v", "png", "-f", "image2", "-update", "1", path});
  Encoder encoder(arguments);
  bool taken = true;
  for (const postproc::Canvas& frame : spec.samples) {
    taken = taken && encoder.write(frame.pixels());
  }
  if (const std::string failure = encoder.finish(); !failure.empty()) {
    throw postproc::WriteError(failure);
  }
}

}  // namespace

struct MovieFile::State {
  State(const std::filesystem::path& path, MovieSpec spec_)
      : part(path),
        palette_path(part.path().string() + ".palette"),
        spec(std::move(spec_))
  {
    spec.samples.clear();
  }
  ~State()
  {
    encoder.reset();
    std::error_code ignored;
    std::filesystem::remove(palette_path, ignored);
  }
  State(const State&) = delete;
  State& operator=(const State&) = delete;

  [[noreturn]] void fail(const std::string& reason) const
  {
    throw postproc::WriteError(
        fmt::format("cannot write {}: {}; is the disk full, or the place not ours?",
                    part.final_path().string(), reason));
  }

  postproc::PartFile part;
  std::string palette_path;
  MovieSpec spec;
  std::unique_ptr<Encoder> encoder;
};

MovieFormat movie_format(const std::filesystem::path& path)
{
  const std::string extension = path.extension().string();
  if (extension == ".mp4") {
    return MovieFormat::mp4;
  }
  if (extension == ".webp") {
    return MovieFormat::webp;
  }
  if (extension == ".gif") {
    return MovieFormat::gif;
  }
  scenarios::refuse({path.string(), 0, 0},
                    "the format of an animation is told by its extension; name it .mp4, "
                    ".webp or .gif");
}

void require_ffmpeg()
{
  const char* folders = std::getenv("PATH");
  std::string rest = folders != nullptr ? folders : "";
  while (!rest.empty()) {
    const std::size_t end = std::min(rest.find(':'), rest.size());
    const std::filesystem::path candidate =
        std::filesystem::path(rest.substr(0, end)) / program;
    if (::access(candidate.c_str(), X_OK) == 0) {
      return;
    }
    rest.erase(0, end + 1);
  }
  throw MachineError(no_ffmpeg);
}

MovieFile::MovieFile(const std::filesystem::path& path, const MovieSpec& spec)
    : state_(std::make_unique<State>(path, spec))
{
  if (spec.format == MovieFormat::gif) {
    make_palette(spec, state_->palette_path);
  }
  state_->encoder = std::make_unique<Encoder>(
      arguments_of(spec, state_->palette_path, state_->part.path().string()));
}

MovieFile::~MovieFile() = default;

void MovieFile::add(const postproc::Canvas& frame)
{
  if (frame.width() != state_->spec.width || frame.height() != state_->spec.height) {
    throw std::invalid_argument(
        fmt::format("a frame of {} x {} pixels in a film of {} x {}", frame.width(),
                    frame.height(), state_->spec.width, state_->spec.height));
  }
  if (!state_->encoder->write(frame.pixels())) {
    const std::string reason = state_->encoder->finish();
    state_->fail(reason.empty() ? "ffmpeg stopped" : reason);
  }
}

void MovieFile::finish()
{
  if (const std::string failure = state_->encoder->finish(); !failure.empty()) {
    state_->fail(failure);
  }
  state_->part.commit();
}

}  // namespace torsowave::app
