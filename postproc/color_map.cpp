#include "postproc/color_map.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace torsowave::postproc {
namespace {

[[nodiscard]] constexpr Color from_hex(std::uint32_t rgb) noexcept
{
  return {static_cast<std::uint8_t>(rgb >> 16U), static_cast<std::uint8_t>(rgb >> 8U),
          static_cast<std::uint8_t>(rgb)};
}

/// viridis by N. J. Smith, S. van der Walt and E. Firing, CC0 (public domain dedication):
/// the authors' 256 colours, rounded to 8 bits.
constexpr std::array<std::uint32_t, 256> viridis = {
    0x440154, 0x440256, 0x450457, 0x450559, 0x46075a, 0x46085c, 0x460a5d, 0x460b5e,
    0x470d60, 0x470e61, 0x471063, 0x471164, 0x471365, 0x481467, 0x481668, 0x481769,
    0x48186a, 0x481a6c, 0x481b6d, 0x481c6e, 0x481d6f, 0x481f70, 0x482071, 0x482173,
    0x482374, 0x482475, 0x482576, 0x482677, 0x482878, 0x482979, 0x472a7a, 0x472c7a,
    0x472d7b, 0x472e7c, 0x472f7d, 0x46307e, 0x46327e, 0x46337f, 0x463480, 0x453581,
    0x453781, 0x453882, 0x443983, 0x443a83, 0x443b84, 0x433d84, 0x433e85, 0x423f85,
    0x424086, 0x424186, 0x414287, 0x414487, 0x404588, 0x404688, 0x3f4788, 0x3f4889,
    0x3e4989, 0x3e4a89, 0x3e4c8a, 0x3d4d8a, 0x3d4e8a, 0x3c4f8a, 0x3c508b, 0x3b518b,
    0x3b528b, 0x3a538b, 0x3a548c, 0x39558c, 0x39568c, 0x38588c, 0x38598c, 0x375a8c,
    0x375b8d, 0x365c8d, 0x365d8d, 0x355e8d, 0x355f8d, 0x34608d, 0x34618d, 0x33628d,
    0x33638d, 0x32648e, 0x32658e, 0x31668e, 0x31678e, 0x31688e, 0x30698e, 0x306a8e,
    0x2f6b8e, 0x2f6c8e, 0x2e6d8e, 0x2e6e8e, 0x2e6f8e, 0x2d708e, 0x2d718e, 0x2c718e,
    0x2c728e, 0x2c738e, 0x2b748e, 0x2b758e, 0x2a768e, 0x2a778e, 0x2a788e, 0x29798e,
    0x297a8e, 0x297b8e, 0x287c8e, 0x287d8e, 0x277e8e, 0x277f8e, 0x27808e, 0x26818e,
    0x26828e, 0x26828e, 0x25838e, 0x25848e, 0x25858e, 0x24868e, 0x24878e, 0x23888e,
    0x23898e, 0x238a8d, 0x228b8d, 0x228c8d, 0x228d8d, 0x218e8d, 0x218f8d, 0x21908d,
    0x21918c, 0x20928c, 0x20928c, 0x20938c, 0x1f948c, 0x1f958b, 0x1f968b, 0x1f978b,
    0x1f988b, 0x1f998a, 0x1f9a8a, 0x1e9b8a, 0x1e9c89, 0x1e9d89, 0x1f9e89, 0x1f9f88,
    0x1fa088, 0x1fa188, 0x1fa187, 0x1fa287, 0x20a386, 0x20a486, 0x21a585, 0x21a685,
    0x22a785, 0x22a884, 0x23a983, 0x24aa83, 0x25ab82, 0x25ac82, 0x26ad81, 0x27ad81,
    0x28ae80, 0x29af7f, 0x2ab07f, 0x2cb17e, 0x2db27d, 0x2eb37c, 0x2fb47c, 0x31b57b,
    0x32b67a, 0x34b679, 0x35b779, 0x37b878, 0x38b977, 0x3aba76, 0x3bbb75, 0x3dbc74,
    0x3fbc73, 0x40bd72, 0x42be71, 0x44bf70, 0x46c06f, 0x48c16e, 0x4ac16d, 0x4cc26c,
    0x4ec36b, 0x50c46a, 0x52c569, 0x54c568, 0x56c667, 0x58c765, 0x5ac864, 0x5cc863,
    0x5ec962, 0x60ca60, 0x63cb5f, 0x65cb5e, 0x67cc5c, 0x69cd5b, 0x6ccd5a, 0x6ece58,
    0x70cf57, 0x73d056, 0x75d054, 0x77d153, 0x7ad151, 0x7cd250, 0x7fd34e, 0x81d34d,
    0x84d44b, 0x86d549, 0x89d548, 0x8bd646, 0x8ed645, 0x90d743, 0x93d741, 0x95d840,
    0x98d83e, 0x9bd93c, 0x9dd93b, 0xa0da39, 0xa2da37, 0xa5db36, 0xa8db34, 0xaadc32,
    0xaddc30, 0xb0dd2f, 0xb2dd2d, 0xb5de2b, 0xb8de29, 0xbade28, 0xbddf26, 0xc0df25,
    0xc2df23, 0xc5e021, 0xc8e020, 0xcae11f, 0xcde11d, 0xd0e11c, 0xd2e21b, 0xd5e21a,
    0xd8e219, 0xdae319, 0xdde318, 0xdfe318, 0xe2e418, 0xe5e419, 0xe7e419, 0xeae51a,
    0xece51b, 0xefe51c, 0xf1e51d, 0xf4e61e, 0xf6e620, 0xf8e621, 0xfbe723, 0xfde725};

/// Air first, then chosen one by one: always the colour of a regular sRGB raster
/// (lightness 0.42 to 0.90, chroma 0.045 to 0.19) that is farthest, in OKLab, from all
/// before it, from white and from near-black, as seen with full colour vision and with
/// full protan, deutan and tritan deficiency (matrices of Machado, Oliveira and
/// Fernandes, IEEE Trans. Vis. Comput. Graph. 15 (2009) 1291, from memory). So the first
/// tissues differ the most.
constexpr std::array<std::uint32_t, 29> tissue_colors = {
    0xf4f6f8, 0xe6aa8c, 0x415fd7, 0x9b4114, 0x6eaaf5, 0xd75f8c, 0x6e327d, 0x9b9b14,
    0xaaf56e, 0x14d7d7, 0x238cc8, 0xb9c814, 0x7d7d50, 0x8c506e, 0x4141aa, 0x8c1450,
    0x23f5b9, 0xd78caa, 0x6e5faa, 0x9b7df5, 0xf57d5f, 0xc85014, 0x9be6f5, 0x5f5f41,
    0xe6c88c, 0x508c7d, 0xc88cd7, 0xc85fb9, 0x7daa6e};

using Matrix = std::array<std::array<double, 3>, 3>;

constexpr Matrix lms_of_linear = {{{0.4122214708, 0.5363325363, 0.0514459929},
                                   {0.2119034982, 0.6806995451, 0.1073969566},
                                   {0.0883024619, 0.2817188376, 0.6299787005}}};
constexpr Matrix lab_of_root = {{{0.2104542553, 0.7936177850, -0.0040720468},
                                 {1.9779984951, -2.4285922050, 0.4505937099},
                                 {0.0259040371, 0.7827717662, -0.8086757660}}};
constexpr Matrix root_of_lab = {{{1.0, 0.3963377774, 0.2158037573},
                                 {1.0, -0.1055613458, -0.0638541728},
                                 {1.0, -0.0894841775, -1.2914855480}}};
constexpr Matrix linear_of_lms = {{{4.0767416621, -3.3077115913, 0.2309699292},
                                   {-1.2684380046, 2.6097574011, -0.3413193965},
                                   {-0.0041960863, -0.7034186147, 1.7076147010}}};

using Vector = std::array<double, 3>;

[[nodiscard]] Vector multiply(const Matrix& matrix, const Vector& v) noexcept
{
  Vector result{};
  for (std::size_t row = 0; row < 3; ++row) {
    result[row] = matrix[row][0] * v[0] + matrix[row][1] * v[1] + matrix[row][2] * v[2];
  }
  return result;
}

/// sRGB transfer function, IEC 61966-2-1 (constants from memory).
[[nodiscard]] double to_linear(std::uint8_t channel) noexcept
{
  const double c = channel / 255.0;
  return c <= 0.04045 ? c / 12.92 : std::pow((c + 0.055) / 1.055, 2.4);
}

[[nodiscard]] std::uint8_t from_linear(double linear) noexcept
{
  const double c = std::clamp(linear, 0.0, 1.0);
  const double coded =
      c <= 0.0031308 ? 12.92 * c : 1.055 * std::pow(c, 1.0 / 2.4) - 0.055;
  return static_cast<std::uint8_t>(std::lround(255.0 * coded));
}

/// Both arms: lightness changes evenly, chroma rises quickly and stays inside sRGB.
[[nodiscard]] Color diverging_arm(double t, double hue_degrees, bool on_dark) noexcept
{
  const double hue = hue_degrees * std::numbers::pi / 180.0;
  const double chroma = 0.36 * t - 0.24 * t * t;
  const double lightness = on_dark ? 0.20 + 0.58 * t : 0.95 - 0.60 * t;
  return to_color({lightness, chroma * std::cos(hue), chroma * std::sin(hue)});
}

}  // namespace

OkLab to_oklab(Color color) noexcept
{
  Vector lms = multiply(lms_of_linear, {to_linear(color.red), to_linear(color.green),
                                        to_linear(color.blue)});
  for (double& value : lms) {
    value = std::cbrt(value);
  }
  const Vector lab = multiply(lab_of_root, lms);
  return {lab[0], lab[1], lab[2]};
}

Color to_color(OkLab color) noexcept
{
  Vector lms = multiply(root_of_lab, {color.lightness, color.a, color.b});
  for (double& value : lms) {
    value = value * value * value;
  }
  const Vector linear = multiply(linear_of_lms, lms);
  return {from_linear(linear[0]), from_linear(linear[1]), from_linear(linear[2])};
}

Color sequential_color(double t) noexcept
{
  const double place = std::isnan(t) ? 0.0 : std::clamp(t, 0.0, 1.0);
  return from_hex(viridis[static_cast<std::size_t>(std::lround(255.0 * place))]);
}

Color diverging_color(double t, bool on_dark) noexcept
{
  constexpr double blue_hue = 258.0;
  constexpr double red_hue = 27.0;
  const double place = std::isnan(t) ? 0.0 : std::clamp(t, -1.0, 1.0);
  return diverging_arm(std::abs(place), place < 0.0 ? blue_hue : red_hue, on_dark);
}

Color cyclic_color(double t) noexcept
{
  constexpr double lightness = 0.70;
  constexpr double chroma = 0.12;  // inside sRGB at every hue of this lightness
  const double angle =
      std::isfinite(t) ? 2.0 * std::numbers::pi * (t - std::floor(t)) : 0.0;
  return to_color({lightness, chroma * std::cos(angle), chroma * std::sin(angle)});
}

std::size_t tissue_color_count() noexcept
{
  return tissue_colors.size();
}

Color tissue_color(std::size_t index) noexcept
{
  const std::size_t own = tissue_colors.size() - 1;
  return from_hex(index == 0 ? tissue_colors[0] : tissue_colors[1 + (index - 1) % own]);
}

}  // namespace torsowave::postproc
