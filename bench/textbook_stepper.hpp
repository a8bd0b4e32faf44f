/// \file
/// \brief The textbook way: plain loops, one array for each coefficient.
///
/// In double it is the oracle that the product's stepper must match, and the baseline it
/// is measured against. Nothing here is clever on purpose, and nothing is slow on
/// purpose: a loop for each field, the absorber's memory in its strips alone, rows spread
/// over threads by `omp parallel for`.

#pragma once

#include <array>
#include <cstddef>
#include <vector>

#include "bench/textbook_parts.hpp"
#include "solver/absorber.hpp"
#include "solver/grid.hpp"
#include "solver/medium.hpp"

namespace torsowave::bench {

/// Whether the loop for Ez, which compilers do not vectorise by themselves for two and
/// more relaxations (too many arrays that might overlap), is told to with `omp simd`.
enum class Loops { plain, simd };

/// TMz on the layout of solver::Grid, fields in SI units, in `Real` = float or double.
template <class Real, Loops loops = Loops::plain>
class TextbookStepper {
public:
  /// \throws std::invalid_argument  More than 4 relaxation times.
  TextbookStepper(const solver::Grid& grid, const solver::Medium& medium,
                  const solver::AbsorberProfile& along_x,
                  const solver::AbsorberProfile& along_y);

  /// One time step with line current `current` [A] in cell (i, j) at the half step.
  void step(int i, int j, double current);

  [[nodiscard]] Real ez(int i, int j) const { return ez_[at(i, j)]; }
  [[nodiscard]] Real hx(int i, int e) const { return hx_[at(i, e)]; }
  [[nodiscard]] Real hy(int e, int j) const { return hy_[at(e, j)]; }

private:
  using End = AbsorberEnd<Real>;
  using Ends = std::array<End, 2>;

  /// All arrays have a ring of cells around the grid, in which Ez stays 0.
  [[nodiscard]] std::size_t at(int i, int j) const
  {
    return static_cast<std::size_t>(j + 1) * static_cast<std::size_t>(nx_ + 2) +
           static_cast<std::size_t>(i + 1);
  }
  void set_coefficients(const solver::Grid& grid, const solver::Medium& medium);
  void update_hx();
  void update_hy();
  template <int K>
  void update_ez();
  void absorb_hx(End& end);
  void absorb_hy(End& end);
  void absorb_ez_along_x(End& end);
  void absorb_ez_along_y(End& end);
  void change(std::size_t p, Real by);

  int nx_;
  int ny_;
  double dx_;
  double dt_;
  Real ch_;  ///< dt/(mu0 dx)
  Ends x_edges_, x_cells_, y_edges_, y_cells_;
  std::vector<Real> ez_, hx_, hy_;
  std::vector<Real> ca_, cb_;  ///< cb: dt/(eps0 N dx)
  std::vector<std::vector<Real>> q_, cq_;
  std::vector<Real> pole_a_, pole_b_;
};

extern template class TextbookStepper<float>;
extern template class TextbookStepper<double>;
extern template class TextbookStepper<double, Loops::simd>;

}  // namespace torsowave::bench
