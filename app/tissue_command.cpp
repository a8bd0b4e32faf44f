#include "app/tissue_command.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cstddef>
#include <limits>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "app/exit_codes.hpp"
#include "app/terminal.hpp"
#include "app/tissue_report.hpp"
#include "materials/tissue.hpp"
#include "scenarios/message_text.hpp"
#include "scenarios/quantity.hpp"

namespace torsowave::app {
namespace {

// Range of the parametric model: S. Gabriel, R. W. Lau, C. Gabriel, Phys. Med. Biol. 41
// (1996) 2271-2293.
constexpr double lowest_frequency = 10.0;  // [Hz]
constexpr double highest_frequency = 100e9;

// An implant band, two bands of short-range radio.
constexpr auto usual_frequencies =
    std::to_array<std::string_view>({"403.5 MHz", "915 MHz", "2.45 GHz"});

struct TissueArguments {
  std::vector<std::string> names;
  std::vector<std::string> frequencies;
  bool csv = false;
  bool json = false;
  bool quiet = false;
};

using Faults = std::vector<std::string>;

std::vector<std::string> library_names()
{
  std::vector<std::string> names;
  for (const materials::Tissue& tissue : materials::tissue_library()) {
    names.push_back(tissue.name);
  }
  return names;
}

/// ` (did you mean ...?)`: the names that contain `word`, or else the nearest one.
std::string name_hint(const std::string& word)
{
  std::vector<std::string> names = library_names();
  const std::string nearest = scenarios::hint(word, names);
  std::erase_if(names, [&](const std::string& name) {
    return word.size() < 3 || name.find(word) == std::string::npos;
  });
  return names.empty() ? nearest
                       : fmt::format(" (did you mean {}?)", fmt::join(names, ", "));
}

Tissues chosen_tissues(const TissueArguments& options, Faults& faults)
{
  Tissues tissues;
  for (const std::string& name : options.names) {
    if (const materials::Tissue* tissue = materials::find_tissue(name)) {
      tissues.push_back(tissue);
    } else {
      faults.push_back(fmt::format(
          "{} is not in the library of tissues{}; \"torsowave tissue\" lists it",
          scenarios::in_quotes(name), name_hint(name)));
    }
  }
  return tissues;
}

/// What to do about a text that is no frequency because of how the line was written.
std::string command_line_hint(const std::string& text)
{
  if (materials::find_tissue(text) != nullptr) {
    return "; tissues stand before --frequency";
  }
  return "; on the command line: 2.45GHz, or \"2.45 GHz\" in quotes";
}

void add_frequency(const std::string& text, std::vector<NamedFrequency>& frequencies,
                   Faults& faults)
{
  try {
    const double value = scenarios::parse_quantity(text, scenarios::Dimension::frequency);
    if (value >= lowest_frequency && value <= highest_frequency) {
      frequencies.push_back({text, value});
      return;
    }
    faults.push_back(
        fmt::format("--frequency: {} is outside the range of the tissue model, 10 Hz to "
                    "100 GHz (S. Gabriel, R. W. Lau, C. Gabriel 1996)",
                    scenarios::in_quotes(text)));
  } catch (const scenarios::QuantityError& error) {
    faults.push_back(
        fmt::format("--frequency: {}{}", error.what(), command_line_hint(text)));
  }
}

std::vector<NamedFrequency> chosen_frequencies(const TissueArguments& options,
                                               Faults& faults)
{
  std::vector<std::string> texts = options.frequencies;
  if (texts.empty()) {
    texts.assign(usual_frequencies.begin(), usual_frequencies.end());
  }
  std::vector<NamedFrequency> frequencies;
  for (const std::string& text : texts) {
    add_frequency(text, frequencies, faults);
  }
  return frequencies;
}

/// A text for people with its notes below, which have lines of a readable length.
template <class Notes>
std::string with_notes(const std::string& text, const TissueArguments& options,
                       std::size_t most_columns, Notes notes)
{
  constexpr std::size_t readable = 100;
  return options.quiet ? text : text + "\n" + notes(std::min(most_columns, readable));
}

std::string library(const TissueArguments& options, std::size_t most_columns)
{
  if (options.csv) {
    return library_csv();
  }
  return options.json ? library_json()
                      : with_notes(library_text(most_columns), options, most_columns,
                                   library_notes);
}

std::string waves(const TissueArguments& options, const Tissues& tissues,
                  const std::vector<NamedFrequency>& frequencies,
                  std::size_t most_columns)
{
  if (options.csv) {
    return waves_csv(tissues, frequencies);
  }
  if (options.json) {
    return waves_json(tissues, frequencies);
  }
  return with_notes(waves_text(tissues, frequencies, most_columns), options, most_columns,
                    [&](std::size_t columns) { return waves_notes(tissues, columns); });
}

int show(const TissueArguments& options)
{
  Faults faults;
  const Tissues tissues = chosen_tissues(options, faults);
  const std::vector<NamedFrequency> frequencies = chosen_frequencies(options, faults);
  if (options.names.empty() && !options.frequencies.empty()) {
    faults.emplace_back("--frequency: of which tissue? Name one or more before it");
  }
  if (!faults.empty()) {
    throw CLI::ValidationError(fmt::format("{}", fmt::join(faults, "\n")));
  }
  const std::size_t most_columns =
      result_columns().value_or(std::numeric_limits<std::size_t>::max());
  print_result(options.names.empty()
                   ? library(options, most_columns)
                   : waves(options, tissues, frequencies, most_columns));
  return exit_done;
}

}  // namespace

void add_tissue_command(const Commands& commands)
{
  CLI::App* command = commands.program.add_subcommand(
      "tissue", "Properties of tissues and capsule materials; lists them without a name");
  const auto options = std::make_shared<TissueArguments>();
  command->add_option("NAME", options->names, "tissues, as the list names them")
      ->type_name("");
  command
      ->add_option("--frequency", options->frequencies,
                   "one or more, with unit, 10 Hz to 100 GHz "
                   "(default: 403.5 MHz, 915 MHz, 2.45 GHz)")
      ->type_name("F");
  CLI::Option* csv = command->add_flag("--csv", options->csv,
                                       "comma-separated values in full precision");
  command->add_flag("--json", options->json, "JSON in SI units, with sources")
      ->excludes(csv);
  command->add_flag("--quiet", options->quiet,
                    "tables alone, without sources and caution");
  command->footer(
      "examples:\n"
      "  torsowave tissue\n"
      "  torsowave tissue muscle liver --frequency \"403.5 MHz\" 2.45GHz\n"
      "  torsowave tissue skin_dry --csv > skin.csv");
  command->callback([options, &chosen = commands.chosen] {
    chosen = [options] { return show(*options); };
  });
}

}  // namespace torsowave::app
