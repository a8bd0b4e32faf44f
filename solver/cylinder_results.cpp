#include "solver/cylinder_results_internal.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>

#include "materials/constants.hpp"

namespace torsowave::solver::cylinder {
namespace {

using Complex = std::complex<double>;

constexpr double nothing = -std::numeric_limits<double>::infinity();
constexpr double rounding = 1.2e-16;  ///< of the last step to double

/// What has been certified of one or two numbers.
struct Verdict {
  bool good = false;
  double relative_error = 0.0;
};

/// \param log2_zero  a number whose bound is below this is zero by symmetry
Verdict judge(double log2_error, double log2_least, double log2_zero)
{
  if (log2_least == nothing && log2_error <= log2_zero) {
    return {true, 0.0};
  }
  const double error = std::exp2(log2_error - log2_least) + rounding;
  return {error <= certified_error, error};
}

Complex rounded(const Ball& value)
{
  return value.may_be_zero() ? Complex() : value.middle();
}

/// Hx, Hy = (-d/dy, d/dx) psi/(j omega mu0); Ex, Ey = (d/dy, -d/dx) p psi/(j omega eps0).
std::array<Ball, 2> transverse(Modes& modes, std::size_t medium, const Gradient& field)
{
  const double sign = modes.polarisation() == Polarisation::tmz ? -1.0 : 1.0;
  const Ball factor =
      turned(Ball(sign, modes.bits()) * modes.weight(medium), -1) / modes.omega_kappa();
  return {factor * field.ddy, -(factor * field.ddx)};
}

}  // namespace

std::optional<Field> certified(Series& series, std::size_t medium,
                               const Series::Point& point, double zero_below)
{
  const auto [x, y] = transverse(series.modes(), medium, point.field);
  const double scale =
      (series.modes().weight(medium) / series.modes().omega_kappa()).log2_least();
  const Ball& psi = point.field.psi;
  const Verdict along =
      judge(psi.log2_error(), psi.log2_least(), point.log2_psi - zero_below);
  const Verdict across = judge(std::max(x.log2_error(), y.log2_error()) + 0.5,
                               std::max(x.log2_least(), y.log2_least()),
                               point.log2_slope + scale - zero_below);
  if (!along.good || !across.good) {
    return std::nullopt;
  }
  return Field{rounded(psi), rounded(x), rounded(y),
               std::max(along.relative_error, across.relative_error)};
}

namespace {

/// `worst` takes the error if it is larger.
std::optional<double> certified(const Sum& power, double zero_below, double& worst)
{
  const Verdict verdict = judge(power.value.log2_error(), power.value.log2_least(),
                                power.log2_largest - zero_below);
  worst = std::max(worst, verdict.relative_error);
  return verdict.good ? std::optional(rounded(power.value).real()) : std::nullopt;
}

Sum operator-(const Sum& a, const Sum& b)
{
  return {a.value - b.value, std::max(a.log2_largest, b.log2_largest)};
}

Sum operator+(const Sum& a, const Sum& b)
{
  return {a.value + b.value, std::max(a.log2_largest, b.log2_largest)};
}

/// The powers of one precision; `good` falls when one of them is not certified.
class PowerTable {
public:
  PowerTable(Series& series, double zero_below) : series_(series), zero_below_(zero_below)
  {
  }

  [[nodiscard]] std::optional<Powers> fill()
  {
    const Body& body = series_.body();
    const std::size_t s = series_.excitation().medium();
    const bool is_wave = series_.excitation().is_wave();
    const std::optional<Sum> delivered = series_.delivered();
    if (delivered) {
      powers_.delivered = number(*delivered);
    }
    Sum net{Ball(0.0, series_.modes().bits()), nothing};  // through the last edge
    for (std::size_t m = 0; m < body.layers.size(); ++m) {
      const Sum out = series_.flux_at_edge(m);
      const bool holds_source = m == s && !is_wave;
      if (body.layers[m].eps_r.imag() == 0.0) {
        powers_.absorbed.emplace_back(0.0);
      } else if (holds_source && !delivered) {
        powers_.absorbed.emplace_back(std::nullopt);
      } else {
        const Sum heat = net - out;
        powers_.absorbed.emplace_back(number(holds_source ? heat + *delivered : heat));
      }
      net = out;
    }
    powers_.leaving = number(net);
    if (radiates(body)) {
      fill_far(delivered, net);
    }
    return good_ ? std::optional(powers_) : std::nullopt;
  }

private:
  void fill_far(const std::optional<Sum>& delivered, const Sum& net)
  {
    if (series_.excitation().is_wave()) {
      powers_.scattered = number(series_.scattered());
      powers_.extinguished = number(series_.extinguished());
    } else if (series_.excitation().medium() == series_.body().layers.size()) {
      powers_.radiated = number(net + delivered.value());
    } else {
      powers_.radiated = powers_.leaving;
    }
  }

  [[nodiscard]] double number(const Sum& sum)
  {
    const std::optional<double> value =
        certified(sum, zero_below_, powers_.relative_error);
    good_ = good_ && value.has_value();
    return value.value_or(0.0);
  }

  Series& series_;
  double zero_below_;
  Powers powers_;
  bool good_ = true;
};

}  // namespace

bool radiates(const Body& body)
{
  return body.eps_outside.imag() == 0.0 && body.eps_outside.real() > 0.0;
}

std::optional<double> certified(const Sum& power, double zero_below)
{
  double error = 0.0;
  return certified(power, zero_below, error);
}

std::optional<Powers> certified_powers(Series& series, double zero_below)
{
  return PowerTable(series, zero_below).fill();
}

// With psi -> F exp(-j k r)/sqrt(r) the flux is k p |F|^2/(2 omega kappa r); the incident
// wave of 1 V/m carries 1/(2 eta), eta = (omega mu0)/k, so the width 2 pi |psi_s/psi_i|^2
// r is 4 pi eta U.
std::optional<FarField> certified_far_field(Series& series, double frequency,
                                            double angle, double zero_below)
{
  Modes& modes = series.modes();
  const std::size_t last = modes.count() - 1;
  const Ball unit = direction(angle, modes.bits());
  const Sum sum = series.far_amplitude(unit);
  const Verdict verdict = judge(sum.value.log2_error(), sum.value.log2_least(),
                                sum.log2_largest - zero_below);
  if (!verdict.good) {
    return std::nullopt;
  }
  const Ball& k = modes.k(last);
  const Ball centre = displacement({}, series.body().centre, modes.bits());
  FarField far;
  far.amplitude = rounded(sum.value * exp(turned(k * real(centre * conj(unit)), 1)));
  const double per_square =
      (k * modes.weight(last) / modes.omega_kappa()).middle().real() / 2.0;
  far.intensity = per_square * std::norm(far.amplitude);
  far.relative_error = verdict.relative_error;
  if (series.excitation().is_wave()) {
    const double impedance = materials::two_pi * frequency *
                             materials::vacuum_permeability / k.middle().real();
    far.scattering_width = 4.0 * std::numbers::pi * impedance * far.intensity;
  }
  return far;
}

}  // namespace torsowave::solver::cylinder
