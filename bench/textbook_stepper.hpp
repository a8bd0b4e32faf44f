/// \file
/// \brief The textbook way: double precision, plain loops, one array for each
/// coefficient.
///
/// It is the oracle that the product's stepper must match, and the baseline it is
/// measured against. Nothing here is clever on purpose.

#pragma once

#include <cstddef>
#include <vector>

#include "solver/absorber.hpp"
#include "solver/grid.hpp"
#include "solver/medium.hpp"

namespace torsowave::bench {

/// TMz on the layout of solver::Grid, fields in SI units.
class TextbookStepper {
public:
  TextbookStepper(const solver::Grid& grid, const solver::Medium& medium,
                  solver::AbsorberProfile along_x, solver::AbsorberProfile along_y);

  /// One time step with line current `current` [A] in cell (i, j) at the half step.
  void step(int i, int j, double current);

  [[nodiscard]] double ez(int i, int j) const { return ez_[cell(i, j)]; }
  [[nodiscard]] double hx(int i, int e) const { return hx_[cell(i, e)]; }
  [[nodiscard]] double hy(int e, int j) const { return hy_[vertical_edge(e, j)]; }

private:
  [[nodiscard]] std::size_t cell(int i, int j) const
  {
    return static_cast<std::size_t>(j) * static_cast<std::size_t>(nx_) +
           static_cast<std::size_t>(i);
  }
  [[nodiscard]] std::size_t vertical_edge(int e, int j) const
  {
    return static_cast<std::size_t>(j) * static_cast<std::size_t>(nx_ + 1) +
           static_cast<std::size_t>(e);
  }
  void set_coefficients(const solver::Grid& grid, const solver::Medium& medium);
  void update_h();
  void update_e();

  int nx_;
  int ny_;
  double dx_;
  double dt_;
  solver::AbsorberProfile along_x_;
  solver::AbsorberProfile along_y_;
  std::vector<double> ez_, hx_, hy_;
  std::vector<double> ca_, cb_;
  std::vector<std::vector<double>> q_, cq_;
  std::vector<double> pole_a_, pole_b_;
  std::vector<double> psi_hx_, psi_hy_, psi_ex_, psi_ey_;
};

}  // namespace torsowave::bench
