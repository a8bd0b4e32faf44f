#include "postproc/sar_limits.hpp"

#include <algorithm>
#include <array>

#include "postproc/sar_squares.hpp"

namespace torsowave::postproc {
namespace {

constexpr double lowest = 100e3;
constexpr double highest = 6e9;

constexpr std::string_view icnirp = "ICNIRP 1998 (seen as quoted); 2020 (from memory)";
constexpr std::string_view ieee = "IEEE Std C95.1-2019 (from memory)";

constexpr std::array limits{
    SarLimit{"USA, general population", "47 CFR 1.1310(c) (seen)", one_gram, 1.6, lowest,
             highest},
    SarLimit{"ICNIRP, general public", icnirp, ten_gram, 2.0, lowest, highest},
    SarLimit{"IEEE, unrestricted", ieee, ten_gram, 2.0, lowest, highest},
    SarLimit{"USA, occupational", "47 CFR 1.1310(b) (seen)", one_gram, 8.0, lowest,
             highest},
    SarLimit{"ICNIRP, occupational", icnirp, ten_gram, 10.0, lowest, highest},
    SarLimit{"IEEE, restricted", ieee, ten_gram, 10.0, lowest, highest},
};

constexpr std::array<std::string_view, 3> notes{
    "figures for head and trunk, averaged over 6 minutes (USA: at most 30, occupational "
    "6): a device that sends now and then has less",
    "ICNIRP 1998: seen as quoted by an ITU-T report; kept in Health Phys. 118 (2020) "
    "483-524, tables 2 and 3 (from memory)",
    "ICNIRP leaves exposure of patients in medical procedures out of its scope (draft of "
    "11 July 2018, section 2, seen)"};

}  // namespace

std::span<const SarLimit> sar_limits()
{
  return limits;
}

std::span<const std::string_view> sar_limit_notes()
{
  return notes;
}

std::optional<double> largest_average(const SarResult& sar, const SarLimit& limit,
                                      double frequency, bool plane_wave)
{
  if (frequency < limit.from || frequency > limit.to) {
    return std::nullopt;
  }
  const bool one = limit.mass == one_gram;
  const auto of = [&](const SarPeaks& peaks) -> std::optional<double> {
    const std::optional<SarSpot>& spot = one ? peaks.one_gram : peaks.ten_gram;
    return spot ? std::optional(spot->value) : std::nullopt;
  };
  if (plane_wave) {
    return of(sar.slice);
  }
  if (!sar.capsule) {
    return std::nullopt;
  }
  const double beside = one ? sar.capsule->one_gram : sar.capsule->ten_gram;
  return std::max(beside, sar.away ? of(*sar.away).value_or(0.0) : 0.0);
}

}  // namespace torsowave::postproc
