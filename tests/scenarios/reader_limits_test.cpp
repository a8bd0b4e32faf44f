#include <fmt/format.h>
#include <gtest/gtest.h>

#include <chrono>
#include <filesystem>
#include <fstream>
#include <random>
#include <string>
#include <vector>

#include "scenarios/document.hpp"
#include "scenarios/example_scenario.hpp"
#include "scenarios/input_error.hpp"
#include "scenarios/reader.hpp"
#include "scenarios/samples_file.hpp"
#include "scenarios/sweep_plan.hpp"

namespace torsowave::scenarios {
namespace {

using testing::edited;
using testing::example;

std::string message_of(const std::string& text)
{
  try {
    static_cast<void>(parse_scenario(text, "slice.yaml"));
  } catch (const InputError& error) {
    return error.what();
  }
  return "";
}

std::string message_of_file(const std::filesystem::path& path)
{
  try {
    static_cast<void>(read_scenario(path));
  } catch (const InputError& error) {
    return error.what();
  }
  return "";
}

std::filesystem::path scratch(const std::string& name)
{
  return std::filesystem::path(::testing::TempDir()) / name;
}

TEST(Reader, ReportsAllFaultsInTheOrderOfTheFile)
{
  std::string text = edited(example, "mode: TMz", "mode: TMx");
  text = edited(text, "cell: 0.5 mm", "cell: 5");
  text = edited(text, "tissue: muscle", "tissue: muscel");
  text = edited(text, "sectors: 72", "sectors: 1");
  text = edited(text, "link:", "lnk:");
  EXPECT_EQ(
      message_of(text),
      R"(slice.yaml:2:7: mode: "TMx" is not known (did you mean "TMz"?); accepted: 1D, TMz, TEz
slice.yaml:4:9: grid.cell: "5" has no unit; write a length with its unit, e.g. 0.5 mm; units accepted: nm, um, mm, cm, m
slice.yaml:15:15: body.shapes[1].tissue: unknown tissue "muscel" (did you mean "muscle"?); accepted: the names that `torsowave tissue` lists and those under materials.custom
slice.yaml:37:12: outputs.sectors: must be a whole number from 4 to 3600, got 1
slice.yaml:40:1: lnk: unknown key (did you mean "link"?); accepted: title, mode, materials, grid, body, incident, implant, waveform, frequencies, duration, outputs, link)");
}

TEST(Reader, MissingSectionsAreNamed)
{
  const std::string message = message_of("title: nothing else\n");
  for (const char* key : {"grid", "body", "implant", "waveform"}) {
    EXPECT_NE(message.find(fmt::format("slice.yaml:1:1: {}: is missing", key)),
              std::string::npos)
        << message;
  }
}

TEST(Reader, EmptyOrNotAMap)
{
  EXPECT_NE(message_of("").find("slice.yaml:1:1: the scenario is empty"),
            std::string::npos);
  EXPECT_NE(message_of("# nothing\n").find("is empty"), std::string::npos);
  EXPECT_NE(message_of("[1, 2]\n").find("must be a map of keys"), std::string::npos);
  EXPECT_NE(message_of("word\n").find("must be a map of keys"), std::string::npos);
}

TEST(Reader, ColumnsCountCharacters)
{
  const std::string message = message_of(edited(example, "mode: TMz", "{a: \xC3\xA4}"));
  EXPECT_NE(message.find("slice.yaml:2:"), std::string::npos) << message;
  const std::string flow =
      edited(example, "implant:\n  position",
             "implant: {\"\xC3\xA4\xE2\x82\xAC\": 1, sourc: x}\nlink2:\n  x");
  EXPECT_NE(message_of(flow).find("slice.yaml:26:20: implant.sourc: unknown key"),
            std::string::npos)
      << message_of(flow);
}

TEST(Reader, ByteOrderMarkAndCarriageReturnsAreFine)
{
  std::string text = "\xEF\xBB\xBF";
  for (const char c : example) {
    text += c == '\n' ? "\r\n" : std::string(1, c);
  }
  EXPECT_EQ(message_of(text), "");
}

TEST(Reader, NamesFilesThatCannotBeRead)
{
  EXPECT_EQ(message_of_file(scratch("no_such.yaml")),
            scratch("no_such.yaml").string() +
                ": no such file; give the path of a scenario (YAML)");
  EXPECT_NE(message_of_file(::testing::TempDir()).find("is a directory"),
            std::string::npos);
}

TEST(Reader, ReadsAFileByteForByte)
{
  const auto path = scratch("torsowave_reader_test.yaml");
  std::ofstream(path, std::ios::binary) << example;
  const Scenario scenario = read_scenario(path);
  EXPECT_EQ(scenario.text, example);
  EXPECT_EQ(scenario.path, path);
  EXPECT_EQ(scenario.where("grid.cell").file, path.string());
  std::filesystem::remove(path);
}

TEST(Reader, ResolvesSamplesAgainstTheFolderOfTheScenario)
{
  const auto path = scratch("torsowave_samples.csv");
  std::ofstream(path) << "0\n";
  const std::string text =
      edited(example, "{type: pulse, center: 2.45 GHz, bandwidth: 1 GHz}",
             "{type: samples, file: torsowave_samples.csv}");
  EXPECT_EQ(parse_scenario(text, scratch("slice.yaml")).waveform.file, path);
  std::filesystem::remove(path);
}

TEST(Reader, RefusesFilesBeyondTheLimit)
{
  const std::string text = example + std::string(max_scenario_bytes, '#');
  EXPECT_NE(message_of(text).find("larger than the 4 MiB"), std::string::npos);
  const auto path = scratch("torsowave_large.yaml");
  std::ofstream(path) << text;
  EXPECT_NE(message_of_file(path).find("larger than the 4 MiB"), std::string::npos);
  std::filesystem::remove(path);
}

TEST(Reader, RefusesAnAliasBombQuickly)
{
  std::string bomb = "a0: &a0 [x, x, x, x, x, x, x, x, x, x]\n";
  for (int level = 1; level < 30; ++level) {
    bomb += fmt::format("a{0}: &a{0} [*a{1}, *a{1}, *a{1}, *a{1}, *a{1}, *a{1}, *a{1}]\n",
                        level, level - 1);
  }
  const auto start = std::chrono::steady_clock::now();
  const std::string message = message_of(bomb);
  const auto took = std::chrono::steady_clock::now() - start;
  EXPECT_NE(message.find("aliases counted at each use"), std::string::npos) << message;
  EXPECT_LT(took, std::chrono::seconds(1));
}

TEST(Reader, RefusesDeepNesting)
{
  std::string nested = "title: ";
  nested.append(40, '[').append(40, ']');
  const std::string message = message_of(nested);
  EXPECT_NE(
      message.find("slice.yaml:1:39: more than 32 maps and lists inside each other"),
      std::string::npos)
      << message;
  for (const char* opening : {"[", "{", "- ", "? ", "{a: ", "[a, "}) {
    std::string deep;
    for (int level = 0; level < 20'000; ++level) {
      deep += opening;
    }
    EXPECT_NE(message_of(deep), "") << opening;
  }
}

TEST(Reader, KeepsAHopelessListOfFaultsShort)
{
  std::string text = example;
  for (int i = 0; i < 5000; ++i) {
    text += fmt::format("wrong{}: {}\n", i, i);
  }
  const std::string message = message_of(text);
  EXPECT_NE(message.find("and 4900 more faults"), std::string::npos);
}

TEST(Reader, MessagesAreHarmlessToATerminal)
{
  const std::string message =
      message_of(edited(example, "mode: TMz", R"(mode: "\e[31mred\0")"));
  EXPECT_NE(message.find("\\x1b[31mred\\x00"), std::string::npos) << message;
  EXPECT_EQ(message.find('\x1b'), std::string::npos);
}

/// A few random edits of a text: other characters, cuts, and pieces copied elsewhere.
std::string mutated(std::string text, std::mt19937& random)
{
  static const std::string letters = "[]{}:,-?&*!|>'\"%@`# \n\t\\~<=a0.\xFF";
  const auto below = [&](std::size_t n) {
    return static_cast<std::size_t>(random()) % n;
  };
  const std::size_t edits = 1 + below(5);
  for (std::size_t e = 0; e < edits; ++e) {
    const std::size_t at = below(text.size());
    switch (below(4)) {
      case 0:
        text[at] = letters[below(letters.size())];
        break;
      case 1:
        text.insert(at, 1, letters[below(letters.size())]);
        break;
      case 2:
        text.erase(at, 1 + below(6));
        break;
      default:
        text.insert(at, text.substr(below(text.size()), below(40)));
    }
  }
  return text;
}

std::string message_of_samples(const std::filesystem::path& path)
{
  try {
    static_cast<void>(read_samples(path));
  } catch (const InputError& error) {
    return error.what();
  }
  return "";
}

TEST(Samples, HaveAnEnd)
{
  EXPECT_NE(message_of_samples("/dev/zero").find("cannot be read"), std::string::npos);
  const auto path = scratch("torsowave_endless.csv");
  std::ofstream(path) << "0 1\n" << std::string(1'000'000, '1');
  EXPECT_EQ(message_of_samples(path),
            path.string() + ":2:1: longer than 4096 characters");
  std::filesystem::resize_file(path, std::uintmax_t{2} << 30U);  // a hole
  EXPECT_NE(message_of_samples(path).find("of at most 1 GiB"), std::string::npos);
  std::filesystem::remove(path);
}

TEST(Samples, KeepTheirLastLineWithoutAnEnd)
{
  const auto path = scratch("torsowave_short.csv");
  std::ofstream(path) << "# s A\r\n0, 1\r\n\n1e-9;2";
  const Samples samples = read_samples(path);
  EXPECT_EQ(samples.time, (std::vector<double>{0.0, 1e-9}));
  EXPECT_EQ(samples.current, (std::vector<double>{1.0, 2.0}));
  std::filesystem::remove(path);
}

TEST(Samples, AreRefusedWithTheirLine)
{
  const auto path = scratch("torsowave_wrong.csv");
  const auto message_of = [&](const char* text) {
    std::ofstream(path) << text;
    return message_of_samples(path);
  };
  EXPECT_NE(message_of("0 1\n1e-9 one\n").find(":2:1: "), std::string::npos);
  EXPECT_NE(message_of("0 1\n1e-9\n").find("a time in seconds and a current in amperes"),
            std::string::npos);
  EXPECT_EQ(message_of("0 1\n# s A\n0 2\n"),
            path.string() + ":3:1: the times must ascend");
  EXPECT_EQ(message_of("0 1\n"), path.string() + ": holds fewer than 2 samples");
  std::filesystem::remove(path);
}

TEST(Sweep, ReadsNoDevice)
{
  const auto base = scratch("torsowave_base.yaml");
  const auto sweep = scratch("torsowave_sweep.yaml");
  std::ofstream(base) << edited(example,
                                "{type: pulse, center: 2.45 GHz, bandwidth: 1 GHz}",
                                "{type: samples, file: /dev/zero}");
  std::ofstream(sweep) << "base: torsowave_base.yaml\nvary:\n  title: [a, b]\n";
  EXPECT_THROW(static_cast<void>(read_sweep(sweep, "test")), InputError);
  std::filesystem::remove(base);
  std::filesystem::remove(sweep);
}

TEST(Reader, OnlyEverThrowsInputErrors)
{
  std::mt19937 random(20260101);  // the same texts in every run
  int accepted = 0;
  int refused = 0;
  for (int i = 0; i < 5000; ++i) {
    const std::string text = mutated(example, random);
    try {
      static_cast<void>(parse_scenario(text, "slice.yaml"));
      ++accepted;
    } catch (const InputError& error) {
      ++refused;
      ASSERT_FALSE(error.faults().empty());
      for (const Fault& fault : error.faults()) {
        ASSERT_GT(fault.location.line, 0) << text;
        ASSERT_GT(fault.location.column, 0) << text;
        ASSERT_FALSE(fault.problem.empty());
      }
    }
  }
  EXPECT_GT(refused, 3000);
  EXPECT_GT(accepted, 0);
}

}  // namespace
}  // namespace torsowave::scenarios
