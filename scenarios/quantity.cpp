#include "scenarios/quantity.hpp"

#include <fmt/format.h>

#include <array>
#include <charconv>
#include <cmath>
#include <cstddef>
#include <numbers>
#include <optional>
#include <span>
#include <stdexcept>
#include <system_error>

#include "scenarios/message_text.hpp"

namespace torsowave::scenarios {
namespace {

enum class Scale { decimal, degree, dbm, minute, hour };

struct Unit {
  std::string_view name;
  int exponent = 0;  ///< decimal: 10^exponent SI units
  Scale scale = Scale::decimal;
};

constexpr auto lengths =
    std::to_array<Unit>({{"nm", -9}, {"um", -6}, {"mm", -3}, {"cm", -2}, {"m", 0}});
constexpr auto frequencies =
    std::to_array<Unit>({{"Hz", 0}, {"kHz", 3}, {"MHz", 6}, {"GHz", 9}, {"THz", 12}});
constexpr auto times = std::to_array<Unit>(
    {{"fs", -15}, {"ps", -12}, {"ns", -9}, {"us", -6}, {"ms", -3}, {"s", 0}});
constexpr auto fraction_units = std::to_array<Unit>({{"%", -2}});
constexpr auto angles = std::to_array<Unit>({{"deg", 0, Scale::degree}, {"rad", 0}});
constexpr auto conductivities = std::to_array<Unit>({{"mS/m", -3}, {"S/m", 0}});
constexpr auto densities = std::to_array<Unit>({{"kg/m3", 0}, {"g/cm3", 3}});
constexpr auto levels = std::to_array<Unit>({{"dB", 0}});
constexpr auto powers = std::to_array<Unit>(
    {{"nW", -9}, {"uW", -6}, {"mW", -3}, {"W", 0}, {"dBm", 0, Scale::dbm}});
constexpr auto gains = std::to_array<Unit>({{"dBi", 0}});
constexpr auto data_rates =
    std::to_array<Unit>({{"bit/s", 0}, {"kbit/s", 3}, {"Mbit/s", 6}});
constexpr auto working_times = std::to_array<Unit>(
    {{"ms", -3}, {"s", 0}, {"min", 0, Scale::minute}, {"h", 0, Scale::hour}});

struct Family {
  std::string_view noun;
  std::string_view example;
  std::span<const Unit> units;
};

Family family(Dimension dimension)
{
  switch (dimension) {
    case Dimension::length:
      return {"a length", "0.5 mm", lengths};
    case Dimension::frequency:
      return {"a frequency", "2.45 GHz", frequencies};
    case Dimension::time:
      return {"a time", "12 ns", times};
    case Dimension::fraction:
      return {"a fraction", "1 %", fraction_units};
    case Dimension::angle:
      return {"an angle", "30 deg", angles};
    case Dimension::conductivity:
      return {"a conductivity", "1.74 S/m", conductivities};
    case Dimension::density:
      return {"a density", "1000 kg/m3", densities};
    case Dimension::level:
      return {"a level", "60 dB", levels};
    case Dimension::power:
      return {"a power", "25 uW", powers};
    case Dimension::gain:
      return {"a gain", "2 dBi", gains};
    case Dimension::data_rate:
      return {"a data rate", "100 kbit/s", data_rates};
    case Dimension::working_time:
      return {"a time", "10 min", working_times};
  }
  throw std::logic_error("dimension without units");
}

bool is_blank(char c)
{
  return c == ' ' || c == '\t';
}

bool is_digit(char c)
{
  return c >= '0' && c <= '9';
}

std::string_view trimmed(std::string_view text)
{
  while (!text.empty() && is_blank(text.front())) {
    text.remove_prefix(1);
  }
  while (!text.empty() && is_blank(text.back())) {
    text.remove_suffix(1);
  }
  return text;
}

/// A decimal number at the start of a text: [sign] digits [. digits] [e exponent].
struct Prefix {
  std::string_view mantissa;    ///< with its sign, no '+'
  std::optional<int> exponent;  ///< empty: beyond int
  std::string_view rest;        ///< blanks skipped
};

std::size_t skip_digits(std::string_view text, std::size_t at)
{
  while (at < text.size() && is_digit(text[at])) {
    ++at;
  }
  return at;
}

/// Length of "e-3" at the start of `text`; 0 if there is no whole exponent.
std::size_t exponent_length(std::string_view text)
{
  if (text.empty() || (text[0] != 'e' && text[0] != 'E')) {
    return 0;
  }
  const std::size_t digits =
      text.size() > 1 && (text[1] == '-' || text[1] == '+') ? 2 : 1;
  const std::size_t end = skip_digits(text, digits);
  return end > digits ? end : 0;
}

std::optional<int> parse_exponent(std::string_view text)
{
  if (text.empty()) {
    return 0;
  }
  text.remove_prefix(text.size() > 1 && text[1] == '+' ? 2 : 1);
  int value = 0;
  const auto [end, error] =
      std::from_chars(text.data(), text.data() + text.size(), value);
  const bool usable = error == std::errc{} && value > -10'000 && value < 10'000;
  return usable ? std::optional<int>{value} : std::nullopt;
}

std::optional<Prefix> number_prefix(std::string_view text)
{
  if (text.starts_with('+') && !text.starts_with("+-")) {
    text.remove_prefix(1);
  }
  const std::size_t begin = text.starts_with('-') ? 1 : 0;
  std::size_t end = skip_digits(text, begin);
  std::size_t digits = end - begin;
  if (end < text.size() && text[end] == '.') {
    const std::size_t fraction = skip_digits(text, end + 1);
    digits += fraction - end - 1;
    end = fraction;
  }
  if (digits == 0) {
    return std::nullopt;
  }
  const std::size_t tail = exponent_length(text.substr(end));
  return Prefix{text.substr(0, end), parse_exponent(text.substr(end, tail)),
                trimmed(text.substr(end + tail))};
}

[[noreturn]] void refuse_range(std::string_view shown)
{
  throw QuantityError(fmt::format(
      "{} is beyond the range of numbers; write a smaller exponent", in_quotes(shown)));
}

/// The double nearest to mantissa * 10^(exponent + shift).
double rounded(const Prefix& prefix, int shift, std::string_view shown)
{
  double value = 0.0;
  if (prefix.exponent) {
    const std::string text =
        fmt::format("{}e{}", prefix.mantissa, *prefix.exponent + shift);
    const auto [end, error] =
        std::from_chars(text.data(), text.data() + text.size(), value);
    if (error == std::errc{} && std::isfinite(value)) {
      return value;
    }
  }
  refuse_range(shown);
}

double in_si(const Prefix& prefix, const Unit& unit, std::string_view shown)
{
  const double value = rounded(prefix, unit.exponent, shown);
  switch (unit.scale) {
    case Scale::decimal:
      return value;
    case Scale::degree:
      return static_cast<double>(static_cast<long double>(value) *
                                 std::numbers::pi_v<long double> / 180.0L);
    case Scale::dbm:  // P = 1 mW * 10^(x/10)
      return std::pow(10.0, value / 10.0 - 3.0);
    case Scale::minute:
      return 60.0 * value;
    case Scale::hour:
      return 3600.0 * value;
  }
  throw std::logic_error("unit without a scale");
}

std::string comma_hint(std::string_view rest)
{
  return rest.starts_with(',') ? "; the decimal sign is a point" : "";
}

}  // namespace

std::string accepted_units(Dimension dimension)
{
  std::string list;
  for (const Unit& unit : family(dimension).units) {
    list += list.empty() ? "" : ", ";
    list += unit.name;
  }
  return list;
}

double parse_quantity(std::string_view text, Dimension dimension)
{
  const Family kind = family(dimension);
  const std::string remedy =
      fmt::format("write {} with its unit, e.g. {}; units accepted: {}", kind.noun,
                  kind.example, accepted_units(dimension));
  const std::optional<Prefix> prefix = number_prefix(trimmed(text));
  if (!prefix) {
    throw QuantityError(
        fmt::format("{} is not {}; {}", in_quotes(text), kind.noun, remedy));
  }
  if (prefix->rest.empty()) {
    throw QuantityError(fmt::format("{} has no unit; {}", in_quotes(text), remedy));
  }
  for (const Unit& unit : kind.units) {
    if (unit.name == prefix->rest) {
      const double value = in_si(*prefix, unit, text);
      if (!std::isfinite(value)) {  // 1e4 dBm, 1e308 h
        refuse_range(text);
      }
      return value;
    }
  }
  throw QuantityError(fmt::format("{} is not a unit of {}{}; {}", in_quotes(prefix->rest),
                                  kind.noun.substr(kind.noun.find(' ') + 1),
                                  comma_hint(prefix->rest), remedy));
}

double parse_number(std::string_view text)
{
  const std::optional<Prefix> prefix = number_prefix(trimmed(text));
  if (!prefix) {
    throw QuantityError(fmt::format("{} is not a number; write a bare number, e.g. 0.99",
                                    in_quotes(text)));
  }
  if (!prefix->rest.empty()) {
    throw QuantityError(fmt::format("{} must be a bare number, without {}{}",
                                    in_quotes(text), in_quotes(prefix->rest),
                                    comma_hint(prefix->rest)));
  }
  return rounded(*prefix, 0, text);
}

std::string show_quantity(double value, Dimension dimension)
{
  const Family kind = family(dimension);
  const Unit* best = nullptr;
  for (const Unit& unit : kind.units) {
    const bool fits = unit.scale == Scale::decimal &&
                      std::abs(value) >= std::pow(10.0, unit.exponent) * (1.0 - 1e-12);
    if (fits && (best == nullptr || unit.exponent > best->exponent)) {
      best = &unit;
    }
  }
  if (best == nullptr) {  // zero, or smaller than the smallest unit
    for (const Unit& unit : kind.units) {
      if (unit.scale == Scale::decimal && unit.exponent == 0) {
        best = &unit;
      }
    }
  }
  if (best == nullptr) {
    best = &kind.units.front();
  }
  return fmt::format("{:.4g} {}", value / std::pow(10.0, best->exponent), best->name);
}

}  // namespace torsowave::scenarios
