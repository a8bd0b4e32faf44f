/// \file
/// \brief A scenario file as checked plain structs; all lengths [m], times [s],
/// frequencies [Hz].

#pragma once

#include <array>
#include <cstddef>
#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "geometry/shape.hpp"
#include "geometry/tissue_map.hpp"
#include "materials/debye_fit.hpp"
#include "materials/tissue.hpp"
#include "postproc/link_budget.hpp"
#include "postproc/radio_limits.hpp"
#include "scenarios/label_map.hpp"

namespace torsowave::scenarios {

enum class Mode { one_d, tmz, tez };
enum class Precision { single_precision, double_precision };
enum class SourceKind { line_current, magnetic_line, dipole, current_sheet };
enum class WaveformKind { pulse, cw, ricker, samples };

/// Where a value stands in its file; line and column count from 1.
struct Location {
  std::string file;
  int line = 0;
  int column = 0;
};

struct GridSpec {
  std::optional<double> cell;                  ///< [m]; exactly one of the two is set
  std::optional<double> cells_per_wavelength;  ///< of the shortest wavelength [1]
  std::optional<std::array<double, 2>> size;   ///< [m]; exactly one of the two is set;
                                               ///< mode 1D: {length, 0}
  std::optional<double> margin;  ///< [m] air between body and absorber; mode
                                 ///< 1D: outer medium beyond the outer faces
  int absorbing_cells = 12;
  double courant = 0.99;  ///< fraction of the stability limit, 0 < courant <= 1
  Precision precision = Precision::single_precision;
  geometry::Averaging averaging = geometry::Averaging::volume;
  bool correct_dispersion = true;  ///< dispersion: corrected | plain
  bool allow_coarse = false;       ///< run with fewer than 10 cells per wavelength
};

/// A planar layer across x.
struct LayerSpec {
  std::string tissue;
  std::optional<double> thickness;  ///< [m]; empty: a half-space
};

/// Shapes in modes TMz and TEz, the first of which is a label map if there is one; in
/// mode 1D layers from left to right, of which the first and the last alone may be
/// half-spaces. Beyond a finite outermost layer lies the background.
struct BodySpec {
  std::string background = "air";
  std::vector<geometry::Shape> shapes;
  std::optional<LabelMapSpec> label_map;
  std::size_t torso_shapes = 0;  ///< how many of them, the first ones, are body.torso's
  std::vector<LayerSpec> layers;
  double first_face = 0.0;  ///< x of the leftmost interface [m], mode 1D
};

struct MaterialsSpec {
  std::optional<std::array<double, 2>>
      fit_band;                           ///< [Hz]; empty: chosen from frequencies
  std::optional<int> fit_poles;           ///< empty: auto
  double fit_max_error = 0.01;            ///< [1]
  std::vector<materials::Tissue> custom;  ///< before the library's of the same name
};

struct Capsule {
  double radius = 0.0;  ///< [m]
  std::string material;
};

struct ImplantSpec {
  geometry::Point position;  ///< [m]; mode 1D: y = 0
  SourceKind source = SourceKind::line_current;
  double direction = 0.0;  ///< [rad], dipole alone
  std::optional<Capsule> capsule;
};

/// A plane wave from outside, unit peak field 1 V/m.
struct IncidentSpec {
  double angle = 0.0;  ///< direction of travel [rad]; mode 1D: 0 or pi
};

struct WaveformSpec {
  WaveformKind kind = WaveformKind::pulse;
  double center = 0.0;         ///< [Hz] pulse, ricker
  double bandwidth = 0.0;      ///< [Hz] pulse: between the -20 dB points of its spectrum
  double frequency = 0.0;      ///< [Hz] cw
  double ramp = 0.0;           ///< [s] cw
  std::filesystem::path file;  ///< samples, resolved against the scenario's folder
};

/// How long the run lasts: a fixed time, or until the grid is as good as empty (pulse) or
/// periodic (cw).
struct DurationSpec {
  std::optional<double> time;  ///< [s]; empty: automatic
  double decay_db = 60.0;      ///< automatic: stop this far below the peak energy [dB]
};

struct SnapshotSpec {
  std::string field;
  double every = 0.0;  ///< [s]
  int stride = 1;      ///< keep every n-th cell in x and y
};

struct ProbeSpec {
  std::string name;
  geometry::Point position;
};

struct ImageSpec {
  std::vector<std::string> quantities;  ///< of: the fields of the mode, tissue,
                                        ///< surface, snapshot, sar, spacetime, ...
  bool decibel = true;                  ///< scale: dB | linear
};

struct AnimationSpec {
  std::string format = "mp4";  ///< mp4, webp or gif
  double frames_per_second = 25.0;
};

struct OutputSpec {
  std::optional<SnapshotSpec> snapshots;
  std::vector<std::string> phasors;  ///< of: Ez, Hx, Hy; Hz, Ex, Ey; Ez, Hy
  std::vector<ProbeSpec> probes;
  int sectors = 72;
  std::optional<ImageSpec> images;
  std::optional<AnimationSpec> animation;
};

/// What a link is made of beside the slice. The defaults are those of an invented reader;
/// docs/scenario.md tells where they come from.
struct Link {
  /// The slice adds frequency, gain of the implant, its way to the skin and its size.
  postproc::LinkInput input = default_input();
  std::optional<double> direction;  ///< of the reader from the origin [rad]; empty: best
  /// Of the implant in its best direction [dBi], in the place of the slice's; the pattern
  /// stays.
  std::optional<double> implant_gain_dbi;
  std::vector<postproc::RuleSet> rules;  ///< to compare with; empty: all

  [[nodiscard]] static postproc::LinkInput default_input();
};

/// The key of one of the body's shapes, e.g. "body.shapes[2]".
[[nodiscard]] std::string shape_key(const BodySpec& body, std::size_t shape);

/// A scenario, read and checked on its own; nothing here refers back to YAML.
struct Scenario {
  std::string title;
  Mode mode = Mode::tmz;
  GridSpec grid;
  BodySpec body;
  MaterialsSpec materials;
  std::optional<ImplantSpec> implant;  ///< exactly one of the two is set
  std::optional<IncidentSpec> incident;
  WaveformSpec waveform;
  std::vector<double> frequencies;  ///< [Hz], ascending, at least one
  DurationSpec duration;
  OutputSpec outputs;
  Link link;

  std::string text;  ///< the file, byte for byte
  std::filesystem::path path;
  std::map<std::string, Location> locations;  ///< by key path, e.g. "implant.position"

  /// Where `key` stands, or its nearest enclosing key that the file has.
  [[nodiscard]] Location where(const std::string& key) const;
};

}  // namespace torsowave::scenarios
