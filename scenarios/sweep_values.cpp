#include "scenarios/sweep_values.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "scenarios/message_text.hpp"

namespace torsowave::scenarios {
namespace {

constexpr std::string_view amount_rule =
    "one number with its unit, as the scenario writes it";
constexpr std::size_t max_values = 100'000;

struct Unit {
  Dimension dimension;
  std::string_view si;
};
constexpr std::array dimensions{
    Unit{Dimension::length, "m"},       Unit{Dimension::frequency, "Hz"},
    Unit{Dimension::time, "s"},         Unit{Dimension::fraction, "1"},
    Unit{Dimension::angle, "rad"},      Unit{Dimension::conductivity, "S/m"},
    Unit{Dimension::density, "kg/m3"},  Unit{Dimension::level, "dB"},
    Unit{Dimension::power, "W"},        Unit{Dimension::gain, "dBi"},
    Unit{Dimension::data_rate, "bit/s"}};

/// A number and the unit behind it, apart.
struct Amount {
  double number = 0.0;
  std::string unit;  ///< empty: a bare number
};

std::optional<double> in_si(const Amount& amount, Dimension dimension)
{
  try {
    return parse_quantity(fmt::format("{} {}", amount.number, amount.unit), dimension);
  } catch (const QuantityError&) {
    return std::nullopt;
  }
}

/// What a unit measures; null if it is none.
const Unit* kind_of(const std::string& unit)
{
  const auto* const found = std::ranges::find_if(dimensions, [&](const Unit& u) {
    return in_si({1.0, unit}, u.dimension).has_value();
  });
  return found == dimensions.end() ? nullptr : &*found;
}

std::optional<Amount> amount_of(std::string_view text)
{
  constexpr std::string_view of_numbers = "+-.0123456789";
  std::size_t end = std::min(text.find_first_not_of(of_numbers), text.size());
  // "1e3 Hz": an exponent belongs to the number, a unit that begins with e is none.
  if (end > 0 && end + 1 < text.size() && (text[end] == 'e' || text[end] == 'E')) {
    end = std::min(text.find_first_not_of(of_numbers, end + 1), text.size());
  }
  try {
    const double number = parse_number(text.substr(0, end));
    const std::size_t begin = std::min(text.find_first_not_of(" \t", end), text.size());
    const std::string unit(text.substr(begin));
    const bool known = unit.empty() || kind_of(unit) != nullptr;
    return known ? std::optional{Amount{number, unit}} : std::nullopt;
  } catch (const QuantityError&) {
    return std::nullopt;
  }
}

std::string amount_text(double number, const std::string& unit, int digits)
{
  return fmt::format("{:.{}g}{}{}", number, digits, unit.empty() ? "" : " ", unit);
}

std::optional<Amount> read_amount(const Value& value)
{
  const auto text = value.text(amount_rule);
  if (!text) {
    return std::nullopt;
  }
  std::optional<Amount> amount = amount_of(*text);
  if (!amount) {
    value.fault(
        fmt::format("must be {}, e.g. 10 mm, got {}", amount_rule, in_quotes(*text)));
  }
  return amount;
}

/// All in the unit of the first. Levels in dBm are not mixed with others: their steps
/// are not those of watts.
std::optional<std::vector<double>> in_one_unit(const std::vector<Amount>& amounts)
{
  const std::string& unit = amounts.front().unit;
  const Unit* kind = kind_of(unit);
  std::vector<double> numbers;
  for (const Amount& amount : amounts) {
    if (amount.unit == unit) {
      numbers.push_back(amount.number);
      continue;
    }
    const bool level = amount.unit == "dBm" || unit == "dBm";
    const auto si = kind == nullptr ? std::nullopt : in_si(amount, kind->dimension);
    if (!si || level) {
      return std::nullopt;
    }
    numbers.push_back(*si / *in_si({1.0, unit}, kind->dimension));
  }
  return numbers;
}

/// Two amounts in one unit.
std::optional<std::pair<std::array<double, 2>, std::string>> read_pair(
    const Value& whole, const Value& first, const Value& second)
{
  const auto a = read_amount(first);
  const auto b = read_amount(second);
  if (!a || !b) {
    return std::nullopt;
  }
  const auto numbers = in_one_unit({*a, *b});
  if (!numbers) {
    whole.fault(fmt::format(
        "the units of {} and {} do not go together; write both in "
        "one unit",
        amount_text(a->number, a->unit, 9), amount_text(b->number, b->unit, 9)));
    return std::nullopt;
  }
  return std::pair{std::array{(*numbers)[0], (*numbers)[1]}, a->unit};
}

void read_list(const Value& value, Variation& variation)
{
  const auto items = value.items("a list of 1 to 100000 values", 1, max_values);
  for (const Value& item : items.value_or(std::vector<Value>{})) {
    if (item.kind() == Node::Kind::empty) {
      item.fault("holds nothing; write a value as the scenario does");
    }
    variation.values.push_back(item.node());
  }
}

void read_range(Section& range, Variation& variation)
{
  const auto ends = read_pair(range.value(), range.require("from", "10 mm"),
                              range.require("to", "50 mm"));
  const auto count = range.require("count", "5").integer(2, static_cast<int>(max_values));
  const bool log = range.get("spacing")
                       .choice<bool>({{"linear", false}, {"log", true}})
                       .value_or(false);
  if (!ends || !count) {
    return;
  }
  const auto [from, to] = ends->first;
  if (log && !(from > 0.0 && to > 0.0)) {
    range.value().fault("spacing: log needs both ends above 0");
    return;
  }
  for (int k = 0; k < *count; ++k) {
    const double share = k / (*count - 1.0);
    const double number =
        log ? from * std::pow(to / from, share) : from + share * (to - from);
    variation.values.push_back(
        scalar_node(amount_text(k + 1 == *count ? to : number, ends->second, 9)));
  }
}

void read_within(const Value& value, Variation& variation)
{
  const auto items = value.items("a list of two bounds, e.g. [0.8, 1.2]", 2, 2);
  const auto ends = items ? read_pair(value, (*items)[0], (*items)[1]) : std::nullopt;
  if (!ends) {
    return;
  }
  const auto bounds = in_one_unit({{1.0, variation.unit},
                                   {ends->first[0], ends->second},
                                   {ends->first[1], ends->second}});
  constexpr double least = 1e-9;
  if (!bounds) {
    value.fault("its unit does not go with that of the distribution");
    return;
  }
  variation.distribution->within = {(*bounds)[1], (*bounds)[2]};
  if (!((*bounds)[1] < (*bounds)[2])) {
    value.fault("the bounds must rise; write the lower one first");
  } else if (probability_within(*variation.distribution) < least) {
    value.fault("leaves nothing of the distribution; widen it");
  }
}

/// \param sigma  whether the second number of a lognormal is being read: it has no unit
std::optional<std::pair<std::array<double, 2>, std::string>> read_parameters(
    const Value& value, Distribution::Kind kind)
{
  const auto items = value.items("a list of two numbers, e.g. [1, 0.05]", 2, 2);
  if (!items) {
    return std::nullopt;
  }
  if (kind != Distribution::Kind::lognormal) {
    return read_pair(value, (*items)[0], (*items)[1]);
  }
  const auto median = read_amount((*items)[0]);
  const auto sigma =
      (*items)[1].number({0.0, 10.0, true,
                          "a bare number greater than 0 and at most 10: the standard "
                          "deviation of the natural logarithm"});
  if (!median || !sigma) {
    return std::nullopt;
  }
  return std::pair{std::array{median->number, *sigma}, median->unit};
}

void read_distribution(Section& section, Variation& variation)
{
  using Kind = Distribution::Kind;
  const Value value = section.exactly_one({"normal", "lognormal", "uniform"});
  const Kind kind = value.path() == section.path_of("normal")      ? Kind::normal
                    : value.path() == section.path_of("lognormal") ? Kind::lognormal
                                                                   : Kind::uniform;
  const auto parameters = read_parameters(value, kind);
  const Value within = section.get("within");
  if (!parameters) {
    return;
  }
  const auto [first, second] = parameters->first;
  variation.distribution = {kind, first, second, {}};
  variation.unit = parameters->second;
  if (kind == Kind::normal && !(second > 0.0)) {
    value.fault("the standard deviation, its second number, must be greater than 0");
  } else if (kind == Kind::lognormal && !(first > 0.0)) {
    value.fault("the median, its first number, must be greater than 0");
  } else if (kind == Kind::uniform && !(first < second)) {
    value.fault("the bounds must rise; write the lower one first");
  } else if (within) {
    read_within(within, variation);
  }
}

}  // namespace

NodePtr Variation::draw(double fraction) const
{
  constexpr int digits = 6;  // so that no machine's last bit shows in a scenario
  if (distribution) {
    return scalar_node(amount_text(value_at(*distribution, fraction), unit, digits));
  }
  const auto index =
      static_cast<std::size_t>(fraction * static_cast<double>(values.size()));
  return values[std::min(index, values.size() - 1)];
}

std::optional<Variation> read_variation(const std::string& path, const Value& value,
                                        bool random)
{
  Variation variation;
  variation.path = path;
  variation.mark = value.mark();
  const bool sound = value.reading().sound([&] {
    try {
      variation.steps = parse_path(path);
    } catch (const PathError& error) {
      value.fault(error.what());
    }
    if (value.kind() == Node::Kind::sequence) {
      read_list(value, variation);
      return;
    }
    if (value.kind() != Node::Kind::map) {
      value.fault(
          "must be a list of values, a range {from: 10 mm, to: 50 mm, count: 5} or, with "
          "combine: {random: ...}, a distribution such as {normal: [1, 0.05]}");
      return;
    }
    Section section(value);
    if (section.get("from") || section.get("to") || section.get("count")) {
      read_range(section, variation);
    } else {
      if (!random) {
        value.fault(
            "a distribution needs combine: {random: {count: 100, seed: 1}}; otherwise "
            "give a list or a range {from: 10 mm, to: 50 mm, count: 5}");
      }
      read_distribution(section, variation);
    }
    section.reject_others();
  });
  return sound ? std::optional{std::move(variation)} : std::nullopt;
}

std::optional<Numbers> as_numbers(const std::vector<NodePtr>& nodes)
{
  std::vector<Amount> amounts;
  for (const NodePtr& node : nodes) {
    const auto amount =
        node->kind == Node::Kind::scalar ? amount_of(node->text) : std::nullopt;
    if (!amount) {
      return std::nullopt;
    }
    amounts.push_back(*amount);
  }
  if (amounts.empty()) {
    return std::nullopt;
  }
  Numbers numbers;
  numbers.unit = amounts.front().unit;
  const Unit* kind = kind_of(numbers.unit);
  const bool one_unit = std::ranges::all_of(
      amounts, [&](const Amount& a) { return a.unit == numbers.unit; });
  for (const Amount& amount : amounts) {
    const auto si = one_unit          ? std::optional{amount.number}
                    : kind == nullptr ? std::nullopt
                                      : in_si(amount, kind->dimension);
    if (!si) {
      return std::nullopt;
    }
    numbers.values.push_back(*si);
  }
  if (!one_unit) {
    numbers.unit = kind->si;
  }
  return numbers;
}

}  // namespace torsowave::scenarios
