/// \file
/// \brief The lines of a link budget, added up as they are written (private).

#pragma once

#include <string>
#include <utility>
#include <vector>

#include "postproc/link_budget.hpp"

namespace torsowave::postproc {

class LinkTerms {
public:
  /// A gain, or a loss with a minus sign [dB, or dBm for the first one].
  void add(std::string name, double value, std::string unit, std::string formula,
           std::string source);
  /// The sum so far [dBm].
  void total(std::string name, std::string formula);
  void figure(std::string name, double value, std::string unit, std::string formula,
              std::string source);

  [[nodiscard]] double sum() const { return sum_; }
  [[nodiscard]] std::vector<LinkTerm> take() { return std::move(terms_); }

private:
  double sum_ = 0.0;
  std::vector<LinkTerm> terms_;
};

/// Transmit power up to the received power; sets EIRP, fade margin and both powers.
void add_power_terms(LinkTerms& terms, const LinkInput& input, LinkBudget& budget);

/// Noise, SNR, Eb/N0, demand and margin; the figures are those of the budget.
void add_figure_terms(LinkTerms& terms, const LinkSignal& signal,
                      const LinkBudget& budget);

}  // namespace torsowave::postproc
