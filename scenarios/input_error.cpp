#include "scenarios/input_error.hpp"

#include <fmt/format.h>

#include <utility>

namespace torsowave::scenarios {
namespace {

std::string line_of(const Fault& fault)
{
  std::string line = fault.location.file;
  if (fault.location.line > 0) {
    line += fmt::format(":{}:{}", fault.location.line, fault.location.column);
  }
  return line + ": " + (fault.key.empty() ? "" : fault.key + ": ") + fault.problem;
}

std::string text_of(const std::vector<Fault>& faults)
{
  std::string text;
  for (const Fault& fault : faults) {
    text += text.empty() ? "" : "\n";
    text += line_of(fault);
  }
  return text;
}

}  // namespace

InputError::InputError(std::vector<Fault> faults)
    : std::runtime_error(text_of(faults)), faults_(std::move(faults))
{
}

void refuse(Location location, std::string problem)
{
  Fault fault;
  fault.location = std::move(location);
  fault.problem = std::move(problem);
  throw InputError({fault});
}

}  // namespace torsowave::scenarios
