#include <fmt/format.h>

#include <cmath>
#include <utility>

#include "postproc/link_formulas.hpp"
#include "postproc/link_terms_internal.hpp"

namespace torsowave::postproc {
namespace {

/// One end with what only the implant has.
struct Side {
  const LinkEnd& end;
  std::string name;
  bool in_body;
};

constexpr const char* given = "given";
constexpr const char* balanis = "C. A. Balanis, Antenna Theory, ch. 2 (from memory)";
constexpr const char* pozar = "D. M. Pozar, Microwave Engineering, ch. 2 (from memory)";
constexpr const char* definition = "definition";

void add_antenna(LinkTerms& terms, const Side& side, double capsule_loss_db)
{
  const auto of = [&](const char* what) {
    return fmt::format("{}, {}", what, side.name);
  };
  terms.add(of("mismatch"), -mismatch_loss_db(side.end.return_loss_db), "dB",
            "10 log10(1 - |Gamma|^2)", pozar);
  terms.add(of("antenna efficiency"), 10.0 * std::log10(side.end.antenna_efficiency),
            "dB", "10 log10(efficiency)", balanis);
  if (side.in_body) {
    terms.add(of("gain towards the reader"), side.end.gain_dbi, "dBi",
              "10 log10(EIRP(phi)/P)", "full-wave slice, docs/numerics.md, section 16");
    terms.add(of("loss of the capsule"), -capsule_loss_db, "dB", "-L", given);
  } else {
    terms.add(of("gain"), side.end.gain_dbi, "dBi", "G", given);
  }
}

void add_way(LinkTerms& terms, const LinkPath& path)
{
  terms.add("free-space loss", -free_space_loss_db(path.frequency, path.distance), "dB",
            "-20 log10(4 pi d/lambda)", "Rec. ITU-R P.525");
  terms.add("polarisation loss", -path.polarisation_loss_db, "dB", "20 log10 |cos psi|",
            balanis);
}

void add_noise_figures(LinkTerms& terms, const LinkSignal& signal,
                       const LinkBudget& budget)
{
  constexpr const char* johnson =
      "J. B. Johnson; H. Nyquist, Phys. Rev. 32 (1928) (from memory)";
  terms.figure("noise of the surroundings", budget.noise.antenna, "K", "Ta", given);
  terms.figure("man-made noise", budget.noise.man_made, "K", "T0 10^(Fam/10)",
               "Rec. ITU-R P.372 (0.3 to 250 MHz)");
  terms.figure("noise of the receiver", budget.noise.receiver, "K",
               "T0 (F - 1), T0 = 290 K",
               "H. T. Friis, Proc. IRE 32 (1944) 419-422 (from memory)");
  terms.figure("noise density", budget.noise_density_dbm, "dBm/Hz", "10 log10(k T/1 mW)",
               johnson);
  terms.figure("noise in the bandwidth", budget.noise_power_dbm, "dBm", "k T B", johnson);
  terms.figure("signal to noise", budget.faded.snr_db, "dB", "C with fading - N",
               definition);
  terms.figure("data rate", 10.0 * std::log10(signal.data_rate), "dBHz",
               "10 log10(R/1 bit/s)", given);
  terms.figure("Eb/N0", budget.faded.eb_n0_db, "dB", "C with fading - N0 - R",
               definition);
}

}  // namespace

void LinkTerms::add(std::string name, double value, std::string unit, std::string formula,
                    std::string source)
{
  sum_ += value;
  // + 0.0: a loss of nothing is 0, not -0.
  terms_.push_back({LinkTerm::Kind::contribution, std::move(name), value + 0.0,
                    std::move(unit), std::move(formula), std::move(source)});
}

void LinkTerms::total(std::string name, std::string formula)
{
  terms_.push_back({LinkTerm::Kind::total, std::move(name), sum_, "dBm",
                    std::move(formula), definition});
}

void LinkTerms::figure(std::string name, double value, std::string unit,
                       std::string formula, std::string source)
{
  terms_.push_back({LinkTerm::Kind::figure, std::move(name), value + 0.0, std::move(unit),
                    std::move(formula), std::move(source)});
}

void add_power_terms(LinkTerms& terms, const LinkInput& input, LinkBudget& budget)
{
  const Side implant{input.implant, "implant", true};
  const Side reader{input.reader, "reader", false};
  const bool out = budget.direction == LinkDirection::implant_to_reader;
  const Side& from = out ? implant : reader;
  const Side& to = out ? reader : implant;
  terms.add(fmt::format("transmit power, {}", from.name),
            10.0 * std::log10(from.end.transmit_power) + 30.0, "dBm", "10 log10(P/1 mW)",
            given);
  add_antenna(terms, from, input.path.capsule_loss_db);
  budget.eirp_dbm = terms.sum();
  terms.total("EIRP outside the body", "sum");
  add_way(terms, input.path);
  add_antenna(terms, to, input.path.capsule_loss_db);
  budget.median.power_dbm = terms.sum();
  terms.total("received power, median", "sum");
  budget.fade_margin_db = fade_margin_db(input.path.fade_sigma_db, input.path.outage);
  terms.add("fade margin", -budget.fade_margin_db, "dB", "-sigma Q^-1(outage)",
            "normal in dB, K. Sayrafian-Pour et al., Int. J. Wireless Inf. Networks 17 "
            "(2010) 105-112 (sigma from memory)");
  budget.faded.power_dbm = terms.sum();
  terms.total("received power with fading", "sum");
}

void add_figure_terms(LinkTerms& terms, const LinkSignal& signal,
                      const LinkBudget& budget)
{
  add_noise_figures(terms, signal, budget);
  const double formula =
      budget.required_eb_n0_db - signal.implementation_loss_db + signal.coding_gain_db;
  terms.figure(fmt::format("Eb/N0 of {}", modulation_name(signal.modulation.kind)),
               formula, "dB", "inverse of the bit error ratio",
               "J. G. Proakis, Digital Communications (from memory); docs/link.md");
  terms.figure("implementation loss", signal.implementation_loss_db, "dB", "+L", given);
  terms.figure("coding gain", -signal.coding_gain_db, "dB", "-G", given);
  terms.figure("Eb/N0 needed", budget.required_eb_n0_db, "dB", "sum of the three",
               definition);
  terms.figure("margin", budget.faded.margin_db, "dB", "Eb/N0 - Eb/N0 needed",
               definition);
}

}  // namespace torsowave::postproc
