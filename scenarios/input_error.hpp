/// \file
/// \brief What is wrong with the user's input, and where.

#pragma once

#include <stdexcept>
#include <string>
#include <vector>

#include "scenarios/scenario.hpp"

namespace torsowave::scenarios {

/// One fault: "file:line:column: key: what is wrong; what is accepted".
struct Fault {
  Location location;
  std::string key;      ///< path of the key, e.g. "body.shapes[2].tissue"
  std::string problem;  ///< what is wrong, and what would be right
};

/// All faults found, in the order of the file. what() has a line for each.
class InputError : public std::runtime_error {
public:
  explicit InputError(std::vector<Fault> faults);

  [[nodiscard]] const std::vector<Fault>& faults() const noexcept { return faults_; }

private:
  std::vector<Fault> faults_;
};

/// Throws an InputError with one fault that belongs to no key.
[[noreturn]] void refuse(Location location, std::string problem);

}  // namespace torsowave::scenarios
