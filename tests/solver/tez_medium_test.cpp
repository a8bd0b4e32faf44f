#include "solver/tez_medium.hpp"

#include <gtest/gtest.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <numeric>
#include <random>
#include <vector>

#include "materials/constants.hpp"
#include "solver/scenes.hpp"
#include "solver/tez_scenes.hpp"
#include "solver/tez_stability.hpp"

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
    // A uniform D across (x edges alike) meets 1/H in the mean, shared out as 1/eps on
    // the sides that the edges pass (1 and 6); one along meets 1/A.
    const Eigen::Vector4d across =
        inverse_permittivity(medium, node) * Eigen::Vector4d(1.0, 1.0, 0.0, 0.0);
    const Eigen::Vector4d along =
        inverse_permittivity(medium, node) * Eigen::Vector4d(0.0, 0.0, 1.0, 1.0);
    EXPECT_NEAR(across[0] + across[1], 2.0 / harmonic, 1e-4);
    EXPECT_NEAR(across[0] / across[1], 6.0, 1e-4);
    EXPECT_NEAR(along[2], 1.0 / mean, 1e-4);
    EXPECT_NEAR(along[3], 1.0 / mean, 1e-4);
    EXPECT_NEAR(across[2], 0.0, 1e-12);
    EXPECT_NEAR(along[0], 0.0, 1e-12);
    // What does not fit, x edges that differ, meets the mean of both sides.
    const Eigen::Vector4d rest =
        inverse_permittivity(medium, node) * Eigen::Vector4d(1.0, -6.0, 0.0, 0.0);
    EXPECT_NEAR(rest[0] - rest[1], 2.0, 1e-3);
  }
}

/// C' (1/eps_inf) C on Hz, as the update takes it: its differences across the edges, E in
/// the edges' own media and through the tensors, and the differences of E.
class CurlCurl {
public:
  CurlCurl(const TezMedium& medium, const geometry::Raster& raster)
      : medium_(medium),
        nx_(static_cast<std::size_t>(raster.nx)),
        ny_(static_cast<std::size_t>(raster.ny))
  {
  }

  [[nodiscard]] std::vector<double> of(const std::vector<double>& hz) const
  {
    const auto at = [&](std::size_t i, std::size_t j) {  // -1 wraps around to the largest
      return i < nx_ && j < ny_ ? hz[j * nx_ + i] : 0.0;
    };
    std::vector<double> dx(nx_ * (ny_ + 1));
    std::vector<double> dy((nx_ + 1) * ny_);
    for (std::size_t e = 0; e < dx.size(); ++e) {
      dx[e] = at(e % nx_, e / nx_) - at(e % nx_, e / nx_ - 1);
    }
    for (std::size_t e = 0; e < dy.size(); ++e) {
      dy[e] = at(e % (nx_ + 1) - 1, e / (nx_ + 1)) - at(e % (nx_ + 1), e / (nx_ + 1));
    }
    std::vector<double> ex = scalar(medium_.x_edges, dx);
    std::vector<double> ey = scalar(medium_.y_edges, dy);
    join_tensors(dx, dy, ex, ey);
    std::vector<double> result(hz.size());
    for (std::size_t p = 0; p < hz.size(); ++p) {
      const std::size_t right = p / nx_ * (nx_ + 1) + p % nx_ + 1;
      result[p] = ex[p] - ex[p + nx_] + ey[right] - ey[right - 1];
    }
    return result;
  }

private:
  [[nodiscard]] std::vector<double> scalar(const std::vector<std::uint16_t>& entries,
                                           const std::vector<double>& curls) const
  {
    std::vector<double> e = curls;
    for (std::size_t p = 0; p < e.size(); ++p) {
      e[p] /= medium_.palette[entries[p]].eps_inf;
    }
    return e;
  }

  void join_tensors(const std::vector<double>& dx, const std::vector<double>& dy,
                    std::vector<double>& ex, std::vector<double>& ey) const
  {
    std::vector<Eigen::Vector4d> given;
    for (const TensorNode& node : medium_.nodes) {
      const auto i = static_cast<std::size_t>(node.i);
      const auto j = static_cast<std::size_t>(node.j);
      const std::size_t x = j * nx_ + i;
      const std::size_t y = j * (nx_ + 1) + i;
      given.emplace_back(inverse_permittivity(medium_, node) *
                         Eigen::Vector4d(dx[x - 1], dx[x], dy[y - nx_ - 1], dy[y]));
    }
    const auto join = [&](const TensorEdge& edge, std::vector<double>& field,
                          std::size_t width, int low, int high) {
      double& e = field[static_cast<std::size_t>(edge.j) * width +
                        static_cast<std::size_t>(edge.i)];
      const auto end = [&](std::int32_t node, int which) {
        return node < 0 ? e : given[static_cast<std::size_t>(node)][which];
      };
      e = 0.5 * (end(edge.low, low) + end(edge.high, high));
    };
    for (const TensorEdge& edge : medium_.x_tensor_edges) {
      join(edge, ex, nx_, 1, 0);
    }
    for (const TensorEdge& edge : medium_.y_tensor_edges) {
      join(edge, ey, nx_ + 1, 3, 2);
    }
  }

  const TezMedium& medium_;
  std::size_t nx_, ny_;
};

/// Its largest eigenvalue, by powers from a random start: from below.
double largest_eigenvalue(const TezMedium& medium, const geometry::Raster& raster)
{
  const CurlCurl curl_curl(medium, raster);
  std::vector<double> hz(raster.size());
  std::mt19937 random(7);
  std::ranges::generate(
      hz, [&] { return static_cast<double>(random()) / 4294967296.0 - 0.5; });
  double eigenvalue = 0.0;
  for (int n = 0; n < 300; ++n) {
    hz = curl_curl.of(hz);
    eigenvalue = std::sqrt(std::inner_product(hz.begin(), hz.end(), hz.begin(), 0.0));
    std::ranges::for_each(hz, [&](double& h) { h /= eigenvalue; });
  }
  return eigenvalue;
}

double stability_bound(const Grid& grid)
{
  const double courant = materials::speed_of_light * grid.time_step / grid.raster.cell;
  return 4.0 / (courant * courant);
}

/// The time step is that of vacuum; there, the eigenvalue is 8.
TEST(TezMedium, IsStableWithTheTimeStepOfVacuum)
{
  for (const int poles : {0, 3}) {
    const scenes::TezScene scene =
        scenes::round_body(64, 64, 1e-3, 8, scenes::times(poles));
    ASSERT_GT(scene.medium.nodes.size(), 100U);
    const double largest = largest_eigenvalue(scene.medium, scene.grid.raster);
    EXPECT_LT(largest, stability_bound(scene.grid));
    EXPECT_GT(largest, 7.5);
  }
}

/// Tensors twice as fast would not be stable; slowed down they are, and as fast as can
/// be.
TEST(TezMedium, IsSlowedDownWhereItWouldNotBeStable)
{
  scenes::TezScene scene = scenes::round_body(64, 64, 1e-3, 8, scenes::times(2));
  const geometry::Raster& raster = scene.grid.raster;
  for (TensorNode& node : scene.medium.nodes) {
    for (NodeVector& lane : node.lanes) {
      std::ranges::for_each(lane, [](double& part) { part *= 1.5; });
    }
  }
  EXPECT_GT(largest_eigenvalue(scene.medium, raster), 1.05 * stability_bound(scene.grid));
  const int scaled = keep_stable(scene.medium, raster, scene.grid.time_step);
  EXPECT_GT(scaled, 20);
  const double largest = largest_eigenvalue(scene.medium, raster);
  EXPECT_LT(largest, stability_bound(scene.grid));
  EXPECT_GT(largest, 7.5);
  EXPECT_EQ(keep_stable(scene.medium, raster, scene.grid.time_step), 0);
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
