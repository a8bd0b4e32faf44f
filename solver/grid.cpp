#include "solver/grid.hpp"

#include <numbers>

#include "materials/constants.hpp"

namespace torsowave::solver {

double stable_time_step(double cell, double courant)
{
  return courant * cell / (materials::speed_of_light * std::numbers::sqrt2);
}

}  // namespace torsowave::solver
