#include "scenarios/scenario.hpp"

#include <fmt/format.h>

namespace torsowave::scenarios {

std::string shape_key(const BodySpec& body, std::size_t shape)
{
  if (shape < body.torso_shapes) {
    return "body.torso";
  }
  if (body.label_map && shape == 0) {
    return "body.label_map";
  }
  return fmt::format("body.shapes[{}]",
                     shape - body.torso_shapes - (body.label_map ? 1 : 0));
}

Location Scenario::where(const std::string& key) const
{
  std::string enclosing = key;
  while (!enclosing.empty()) {
    const auto found = locations.find(enclosing);
    if (found != locations.end()) {
      return found->second;
    }
    const std::size_t cut = enclosing.find_last_of(".[");
    enclosing.resize(cut == std::string::npos ? 0 : cut);
  }
  return {path.string(), 1, 1};
}

}  // namespace torsowave::scenarios
