/// \file
/// \brief One reader for each section of a scenario; all report into the Reading.

#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "scenarios/scenario.hpp"
#include "scenarios/section.hpp"

namespace torsowave::scenarios {

/// The names of materials that a scenario can use: library and its own.
class TissueNames {
public:
  /// \param custom  with sound numbers; \param names  of all custom ones, sound or not.
  TissueNames(std::vector<materials::Tissue> custom, std::vector<std::string> names);

  [[nodiscard]] bool is_known(const std::string& name) const;
  [[nodiscard]] bool is_conductor(const std::string& name) const;

  /// Whether a wave passes without loss: no conduction, no relaxation.
  [[nodiscard]] bool is_lossless(const std::string& name) const;

  /// The name of a known material; reports others with the nearest name.
  [[nodiscard]] std::optional<std::string> read(const Value& value) const;

private:
  [[nodiscard]] const materials::Tissue* find(const std::string& name) const;

  std::vector<materials::Tissue> custom_;
  std::vector<std::string> names_;  ///< all, library first
};

/// A coordinate or size is at most this, so that no later arithmetic can overflow [m].
inline constexpr double max_length = 100.0;

inline constexpr Range any_length{-max_length, max_length, false,
                                  "within -100 m to 100 m"};
inline constexpr Range positive_length{0.0, max_length, true,
                                       "greater than 0 and at most 100 m"};
inline constexpr Range positive_frequency{0.0, 1e12, true,
                                          "greater than 0 and at most 1 THz"};
inline constexpr Range positive_time{0.0, 1.0, true, "greater than 0 and at most 1 s"};

inline constexpr Range any_angle{-6.2831853072, 6.2831853072, false,
                                 "within -360 deg to 360 deg"};

/// "1D", "TMz" or "TEz".
[[nodiscard]] std::string_view mode_name(Mode mode);

/// The field components of a mode, the one at the cell centres first.
[[nodiscard]] const std::vector<std::string>& field_names(Mode mode);

[[nodiscard]] std::optional<geometry::Point> read_point(const Value& value);

/// A point, in mode 1D its x alone: `12 mm` or `[12 mm]`.
[[nodiscard]] std::optional<geometry::Point> read_position(const Value& value, Mode mode);

[[nodiscard]] GridSpec read_grid(const Value& value, Mode mode);

/// `names` holds the names of all custom materials afterwards, faulty ones included.
[[nodiscard]] MaterialsSpec read_materials(const Value& value,
                                           std::vector<std::string>& names);
[[nodiscard]] std::vector<materials::Tissue> read_custom(const Value& value,
                                                         std::vector<std::string>& names);
/// \param folder  that relative files are in
[[nodiscard]] BodySpec read_body(const Value& value, const TissueNames& names, Mode mode,
                                 const std::filesystem::path& folder);

/// Reads the file, too. \param folder  that a relative one is in
[[nodiscard]] std::optional<LabelMapSpec> read_label_map(
    const Value& value, const TissueNames& names, const std::string& background,
    const std::filesystem::path& folder);

/// The shapes of a ready-made cross-section.
[[nodiscard]] std::vector<geometry::Shape> read_torso(const Value& value);
[[nodiscard]] std::vector<LayerSpec> read_layers(const Value& value,
                                                 const TissueNames& names);
[[nodiscard]] std::optional<geometry::Outline> read_outline(Section& shape);
[[nodiscard]] ImplantSpec read_implant(const Value& value, const TissueNames& names,
                                       Mode mode);
[[nodiscard]] IncidentSpec read_incident(const Value& value, Mode mode);
[[nodiscard]] WaveformSpec read_waveform(const Value& value,
                                         const std::filesystem::path& folder);

/// Frequencies as written, or by default the waveform's own.
/// \param root  where a missing list is reported.
[[nodiscard]] std::vector<double> read_frequencies(const Value& value, Section& root,
                                                   const Scenario& scenario);
[[nodiscard]] DurationSpec read_duration(const Value& value);
[[nodiscard]] OutputSpec read_outputs(const Value& value, Mode mode);
[[nodiscard]] Link read_link(const Value& value);

/// Which parts of a scenario were read without a fault.
struct Sound {
  bool grid = false;
  bool body = false;
  bool implant = false;
  bool outputs = false;
};

/// Whether source or illumination, probes, body and domain fit together, as far as they
/// are sound.
void check_placement(const Scenario& scenario, const TissueNames& names,
                     const Sound& sound, Reading& reading);

}  // namespace torsowave::scenarios
