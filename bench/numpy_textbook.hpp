/// \file
/// \brief Runs textbook.py on a scene.

#pragma once

#include <filesystem>
#include <optional>
#include <stdexcept>
#include <vector>

#include "bench/measure.hpp"
#include "bench/scene.hpp"

namespace torsowave::bench {

/// textbook.py did not do what it was asked to.
class ScriptFailed : public std::runtime_error {
public:
  using std::runtime_error::runtime_error;
};

/// Whether there are a Python and a NumPy to run it.
[[nodiscard]] bool numpy_is_there();

/// A scene (mode TMz, no conductors) in a folder of its own below that for temporary
/// files.
class NumpyTextbook {
public:
  /// \throws postproc::WriteError
  explicit NumpyTextbook(const Scene& scene);
  ~NumpyTextbook();
  NumpyTextbook(const NumpyTextbook&) = delete;
  NumpyTextbook& operator=(const NumpyTextbook&) = delete;

  /// Time of `steps` steps [s], after `warm_up` steps.
  /// \throws ScriptFailed
  [[nodiscard]] double seconds(int steps, int warm_up) const;

  /// Ez (ny, nx) after `steps` steps.
  /// \throws ScriptFailed
  [[nodiscard]] std::vector<double> field_after(int steps) const;

private:
  std::filesystem::path folder_;
};

/// `steps` steps in each round.
[[nodiscard]] Contender numpy_contender(const Scene& scene, int steps);

}  // namespace torsowave::bench
