/// \file
/// \brief Faults of a text, and the check that it has exactly one, at a marked place.

#pragma once

#include <gtest/gtest.h>

#include <algorithm>
#include <string>
#include <vector>

#include "scenarios/example_scenario.hpp"
#include "scenarios/input_error.hpp"
#include "scenarios/reader.hpp"

namespace torsowave::scenarios::testing {

/// An example with `from` replaced by `to`; '@' in `to` marks the place of the one
/// fault.
struct Wrong {
  std::string from;
  std::string to;
  std::string key;
  std::string remedy;  ///< what the message must say
};

inline std::vector<Fault> faults_of(const std::string& text)
{
  try {
    static_cast<void>(parse_scenario(text, "slice.yaml"));
  } catch (const InputError& error) {
    return error.faults();
  }
  return {};
}

inline void expect_one_fault(const std::string& sound, const Wrong& wrong)
{
  SCOPED_TRACE(wrong.to);
  std::string text = edited(sound, wrong.from, wrong.to);
  const std::size_t at = text.find('@');
  ASSERT_NE(at, std::string::npos);
  text.erase(at, 1);
  const std::string before = text.substr(0, at);
  const auto line = 1 + std::ranges::count(before, '\n');
  const std::string in_line = before.substr(before.rfind('\n') + 1);
  const auto column = 1 + std::ranges::count_if(in_line, [](char c) {
                        return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U;
                      });  // characters, not bytes
  const std::vector<Fault> faults = faults_of(text);
  ASSERT_EQ(faults.size(), 1U) << (faults.empty() ? "" : InputError(faults).what());
  EXPECT_EQ(faults[0].location.line, line) << faults[0].problem;
  EXPECT_EQ(faults[0].location.column, column) << faults[0].problem;
  EXPECT_EQ(faults[0].location.file, "slice.yaml");
  EXPECT_EQ(faults[0].key, wrong.key);
  EXPECT_NE(faults[0].problem.find(wrong.remedy), std::string::npos) << faults[0].problem;
}

inline void expect_one_fault_each(const std::string& sound,
                                  const std::vector<Wrong>& table)
{
  for (const Wrong& wrong : table) {
    expect_one_fault(sound, wrong);
  }
}

}  // namespace torsowave::scenarios::testing
