// From the slice to the dipole, cell by cell. Equations: sar_dipole.hpp.

#include <algorithm>
#include <cmath>
#include <numbers>

#include "materials/constants.hpp"
#include "postproc/sar_dipole.hpp"
#include "solver/bessel.hpp"

namespace torsowave::postproc {
namespace {

using Complex = std::complex<double>;
using std::numbers::pi;

constexpr int ways = 120;

/// H_n^(2)(z) exp(j z) for n = 0, 1; Im z <= 0. For large z Hankel's expansion
///   (2/(pi z))^(1/2) exp(j (n/2 + 1/4) pi) sum_m (-j)^m a_m(n)/z^m,
///   a_m = a_(m-1) (4 n^2 - (2 m - 1)^2)/(8 m)
/// (DLMF 10.17.6, 10.17.1), whose first term left out is below 2e-3 from |z| = 3 on: a
/// hundred times faster than all digits.
[[nodiscard]] Complex outgoing(int n, Complex z)
{
  constexpr double far = 3.0;
  constexpr int terms = 3;
  const Complex j(0.0, 1.0);
  if (std::abs(z) < far) {
    return solver::hankel2(n, z) * std::exp(j * z);
  }
  Complex sum = 1.0;
  Complex term = 1.0;
  for (int m = 1; m <= terms; ++m) {
    const int odd = 2 * m - 1;
    term *= -j * static_cast<double>(4 * n * n - odd * odd) / (8.0 * m * z);
    sum += term;
  }
  return std::sqrt(2.0 / (pi * z)) * std::exp(j * ((0.5 * n + 0.25) * pi)) * sum;
}

/// 1/k by entry of the map's palette; mixtures by the mean permittivity.
[[nodiscard]] std::vector<Complex> inverse_wavenumbers(const geometry::TissueMap& map,
                                                       const std::vector<Complex>& eps,
                                                       double k0)
{
  std::vector<Complex> result;
  for (const geometry::Mixture& mixture : map.palette) {
    Complex mean;
    for (const geometry::Share& share : mixture) {
      mean += eps.at(share.tissue) *
              (static_cast<double>(share.quanta) / geometry::fraction_quantum);
    }
    result.push_back(1.0 / (k0 * std::sqrt(mean)));
  }
  return result;
}

/// ln |E3/E2|^2 on straight ways from a dipole, by way and by distance.
class Ways {
public:
  Ways(const geometry::TissueMap& map, const std::vector<Complex>& eps, double frequency,
       const DipoleInSlice& dipole)
      : raster_(map.raster),
        dipole_(dipole),
        stride_(std::max(1, static_cast<int>(std::lround(4e-3 / raster_.cell)))),
        samples_(longest() / stride_ + 3)
  {
    const double k0 = materials::two_pi * frequency / materials::speed_of_light;
    const std::vector<Complex> inverse = inverse_wavenumbers(map, eps, k0);
    const Complex around = 1.0 / (k0 * std::sqrt(dipole.eps_around));
    for (int way = 0; way < ways; ++way) {
      add_way(map, inverse, around, materials::two_pi * way / ways);
    }
  }

  /// |E3/E2|^2 at a point [1/m^2].
  [[nodiscard]] double at(double x, double y) const
  {
    const double dx = x - dipole_.at.x;
    const double dy = y - dipole_.at.y;
    const double steps =
        std::max(std::hypot(dx, dy) / (stride_ * raster_.cell) - 1.0, 0.0);
    double turn = std::atan2(dy, dx) / materials::two_pi * ways;
    turn += turn < 0.0 ? ways : 0.0;
    const auto n = static_cast<int>(steps);
    const auto way = static_cast<int>(turn);
    const auto along = [&](int of) {
      const auto* values = &logarithms_[static_cast<std::size_t>(of % ways) *
                                            static_cast<std::size_t>(samples_) +
                                        static_cast<std::size_t>(n)];
      return std::lerp(values[0], values[1], steps - n);
    };
    return std::exp(std::lerp(along(way), along(way + 1), turn - way));
  }

private:
  /// Cells from the dipole to the corner farthest away.
  [[nodiscard]] int longest() const
  {
    const double x =
        std::max(dipole_.at.x - raster_.x_of(0), raster_.x_of(raster_.nx) - dipole_.at.x);
    const double y =
        std::max(dipole_.at.y - raster_.y_of(0), raster_.y_of(raster_.ny) - dipole_.at.y);
    return static_cast<int>(std::hypot(x, y) / raster_.cell) + 1;
  }

  void add_way(const geometry::TissueMap& map, const std::vector<Complex>& inverse,
               Complex around, double angle)
  {
    const double c = std::cos(angle);
    const double s = std::sin(angle);
    Complex sum;
    Complex last = around;
    for (int step = 1; step <= samples_ * stride_; ++step) {
      const double r = (step - 0.5) * raster_.cell;
      const auto i = static_cast<int>(
          std::floor((dipole_.at.x + r * c - raster_.x_of(0)) / raster_.cell));
      const auto j = static_cast<int>(
          std::floor((dipole_.at.y + r * s - raster_.y_of(0)) / raster_.cell));
      if (r > dipole_.radius && i >= 0 && j >= 0 && i < raster_.nx && j < raster_.ny) {
        last = inverse[map.cells[raster_.at(i, j)]];
      }
      sum += last * raster_.cell;
      if (step % stride_ == 0) {
        const double distance = step * raster_.cell;
        logarithms_.push_back(std::log(dipole_over_line(
            dipole_.kind, distance / sum, distance, angle - dipole_.direction)));
      }
    }
  }

  const geometry::Raster& raster_;
  const DipoleInSlice& dipole_;
  int stride_;
  int samples_;
  std::vector<double> logarithms_;
};

}  // namespace

double dipole_over_line(solver::RadiatorKind kind, Complex k, double r, double angle)
{
  const Complex z = k * r;
  const Complex q = 1.0 / (Complex(0.0, 1.0) * z);
  const double across = std::norm(1.0 + q + q * q);
  const double unit = 1.0 / (pi * pi * r * r);
  const Complex h0 = outgoing(0, z);
  if (kind == solver::RadiatorKind::line_current) {
    return unit * across / std::norm(h0);
  }
  const double along = 4.0 * std::norm(q + q * q);
  const Complex h1 = outgoing(1, z);
  const double c = std::cos(angle) * std::cos(angle);
  const double s = 1.0 - c;
  return unit * (along * c + across * s) /
         (std::norm(h1 / z) * c + std::norm(h0 - h1 / z) * s);
}

std::vector<float> dipole_over_slice(const geometry::TissueMap& map,
                                     const std::vector<Complex>& eps, double frequency,
                                     const DipoleInSlice& dipole)
{
  const Ways ways_from(map, eps, frequency, dipole);
  const geometry::Raster& raster = map.raster;
  std::vector<float> ratio(raster.size());
  for (int j = 0; j < raster.ny; ++j) {
    for (int i = 0; i < raster.nx; ++i) {
      ratio[raster.at(i, j)] = static_cast<float>(ways_from.at(raster.x(i), raster.y(j)));
    }
  }
  return ratio;
}

}  // namespace torsowave::postproc
