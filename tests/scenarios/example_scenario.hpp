/// \file
/// \brief A scenario that uses every section (invented data), and edits of it.

#pragma once

#include <stdexcept>
#include <string>

namespace torsowave::scenarios::testing {

inline const std::string example = R"(title: Aortic-graft pressure sensor, abdominal slice
mode: TMz
grid:
  cell: 0.5 mm
  size: [460 mm, 340 mm]
  absorbing_cells: 12
  courant: 0.99
  precision: single
  averaging: volume
body:
  background: air
  shapes:
    - tissue: skin_dry
      ellipse: {center: [0 mm, 0 mm], semi_axes: [170 mm, 110 mm], rotation: 0 deg}
    - tissue: muscle
      polygon: [[-20 mm, 5 mm], [10 mm, 5 mm], [0 mm, 30 mm]]
    - tissue: vertebra_mix
      circle: {center: [0 mm, -60 mm], radius: 18 mm}
materials:
  fit: {band: [0.3 GHz, 6 GHz], poles: auto, max_error: 1 %}
  custom:
    gel: {permittivity: 52.7, conductivity: 1.74 S/m, density: 1000 kg/m3}
    broth: {debye: {permittivity_infinity: 5, conductivity: 0.5 S/m, poles: [{delta: 70, tau: 8.3 ps}]}}
    tin: {conductor: perfect}
    vertebra_mix: {permittivity: 20, conductivity: 0.6 S/m}
implant:
  position: [12 mm, -38 mm]
  source: line_current
  capsule: {radius: 4 mm, material: air}
waveform: {type: pulse, center: 2.45 GHz, bandwidth: 1 GHz}
frequencies: [2.40 GHz, 2.45 GHz, 2.48 GHz]
duration: auto
outputs:
  snapshots: {field: Ez, every: 0.1 ns, stride: 2}
  phasors: [Ez]
  probes: [{name: front, position: [0 mm, 115 mm]}]
  sectors: 72
  images: {quantity: [Ez, sar, tissue], scale: dB}
  animation: {format: mp4, frames_per_second: 25}
link:
  transmit_power: 25 uW
  reader: {distance: 0.5 m, gain: 2 dBi, noise_figure: 6 dB, bandwidth: 300 kHz}
)";

/// `text` with the first `from` replaced by `to`.
inline std::string edited(std::string text, const std::string& from,
                          const std::string& to)
{
  const std::size_t at = text.find(from);
  if (at == std::string::npos) {
    throw std::logic_error("the example has no: " + from);
  }
  return text.replace(at, from.size(), to);
}

}  // namespace torsowave::scenarios::testing
