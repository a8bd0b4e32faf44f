#include "postproc/compare_result.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace torsowave::postproc {
namespace {

[[nodiscard]] double turned(double degrees)
{
  return std::remainder(degrees, 360.0);
}

}  // namespace

std::size_t Difference::cause() const
{
  const auto less = [](double a, double b) { return std::abs(a) < std::abs(b); };
  return static_cast<std::size_t>(std::ranges::max_element(parts_db, less) -
                                  parts_db.begin());
}

std::size_t samples(const ComparedQuantity& quantity)
{
  return quantity.reference.size();
}

double decibels(const ComparedQuantity& quantity, double value)
{
  return value > 0.0 ? (quantity.field ? 20.0 : 10.0) * std::log10(value)
                     : std::numeric_limits<double>::quiet_NaN();
}

Difference difference_at(const CompareResult& result, std::size_t quantity,
                         std::size_t sample)
{
  const ComparedQuantity& q = result.quantities.at(quantity);
  const auto level = [&](std::size_t model) {
    return decibels(q, q.values.at(model).at(sample));
  };
  const std::size_t last = result.models.size() - 1;
  Difference difference;
  difference.quantity = quantity;
  difference.sample = sample;
  difference.level_db = level(0) - decibels(q, q.reference.at(sample));
  difference.total_db = level(last) - level(0);
  for (std::size_t m = 1; m <= last; ++m) {
    difference.parts_db.push_back(level(m) - level(m - 1));
  }
  if (!q.phases_deg.empty()) {
    const auto phase = [&](std::size_t model) {
      return q.phases_deg.at(model).at(sample);
    };
    difference.phase_deg = turned(phase(last) - phase(0));
    for (std::size_t m = 1; m <= last; ++m) {
      difference.phase_parts.push_back(turned(phase(m) - phase(m - 1)));
    }
  }
  const auto finite = [](double value) { return std::isfinite(value); };
  difference.counts = difference.level_db >= q.counts_above_db &&
                      std::ranges::all_of(difference.parts_db, finite);
  return difference;
}

std::optional<Difference> largest_difference(const CompareResult& result,
                                             std::size_t quantity,
                                             std::optional<std::size_t> part)
{
  const auto size = [&](const Difference& d) {
    return std::abs(part ? d.parts_db.at(*part) : d.total_db);
  };
  std::optional<Difference> largest;
  for (std::size_t s = 0; s < samples(result.quantities.at(quantity)); ++s) {
    Difference here = difference_at(result, quantity, s);
    if (here.counts && (!largest || size(here) > size(*largest))) {
      largest = std::move(here);
    }
  }
  return largest;
}

std::optional<Difference> largest_difference(const CompareResult& result)
{
  std::optional<Difference> largest;
  for (std::size_t q = 0; q < result.quantities.size(); ++q) {
    std::optional<Difference> here = largest_difference(result, q);
    if (here && (!largest || std::abs(here->total_db) > std::abs(largest->total_db))) {
      largest = std::move(here);
    }
  }
  return largest;
}

std::size_t frequency_of(const CompareResult& result, const Difference& difference)
{
  return result.quantities.at(difference.quantity).field
             ? difference.sample / result.angles_deg.size()
             : difference.sample;
}

std::optional<double> angle_deg_of(const CompareResult& result,
                                   const Difference& difference)
{
  if (!result.quantities.at(difference.quantity).field) {
    return std::nullopt;
  }
  return result.angles_deg.at(difference.sample % result.angles_deg.size());
}

}  // namespace torsowave::postproc
