#include "solver/tez_medium.hpp"

#include <gtest/gtest.h>

#include <Eigen/Dense>
#include <cmath>
#include <vector>

#include "solver/scenes.hpp"
#include "solver/tez_scenes.hpp"

namespace torsowave::solver {
namespace {

/// sum v v^T/eps_inf of a node.
Eigen::Matrix4d inverse_permittivity(const TezMedium& medium, const TensorNode& node)
{
  Eigen::Matrix4d sum = Eigen::Matrix4d::Zero();
  for (std::size_t m = 0; m < node_lanes; ++m) {
    const Eigen::Vector4d v(node.lanes[m].data());
    sum += v * v.transpose() / medium.palette[node.media[m]].eps_inf;
  }
  return sum;
}

/// Wet tissue (eps_inf 6 without relaxations) right of x = 0.25 mm, air left of it.
TEST(TezMedium, AnInterfaceAlongTheGridHasMeanAndHarmonicMean)
{
  const geometry::Raster raster{20, 20, 1e-3, {-0.01, -0.01}};
  const geometry::StaggeredMap map = geometry::cut_staggered(
      raster, "air", {{"wet", geometry::Rectangle{{0.25e-3, -1.0}, {1.0, 1.0}}}}, {},
      geometry::Averaging::volume, {1.0, 6.0});
  materials::DebyePalette media = scenes::three_media({});
  media.media.pop_back();
  media.media[1].conductivity = 0.0;
  const TezMedium medium = build_tez_medium(map, media, {2, 1e-12, 0.3e9, 6e9, {}});
  ASSERT_FALSE(medium.nodes.empty());
  const double mean = 0.75 + 0.25 * 6.0;
  const double harmonic = 1.0 / (0.75 + 0.25 / 6.0);
  for (const TensorNode& node : medium.nodes) {
    EXPECT_EQ(node.i, 10);
    EXPECT_NEAR(medium.palette[node.media[1]].eps_inf, mean, 1e-4);
    EXPECT_NEAR(medium.palette[node.media[0]].eps_inf, harmonic, 1e-4);
    // A uniform D across (x edges alike) meets 1/H, a uniform one along meets 1/A.
    const Eigen::Vector4d across =
        inverse_permittivity(medium, node) * Eigen::Vector4d(1.0, 1.0, 0.0, 0.0);
    const Eigen::Vector4d along =
        inverse_permittivity(medium, node) * Eigen::Vector4d(0.0, 0.0, 1.0, 1.0);
    EXPECT_NEAR(across[0], 1.0 / harmonic, 1e-4);
    EXPECT_NEAR(across[1], 1.0 / harmonic, 1e-4);
    EXPECT_NEAR(along[2], 1.0 / mean, 1e-4);
    EXPECT_NEAR(along[3], 1.0 / mean, 1e-4);
    EXPECT_NEAR(across[2], 0.0, 1e-12);
    EXPECT_NEAR(along[0], 0.0, 1e-12);
  }
}

/// What the time step was chosen for: nothing is faster than vacuum.
TEST(TezMedium, NoNodeIsFasterThanVacuum)
{
  for (const int poles : {0, 3}) {
    const scenes::TezScene scene =
        scenes::round_body(64, 64, 1e-3, 8, scenes::times(poles));
    ASSERT_GT(scene.medium.nodes.size(), 100U);
    for (const TensorNode& node : scene.medium.nodes) {
      const Eigen::SelfAdjointEigenSolver<Eigen::Matrix4d> solver(
          inverse_permittivity(scene.medium, node), Eigen::EigenvaluesOnly);
      EXPECT_LE(solver.eigenvalues().maxCoeff(), 1.0 + 1e-12);
      EXPECT_GT(solver.eigenvalues().minCoeff(), 0.0);
    }
  }
}

/// One tissue everywhere: no tensors, and its medium on every edge.
TEST(TezMedium, OneTissueHasNoTensors)
{
  const geometry::Raster raster{20, 20, 1e-3, {-0.01, -0.01}};
  const geometry::StaggeredMap map = geometry::cut_staggered(
      raster, "air", {{"wet", geometry::Rectangle{{-1.0, -1.0}, {1.0, 1.0}}}}, {},
      geometry::Averaging::volume, {1.0, 6.0});
  materials::DebyePalette media = scenes::three_media(scenes::times(2));
  media.media.pop_back();
  const TezMedium medium = build_tez_medium(map, media, {2, 1e-12, 0.3e9, 6e9, {}});
  EXPECT_TRUE(medium.nodes.empty());
  EXPECT_TRUE(medium.x_tensor_edges.empty());
  EXPECT_EQ(medium.x_edges, std::vector<std::uint16_t>(std::size_t{21} * 20, 1));
  EXPECT_EQ(medium.y_edges, std::vector<std::uint16_t>(std::size_t{20} * 21, 1));
}

}  // namespace
}  // namespace torsowave::solver
