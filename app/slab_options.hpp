/// \file
/// \brief What the line of `torsowave slab` asks for.

#pragma once

#include <string>
#include <vector>

#include "app/slab_model.hpp"
#include "scenarios/scenario.hpp"

namespace torsowave::app {

/// The options as written.
struct SlabOptions {
  std::string scenario;
  std::string angle;
  std::string polarisation;
  std::string media = "cole-cole";
  std::vector<std::string> frequencies;
  std::string loss;
  std::string csv;
  std::string folder;
  bool force = false;
  bool json = false;
  bool quiet = false;
};

/// "0,30,60", "0, 30, 60 deg" or "0:80:5" in degrees, from 0 to below 90, rising.
/// \throws CLI::ValidationError  with what is wrong and what is accepted
[[nodiscard]] std::vector<double> parse_angles(const std::string& text);

/// \throws CLI::ValidationError  All faults of the line, one below the other.
[[nodiscard]] SlabRequest slab_request(const SlabOptions& options,
                                       const scenarios::Scenario& scenario);

}  // namespace torsowave::app
