#include "solver/grid.hpp"

#include <cmath>

#include "materials/constants.hpp"

namespace torsowave::solver {

double stable_time_step(double cell, double courant, int dimensions)
{
  return courant * cell / (materials::speed_of_light * std::sqrt(dimensions));
}

}  // namespace torsowave::solver
