// Tissue through all sides and corners of the absorber, interfaces running into it. The
// million steps are in slow/.

#include "solver/stability.hpp"

namespace torsowave::solver {
namespace {

TEST(AbsorberStability, FieldsFallForTwentyThousandSteps)
{
  expect_stable<double>(40, 500, {1e-15, 1e-7});
  expect_stable<float>(40, 500, {1e-10, 1e-7});
}

}  // namespace
}  // namespace torsowave::solver
