#include "bench/textbook_stepper.hpp"

#include <utility>

#include "materials/constants.hpp"

namespace torsowave::bench {

using materials::vacuum_permeability;
using materials::vacuum_permittivity;

TextbookStepper::TextbookStepper(const solver::Grid& grid, const solver::Medium& medium,
                                 solver::AbsorberProfile along_x,
                                 solver::AbsorberProfile along_y)
    : nx_(grid.raster.nx),
      ny_(grid.raster.ny),
      dx_(grid.raster.cell),
      dt_(grid.time_step),
      along_x_(std::move(along_x)),
      along_y_(std::move(along_y))
{
  const std::size_t cells = cell(0, ny_);
  const std::size_t vertical = vertical_edge(0, ny_);
  ez_.assign(cells, 0.0);
  hx_.assign(cell(0, ny_ + 1), 0.0);
  hy_.assign(vertical, 0.0);
  psi_hx_ = hx_;
  psi_hy_ = hy_;
  psi_ex_ = ez_;
  psi_ey_ = ez_;
  set_coefficients(grid, medium);
}

void TextbookStepper::set_coefficients(const solver::Grid& grid,
                                       const solver::Medium& medium)
{
  const std::size_t cells = grid.raster.size();
  const std::size_t poles = medium.relaxation_times.size();
  ca_.resize(cells);
  cb_.resize(cells);
  q_.assign(poles, std::vector<double>(cells, 0.0));
  cq_.assign(poles, std::vector<double>(cells, 0.0));
  for (const double tau : medium.relaxation_times) {
    pole_a_.push_back((2.0 * tau - dt_) / (2.0 * tau + dt_));
    pole_b_.push_back(dt_ / (2.0 * tau + dt_));
  }
  for (std::size_t p = 0; p < cells; ++p) {
    const solver::MediumEntry& entry = medium.palette[medium.cells[p]];
    if (entry.conductor) {
      ca_[p] = cb_[p] = 0.0;
      continue;
    }
    double s = entry.conductivity * dt_ / (2.0 * vacuum_permittivity);
    for (std::size_t k = 0; k < poles; ++k) {
      s += entry.strengths[k] * pole_b_[k];
    }
    const double n = entry.eps_inf + s;
    ca_[p] = (entry.eps_inf - s) / n;
    cb_[p] = dt_ / vacuum_permittivity / n;
    for (std::size_t k = 0; k < poles; ++k) {
      cq_[k][p] = entry.strengths[k] * (1.0 - pole_a_[k]) / n;
    }
  }
}

void TextbookStepper::step(int i, int j, double current)
{
  update_h();
  update_e();
  const std::size_t p = cell(i, j);
  const double change = cb_[p] * current / (dx_ * dx_);
  ez_[p] -= change;
  for (std::size_t k = 0; k < q_.size(); ++k) {
    q_[k][p] -= pole_b_[k] * change;
  }
}

void TextbookStepper::update_h()
{
  const double ch = dt_ / vacuum_permeability;
#pragma omp parallel for
  for (int e = 0; e <= ny_; ++e) {
    const auto y = static_cast<std::size_t>(e);
    for (int i = 0; i < nx_; ++i) {
      const double above = e < ny_ ? ez_[cell(i, e)] : 0.0;
      const double below = e > 0 ? ez_[cell(i, e - 1)] : 0.0;
      const double d = (above - below) / dx_;
      double& psi = psi_hx_[cell(i, e)];
      psi = along_y_.at_edges.b[y] * psi + along_y_.at_edges.c[y] * d;
      hx_[cell(i, e)] -= ch * (along_y_.at_edges.inverse_kappa[y] * d + psi);
    }
  }
#pragma omp parallel for
  for (int j = 0; j < ny_; ++j) {
    for (int e = 0; e <= nx_; ++e) {
      const auto x = static_cast<std::size_t>(e);
      const double right = e < nx_ ? ez_[cell(e, j)] : 0.0;
      const double left = e > 0 ? ez_[cell(e - 1, j)] : 0.0;
      const double d = (right - left) / dx_;
      double& psi = psi_hy_[vertical_edge(e, j)];
      psi = along_x_.at_edges.b[x] * psi + along_x_.at_edges.c[x] * d;
      hy_[vertical_edge(e, j)] += ch * (along_x_.at_edges.inverse_kappa[x] * d + psi);
    }
  }
}

void TextbookStepper::update_e()
{
#pragma omp parallel for
  for (int j = 0; j < ny_; ++j) {
    const auto y = static_cast<std::size_t>(j);
    for (int i = 0; i < nx_; ++i) {
      const auto x = static_cast<std::size_t>(i);
      const std::size_t p = cell(i, j);
      const double dhy = (hy_[vertical_edge(i + 1, j)] - hy_[vertical_edge(i, j)]) / dx_;
      const double dhx = (hx_[cell(i, j + 1)] - hx_[p]) / dx_;
      psi_ex_[p] = along_x_.at_cells.b[x] * psi_ex_[p] + along_x_.at_cells.c[x] * dhy;
      psi_ey_[p] = along_y_.at_cells.b[y] * psi_ey_[p] + along_y_.at_cells.c[y] * dhx;
      const double curl = along_x_.at_cells.inverse_kappa[x] * dhy + psi_ex_[p] -
                          along_y_.at_cells.inverse_kappa[y] * dhx - psi_ey_[p];
      const double before = ez_[p];
      double after = ca_[p] * before + cb_[p] * curl;
      for (std::size_t k = 0; k < q_.size(); ++k) {
        after += cq_[k][p] * q_[k][p];
      }
      for (std::size_t k = 0; k < q_.size(); ++k) {
        q_[k][p] = pole_a_[k] * q_[k][p] + pole_b_[k] * (before + after);
      }
      ez_[p] = after;
    }
  }
}

}  // namespace torsowave::bench
