/// \file
/// \brief What `torsowave link` prints and writes.

#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "app/text_table.hpp"
#include "postproc/link_around.hpp"
#include "postproc/polar_figure.hpp"
#include "postproc/result.hpp"

namespace torsowave::app {

/// The links of a result, one for each frequency.
struct LinkStudy {
  std::string title;
  std::string scenario_sha256;
  std::vector<double> angle_deg;         ///< Result::far_angle_deg
  std::vector<std::string> assumptions;  ///< of the gains
  std::vector<std::string> notes;        ///< of the run
  postproc::LinkRequest request;
  std::vector<postproc::LinkAround> links;  ///< at least one
  std::optional<std::size_t> lines_of;  ///< of the links, the one to print every line of
};

/// What is sent, and to where, on one line.
[[nodiscard]] std::string link_head(const LinkStudy& study);

/// Which band wins and whether it closes, as sentences.
[[nodiscard]] std::string link_verdict(const LinkStudy& study);

/// The budget implant to reader, a column for each frequency.
[[nodiscard]] TextTable link_budget_table(const LinkStudy& study);

/// What either end radiates beside published limits.
[[nodiscard]] TextTable link_limits_table(const LinkStudy& study);

/// Assumptions, and where the figures lean on a limit, a paragraph each.
[[nodiscard]] std::vector<std::string> link_remarks(const LinkStudy& study);

/// Budget of every frequency side by side, limits, and which band wins.
[[nodiscard]] std::string link_text(const LinkStudy& study, std::size_t most_columns);

/// link_remarks() as text.
[[nodiscard]] std::string link_notes(const LinkStudy& study, std::size_t most_columns);

/// Every line of one frequency's budgets, out and back, with formula and source.
/// \param which  index into the links
[[nodiscard]] std::string link_lines(const LinkStudy& study, std::size_t which,
                                     std::size_t most_columns);

/// One record for each frequency and direction.
[[nodiscard]] std::string link_csv(const LinkStudy& study);

[[nodiscard]] std::string link_json(const LinkStudy& study);

/// Margins around the body.
[[nodiscard]] postproc::PolarFigure link_figure(const LinkStudy& study);

}  // namespace torsowave::app
