#include "solver/layered_cylinder.hpp"

#include <fmt/format.h>

#include <array>
#include <cmath>
#include <string>
#include <utility>

#include "solver/cylinder_checks_internal.hpp"
#include "solver/cylinder_results_internal.hpp"

namespace torsowave::solver::cylinder {
namespace {

void require(bool ok, const std::string& message)
{
  if (!ok) {
    throw std::invalid_argument(message);
  }
}

/// One precision of the ladder.
struct Level {
  long bits;
  double depth;       ///< of what a sum may leave out, below its largest term [bits]
  double zero_below;  ///< what may count as zero, below the largest term [bits]
};

constexpr std::array ladder{Level{192, 64, 1e9}, Level{384, 128, 1e9},
                            Level{768, 256, 200}, Level{1536, 512, 400},
                            Level{3072, 1024, 800}};

}  // namespace

/// The sums at each precision that was needed so far.
class Solution::Levels {
public:
  Levels(Body body, Polarisation polarisation, double frequency, Source source)
      : body_(std::move(body)),
        polarisation_(polarisation),
        frequency_(frequency),
        source_(source)
  {
  }

  [[nodiscard]] const Body& body() const noexcept { return body_; }
  [[nodiscard]] double frequency() const noexcept { return frequency_; }
  [[nodiscard]] std::size_t source_medium() { return series(0).excitation().medium(); }
  /// Negative for a plane wave.
  [[nodiscard]] double source_radius()
  {
    const Excitation& excitation = series(0).excitation();
    return excitation.is_wave() ? -1.0 : excitation.radius();
  }

  using Kind = Series::Point (Series::*)(const Polar&, double);

  /// \param place  gives the place about the centre with this many bits
  template <typename Place>
  [[nodiscard]] Field field(double radius, Place place, Kind kind)
  {
    if (radius < body_.conductor_radius) {
      return {};
    }
    return certified("a field", [&](Series& series, double zero_below) {
      const Series::Point point = (series.*kind)(place(series.modes().bits()), radius);
      return cylinder::certified(series, medium_at(body_, radius), point, zero_below);
    });
  }

  [[nodiscard]] Field field(geometry::Point point, Kind kind)
  {
    require(std::isfinite(point.x) && std::isfinite(point.y), "a point must be finite");
    return field(
        distance(body_.centre, point),
        [&](long bits) { return polar(displacement(body_.centre, point, bits)); }, kind);
  }

  /// Calls `attempt(series, zero_below)`, which gives an optional, up the ladder.
  template <typename Attempt>
  [[nodiscard]] auto certified(const char* what, Attempt attempt)
  {
    for (std::size_t level = 0; level < ladder.size(); ++level) {
      if (auto result = attempt(series(level), ladder.at(level).zero_below)) {
        return *result;
      }
    }
    throw AccuracyNotAttained(
        fmt::format("{} of the layered cylinder cannot be certified to {} with {} bits",
                    what, certified_error, ladder.back().bits));
  }

private:
  [[nodiscard]] Series& series(std::size_t level)
  {
    std::unique_ptr<Series>& series = series_.at(level);
    if (!series) {
      series = std::make_unique<Series>(body_, polarisation_, frequency_, source_,
                                        ladder.at(level).bits, ladder.at(level).depth);
    }
    return *series;
  }

  Body body_;
  Polarisation polarisation_;
  double frequency_;
  Source source_;
  std::array<std::unique_ptr<Series>, ladder.size()> series_;
};

Solution::Solution(const Body& body, Polarisation polarisation, double frequency,
                   const Source& source)
{
  require(std::isfinite(frequency) && frequency > 0.0,
          fmt::format("the frequency [Hz] must be finite and > 0, got {}", frequency));
  require_sound(body);
  require_source(body, polarisation, source);
  levels_ = std::make_unique<Levels>(body, polarisation, frequency, source);
}

Solution::~Solution() = default;
Solution::Solution(Solution&&) noexcept = default;
Solution& Solution::operator=(Solution&&) noexcept = default;

Field Solution::at(geometry::Point point) const
{
  return levels_->field(point, &Series::whole_at);
}

Field Solution::scattered_at(geometry::Point point) const
{
  const Body& body = levels_->body();
  const double radius = distance(body.centre, point);
  require(medium_at(body, radius) == levels_->source_medium(),
          fmt::format("the scattered field exists in the source's medium alone, where "
                      "({}, {}) m is not",
                      point.x, point.y));
  return levels_->field(point, &Series::series_at);
}

std::vector<Field> Solution::on_circle(double radius,
                                       std::span<const double> angles) const
{
  require(radius >= 0.0 && std::isfinite(radius),
          fmt::format("the radius [m] must be finite and >= 0, got {}", radius));
  std::vector<Field> fields;
  fields.reserve(angles.size());
  for (const double angle : angles) {
    fields.push_back(levels_->field(
        radius,
        [&](long bits) {
          return Polar{Ball(radius, bits), direction(angle, bits)};
        },
        &Series::whole_at));
  }
  return fields;
}

std::vector<FarField> Solution::far_field(std::span<const double> angles) const
{
  if (!radiates(levels_->body())) {
    throw std::domain_error(
        "a far field needs a lossless outer medium with a positive permittivity");
  }
  std::vector<FarField> result;
  result.reserve(angles.size());
  for (const double angle : angles) {
    result.push_back(
        levels_->certified("a far field", [&](Series& series, double zero_below) {
          return certified_far_field(series, levels_->frequency(), angle, zero_below);
        }));
  }
  return result;
}

double Solution::power_through(double radius) const
{
  require(radius > 0.0 && std::isfinite(radius),
          fmt::format("the radius [m] must be finite and > 0, got {}", radius));
  require(radius != levels_->source_radius(),
          fmt::format("the circle of {} m goes through the source", radius));
  if (radius <= levels_->body().conductor_radius) {
    return 0.0;
  }
  return levels_->certified("a power", [&](Series& series, double zero_below) {
    return certified(series.flux(radius), zero_below);
  });
}

Powers Solution::powers() const
{
  return levels_->certified("a power", certified_powers);
}

}  // namespace torsowave::solver::cylinder
