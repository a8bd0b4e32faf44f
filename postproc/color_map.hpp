/// \file
/// \brief Colours of figures: a sequential, a diverging and a qualitative map.

#pragma once

#include <cstddef>
#include <cstdint>

namespace torsowave::postproc {

/// 8-bit sRGB.
struct Color {
  std::uint8_t red = 0;
  std::uint8_t green = 0;
  std::uint8_t blue = 0;
  friend bool operator==(const Color&, const Color&) = default;
};

/// A colour in the OKLab space: lightness 0 (black) to 1 (white), green-red, blue-yellow.
///
/// \see B. Ottosson, "A perceptual color space for image processing", 2020 (matrices from
///      memory; white, black and the way back and forth are tested).
struct OkLab {
  double lightness = 0.0;
  double a = 0.0;
  double b = 0.0;
};

[[nodiscard]] OkLab to_oklab(Color color) noexcept;

/// Out-of-gamut values are clipped channel by channel.
[[nodiscard]] Color to_color(OkLab color) noexcept;

/// Dark blue to yellow, lightness rises all the way. The map is "viridis" by
/// Nathaniel J. Smith, Stefan van der Walt and Eric Firing, released under CC0.
///
/// \param t  Place on the map [1]; clamped to 0 ... 1, not-a-number counts as 0.
[[nodiscard]] Color sequential_color(double t) noexcept;

/// Dark blue over light grey to dark red; both arms have the same lightness at +-t.
///
/// \param t  Place on the map [1]; clamped to -1 ... 1, not-a-number counts as 0.
/// \param on_dark  Bright arms from a nearly black middle, for dark pages.
[[nodiscard]] Color diverging_color(double t, bool on_dark = false) noexcept;

/// Once around the hues at one lightness and chroma, for phases.
///
/// \param t  Place on the map in turns [1]; its whole part does not count,
///           not-a-number counts as 0.
[[nodiscard]] Color cyclic_color(double t) noexcept;

/// How many tissues get a colour of their own.
[[nodiscard]] std::size_t tissue_color_count() noexcept;

/// Colour of a tissue by its index; index 0 (the background, air) is nearly white.
/// From tissue_color_count() on, the colours after the first come round again.
[[nodiscard]] Color tissue_color(std::size_t index) noexcept;

}  // namespace torsowave::postproc
