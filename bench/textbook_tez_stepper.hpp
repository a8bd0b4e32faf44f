/// \file
/// \brief The textbook way for TEz: double precision, plain loops, one array for each
/// coefficient.
///
/// The dual of textbook_stepper.hpp, with a scalar medium on each edge. Nothing here is
/// clever on purpose.

#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <vector>

#include "solver/absorber.hpp"
#include "solver/grid.hpp"
#include "solver/injection.hpp"
#include "solver/tez_medium.hpp"

namespace torsowave::bench {

/// TEz on the layout of solver::Grid, fields in SI units: Hz at the cell centres at n dt,
/// Ex on the horizontal and Ey on the vertical edges at (n - 1/2) dt; Hz = 0 beyond the
/// rim.
///   eps0 dEx/dt = dHz/dy,  eps0 dEy/dt = -dHz/dx,  mu0 dHz/dt = dEx/dy - dEy/dx
class TextbookTezStepper {
public:
  /// \throws std::invalid_argument  The medium has tensor nodes.
  TextbookTezStepper(const solver::Grid& grid, const solver::TezMedium& medium,
                     solver::AbsorberProfile along_x, solver::AbsorberProfile along_y);

  void add_injection(std::shared_ptr<solver::Injection> injection);
  void step();

  [[nodiscard]] double hz(int i, int j) const { return hz_[cell(i, j)]; }
  [[nodiscard]] double ex(int i, int e) const { return x_.field[cell(i, e)]; }
  [[nodiscard]] double ey(int e, int j) const { return y_.field[vertical_edge(e, j)]; }

private:
  /// E along one axis, on its edges.
  struct EdgeField {
    std::vector<double> field, ca, cb, psi;
    std::vector<std::vector<double>> q, cq;
  };
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
  [[nodiscard]] EdgeField edge_field(const solver::TezMedium& medium,
                                     const std::vector<std::uint16_t>& edges) const;
  void update(EdgeField& f, std::size_t p, double curl);
  void change(EdgeField& f, std::size_t p, double by);
  [[nodiscard]] double x_slope(int i, int e) const;
  void update_x();
  void update_y();
  void update_h();
  void inject(bool edges);

  int nx_;
  int ny_;
  double dx_;
  double dt_;
  solver::AbsorberProfile along_x_;
  solver::AbsorberProfile along_y_;
  std::vector<double> pole_a_, pole_b_;
  EdgeField x_, y_;
  solver::TezMedium medium_;  ///< its x_averaged
  std::vector<double> hz_, psi_hx_, psi_hy_;
  std::vector<std::shared_ptr<solver::Injection>> injections_;
  std::vector<std::vector<double>> amounts_;
  long step_ = 0;
};

}  // namespace torsowave::bench
