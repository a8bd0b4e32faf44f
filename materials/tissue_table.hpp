/// \file
/// \brief The published tissue parameters, in the units of the publication (private).

#pragma once

#include <array>
#include <span>
#include <string_view>

namespace torsowave::materials {

/// One dispersion as printed: tau_1 in ps, tau_2 in ns, tau_3 in us, tau_4 in ms.
struct PublishedTerm {
  double strength;
  double relaxation_time;
  double alpha;
};

/// A tissue with its own row in the report.
struct PublishedRow {
  std::string_view name;
  std::string_view display_name;
  double eps_inf;
  std::array<PublishedTerm, 4> terms;
  double ionic_conductivity;    ///< [S/m]
  std::string_view report_row;  ///< name of the row in Appendix C
  int transcriptions;           ///< independent transcriptions that agree
  bool tabulation_agrees;       ///< confirmed against the tabulation; false: not in it
  double density;               ///< [kg/m^3]; 0 where no source gives one
  std::string_view density_row;
  std::string_view note;
};

/// What says that two tissues share their parameters.
enum class SameAs {
  report_remark,   ///< a remark in the report
  tabulation_only  ///< equality in the tabulation alone
};

/// A tissue without a row of its own: it takes the parameters of `model`.
struct SharedRow {
  std::string_view name;
  std::string_view display_name;
  std::string_view model;
  SameAs basis;
  double density;  ///< [kg/m^3]; 0 where no source gives one
  std::string_view density_row;
  std::string_view note;
};

[[nodiscard]] std::span<const PublishedRow> published_rows() noexcept;
[[nodiscard]] std::span<const SharedRow> shared_rows() noexcept;

}  // namespace torsowave::materials
