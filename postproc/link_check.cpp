// What no link can be: every reason at once, so that a scenario is put right in one go.

#include <fmt/format.h>

#include <cmath>
#include <functional>
#include <stdexcept>
#include <string_view>
#include <utility>

#include "postproc/link_budget.hpp"
#include "postproc/link_formulas.hpp"

namespace torsowave::postproc {
namespace {

class Problems {
public:
  void require(bool ok, std::string_view quantity, std::string_view rule, double value)
  {
    if (!ok) {
      problems_.push_back(
          {std::string(quantity), fmt::format("must be {}, got {}", rule, value)});
    }
  }

  /// Takes the reason from the formula that will be used.
  void require(std::string_view quantity, const std::function<double()>& formula)
  {
    try {
      static_cast<void>(formula());
    } catch (const std::invalid_argument& refusal) {
      problems_.push_back({std::string(quantity), refusal.what()});
    }
  }

  [[nodiscard]] std::vector<LinkProblem> take() { return std::move(problems_); }

private:
  std::vector<LinkProblem> problems_;
};

[[nodiscard]] bool within(double value, double low, double high)
{
  return value >= low && value <= high;  // false for NaN
}

/// \param highest_gain  [dBi]
void check_end(Problems& problems, const LinkEnd& end, std::string_view who,
               double highest_gain, std::string_view why)
{
  const auto of = [&](std::string_view what) {
    return fmt::format("{} of the {}", what, who);
  };
  problems.require(end.transmit_power > 0.0 && end.transmit_power <= 1e3,
                   of("transmit power"), "above 0 and at most 1000 W",
                   end.transmit_power);
  problems.require(within(end.gain_dbi, -200.0, highest_gain), of("gain"),
                   fmt::format("from -200 to {} dBi ({})", highest_gain, why),
                   end.gain_dbi);
  problems.require(of("return loss"),
                   [&] { return mismatch_loss_db(end.return_loss_db); });
  problems.require(end.antenna_efficiency > 0.0 && end.antenna_efficiency <= 1.0,
                   of("antenna efficiency"), "above 0 and at most 1",
                   end.antenna_efficiency);
  problems.require(of("noise"), [&] {
    return system_noise(end.antenna_temperature, end.noise_figure_db, std::nullopt)
        .temperature();
  });
}

void check_way(Problems& problems, const LinkPath& path)
{
  problems.require(path.skin_distance >= 0.0 && std::isfinite(path.skin_distance),
                   "distance to the skin", "finite and >= 0 m", path.skin_distance);
  problems.require(path.body_extent >= 0.0 && std::isfinite(path.body_extent),
                   "extent of the body", "finite and >= 0 m", path.body_extent);
  if (path.distance > 0.0 && path.distance <= path.skin_distance) {
    problems.require(false, "distance of the reader",
                     fmt::format("above {} m, where the skin is: the reader would be "
                                 "inside the body",
                                 path.skin_distance),
                     path.distance);
  }
  problems.require(path.distance > 0.0 && path.distance <= 1e6, "distance of the reader",
                   "above 0 and at most 1000000 m", path.distance);
}

void check_losses(Problems& problems, const LinkPath& path)
{
  problems.require(within(path.capsule_loss_db, 0.0, 100.0), "loss of the capsule",
                   "from 0 to 100 dB", path.capsule_loss_db);
  problems.require(within(path.polarisation_loss_db, 0.0, 60.0), "polarisation loss",
                   "from 0 to 60 dB", path.polarisation_loss_db);
  problems.require("fading",
                   [&] { return fade_margin_db(path.fade_sigma_db, path.outage); });
}

void check_signal(Problems& problems, const LinkSignal& signal, double frequency)
{
  problems.require(frequency > 0.0 && std::isfinite(frequency), "frequency",
                   "finite and > 0 Hz", frequency);
  problems.require(signal.data_rate > 0.0 && std::isfinite(signal.data_rate), "data rate",
                   "finite and > 0 bit/s", signal.data_rate);
  problems.require(signal.bandwidth > 0.0 && signal.bandwidth < 2.0 * frequency,
                   "bandwidth", "above 0 and below twice the frequency, in Hz",
                   signal.bandwidth);
  problems.require(within(signal.coding_gain_db, 0.0, 15.0), "coding gain",
                   "from 0 to 15 dB", signal.coding_gain_db);
  problems.require(within(signal.implementation_loss_db, 0.0, 40.0),
                   "implementation loss", "from 0 to 40 dB",
                   signal.implementation_loss_db);
  problems.require("error target", [&] { return required_eb_n0_db(signal); });
}

}  // namespace

std::vector<LinkProblem> link_problems(const LinkInput& input)
{
  Problems problems;
  // Common practice, no published source.
  check_end(problems, input.implant, "implant", 10.0,
            "in a body, which only takes power away");
  check_end(problems, input.reader, "reader", 40.0, "a dish of many wavelengths");
  check_way(problems, input.path);
  check_losses(problems, input.path);
  check_signal(problems, input.signal, input.path.frequency);
  return problems.take();
}

}  // namespace torsowave::postproc
