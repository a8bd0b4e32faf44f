/// \file
/// \brief "0.5 mm" to 0.0005: numbers with units, converted to SI.

#pragma once

#include <stdexcept>
#include <string>
#include <string_view>

namespace torsowave::scenarios {

/// What a quantity measures; each has its own list of units.
enum class Dimension {
  length,        ///< [m]
  frequency,     ///< [Hz]
  time,          ///< [s]
  fraction,      ///< written in %, [1]
  angle,         ///< [rad]
  conductivity,  ///< [S/m]
  density,       ///< [kg/m^3]
  level,         ///< [dB]
  power,         ///< [W], also written in dBm
  gain,          ///< [dBi]
  data_rate,     ///< [bit/s]
  working_time   ///< that a computation takes [s]
};

/// The text is no such quantity; what() says why and names the units accepted.
class QuantityError : public std::runtime_error {
public:
  using std::runtime_error::runtime_error;
};

/// Reads a number and a unit, with or without a space between them.
///
/// Decimal units shift the decimal exponent of the text before it is rounded, so the
/// result is the double nearest to the decimal value: "0.1 mm" is exactly the literal
/// 1e-4. \return  The value in the dimension's SI unit, finite. \throws QuantityError  No
/// number, no unit, another dimension's unit, or out of range.
[[nodiscard]] double parse_quantity(std::string_view text, Dimension dimension);

/// Reads a number that has no unit.
/// \throws QuantityError  Anything else than one finite decimal number.
[[nodiscard]] double parse_number(std::string_view text);

/// The units of a dimension for messages, e.g. "nm, um, mm, cm, m".
[[nodiscard]] std::string accepted_units(Dimension dimension);

/// A value in SI with a handy unit and four digits for messages, e.g. "2.45 GHz".
[[nodiscard]] std::string show_quantity(double value, Dimension dimension);

}  // namespace torsowave::scenarios
