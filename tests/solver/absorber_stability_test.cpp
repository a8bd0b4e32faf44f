// Tissue through all sides and corners of the absorber, interfaces running into it. The
// million steps are in slow/.

#include "solver/stability.hpp"

namespace torsowave::solver {
namespace {

TEST(AbsorberStability, FieldsFallForTwentyThousandSteps)
{
  expect_stable<double>(40, 500, 1e-9);
  expect_stable<float>(40, 500, 1e-6);
}

}  // namespace
}  // namespace torsowave::solver
