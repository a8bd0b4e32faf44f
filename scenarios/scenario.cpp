#include "scenarios/scenario.hpp"

namespace torsowave::scenarios {

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
