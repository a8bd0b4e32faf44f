#include "bench/textbook_tez_stepper.hpp"

#include <stdexcept>
#include <utility>

#include "materials/constants.hpp"

namespace torsowave::bench {

using materials::vacuum_permeability;
using materials::vacuum_permittivity;

TextbookTezStepper::TextbookTezStepper(const solver::Grid& grid,
                                       const solver::TezMedium& medium,
                                       solver::AbsorberProfile along_x,
                                       solver::AbsorberProfile along_y)
    : nx_(grid.raster.nx),
      ny_(grid.raster.ny),
      dx_(grid.raster.cell),
      dt_(grid.time_step),
      along_x_(std::move(along_x)),
      along_y_(std::move(along_y)),
      medium_(medium)
{
  if (!medium.nodes.empty()) {
    throw std::invalid_argument("the textbook stepper knows scalar media alone");
  }
  for (const double tau : medium.relaxation_times) {
    pole_a_.push_back((2.0 * tau - dt_) / (2.0 * tau + dt_));
    pole_b_.push_back(dt_ / (2.0 * tau + dt_));
  }
  x_ = edge_field(medium, medium.x_edges);
  y_ = edge_field(medium, medium.y_edges);
  hz_.assign(cell(0, ny_), 0.0);
  psi_hx_ = hz_;
  psi_hy_ = hz_;
}

TextbookTezStepper::EdgeField TextbookTezStepper::edge_field(
    const solver::TezMedium& medium, const std::vector<std::uint16_t>& edges) const
{
  const std::size_t poles = pole_a_.size();
  EdgeField f;
  f.field.assign(edges.size(), 0.0);
  f.psi = f.ca = f.cb = f.field;
  f.q.assign(poles, f.field);
  f.cq = f.q;
  for (std::size_t p = 0; p < edges.size(); ++p) {
    const solver::MediumEntry& entry = medium.palette[edges[p]];
    if (entry.conductor) {
      continue;
    }
    double s = entry.conductivity * dt_ / (2.0 * vacuum_permittivity);
    for (std::size_t k = 0; k < poles; ++k) {
      s += entry.strengths[k] * pole_b_[k];
    }
    const double n = entry.eps_inf + s;
    f.ca[p] = (entry.eps_inf - s) / n;
    f.cb[p] = dt_ / vacuum_permittivity / n;
    for (std::size_t k = 0; k < poles; ++k) {
      f.cq[k][p] = entry.strengths[k] * (1.0 - pole_a_[k]) / n;
    }
  }
  return f;
}

void TextbookTezStepper::add_injection(std::shared_ptr<solver::Injection> injection)
{
  std::size_t size = 0;
  for (const solver::InjectionSpan& span : injection->spans()) {
    size += static_cast<std::size_t>(span.count);
  }
  injections_.push_back(std::move(injection));
  amounts_.emplace_back(size);
}

void TextbookTezStepper::step()
{
  for (std::size_t n = 0; n < injections_.size(); ++n) {
    injections_[n]->amounts(step_, amounts_[n]);
  }
  update_x();
  update_y();
  inject(true);
  update_h();
  inject(false);
  ++step_;
}

void TextbookTezStepper::update(EdgeField& f, std::size_t p, double curl)
{
  const double before = f.field[p];
  double after = f.ca[p] * before + f.cb[p] * curl;
  for (std::size_t k = 0; k < f.q.size(); ++k) {
    after += f.cq[k][p] * f.q[k][p];
  }
  for (std::size_t k = 0; k < f.q.size(); ++k) {
    f.q[k][p] = pole_a_[k] * f.q[k][p] + pole_b_[k] * (before + after);
  }
  f.field[p] = after;
}

/// After the plain update: the polarisation follows.
void TextbookTezStepper::change(EdgeField& f, std::size_t p, double by)
{
  f.field[p] += by;
  for (std::size_t k = 0; k < f.q.size(); ++k) {
    f.q[k][p] += pole_b_[k] * by;
  }
}

/// dHz/dy
double TextbookTezStepper::x_slope(int i, int e) const
{
  const double above = e < ny_ ? hz_[cell(i, e)] : 0.0;
  const double below = e > 0 ? hz_[cell(i, e - 1)] : 0.0;
  return (above - below) / dx_;
}

void TextbookTezStepper::update_x()
{
  for (int e = 0; e <= ny_; ++e) {
    const auto y = static_cast<std::size_t>(e);
    for (int i = 0; i < nx_; ++i) {
      double d = x_slope(i, e);
      if (const double part = medium_.averaged_with_left(i, e, nx_); part != 0.0) {
        d += part * (x_slope(i - 1, e) - x_slope(i, e));
      }
      if (const double part = medium_.averaged_with_left(i + 1, e, nx_); part != 0.0) {
        d += part * (x_slope(i + 1, e) - x_slope(i, e));
      }
      double& psi = x_.psi[cell(i, e)];
      psi = along_y_.at_edges.b[y] * psi + along_y_.at_edges.c[y] * d;
      update(x_, cell(i, e), along_y_.at_edges.inverse_kappa[y] * d + psi);
    }
  }
}

void TextbookTezStepper::update_y()
{
  for (int j = 0; j < ny_; ++j) {
    for (int e = 0; e <= nx_; ++e) {
      const auto x = static_cast<std::size_t>(e);
      const double right = e < nx_ ? hz_[cell(e, j)] : 0.0;
      const double left = e > 0 ? hz_[cell(e - 1, j)] : 0.0;
      const double d = (right - left) / dx_;
      double& psi = y_.psi[vertical_edge(e, j)];
      psi = along_x_.at_edges.b[x] * psi + along_x_.at_edges.c[x] * d;
      update(y_, vertical_edge(e, j), -along_x_.at_edges.inverse_kappa[x] * d - psi);
    }
  }
}

void TextbookTezStepper::update_h()
{
  for (int j = 0; j < ny_; ++j) {
    const auto y = static_cast<std::size_t>(j);
    for (int i = 0; i < nx_; ++i) {
      const auto x = static_cast<std::size_t>(i);
      const std::size_t p = cell(i, j);
      const double dex = (x_.field[cell(i, j + 1)] - x_.field[p]) / dx_;
      const double dey =
          (y_.field[vertical_edge(i + 1, j)] - y_.field[vertical_edge(i, j)]) / dx_;
      psi_hx_[p] = along_y_.at_cells.b[y] * psi_hx_[p] + along_y_.at_cells.c[y] * dex;
      psi_hy_[p] = along_x_.at_cells.b[x] * psi_hy_[p] + along_x_.at_cells.c[x] * dey;
      hz_[p] += dt_ / vacuum_permeability *
                (along_y_.at_cells.inverse_kappa[y] * dex + psi_hx_[p] -
                 along_x_.at_cells.inverse_kappa[x] * dey - psi_hy_[p]);
    }
  }
}

/// Amounts to H are given over dt/(mu0 dx).
void TextbookTezStepper::inject(bool edges)
{
  const double to_h = dt_ / (vacuum_permeability * dx_);
  for (std::size_t n = 0; n < injections_.size(); ++n) {
    std::size_t at = 0;
    for (const solver::InjectionSpan& span : injections_[n]->spans()) {
      for (int c = span.begin; c < span.begin + span.count; ++c, ++at) {
        if (edges && span.site == solver::Site::x_edge) {
          change(x_, cell(c, span.row), amounts_[n][at]);
        } else if (edges && span.site == solver::Site::y_edge) {
          change(y_, vertical_edge(c, span.row), amounts_[n][at]);
        } else if (!edges && span.site == solver::Site::centre) {
          hz_[cell(c, span.row)] += to_h * amounts_[n][at];
        }
      }
    }
  }
}

}  // namespace torsowave::bench
