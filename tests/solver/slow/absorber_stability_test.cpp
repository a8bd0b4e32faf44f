// A million steps with tissue through the absorber.

#include "solver/stability.hpp"

namespace torsowave::solver {
namespace {

TEST(AbsorberStability, FieldsFallForAMillionStepsInDouble)
{
  expect_stable<double>(1000, 1000, {1e-18, 1e-13});
}

TEST(AbsorberStability, FieldsFallForAMillionStepsInFloat)
{
  expect_stable<float>(1000, 1000, {2e-11, 2e-11});
}

}  // namespace
}  // namespace torsowave::solver
