#include "bench/textbook_stepper.hpp"

#include <stdexcept>

#include "materials/constants.hpp"

namespace torsowave::bench {

using materials::vacuum_permeability;

template <class Real, Loops loops>
TextbookStepper<Real, loops>::TextbookStepper(const solver::Grid& grid,
                                              const solver::Medium& medium,
                                              const solver::AbsorberProfile& along_x,
                                              const solver::AbsorberProfile& along_y)
    : nx_(grid.raster.nx),
      ny_(grid.raster.ny),
      dx_(grid.raster.cell),
      dt_(grid.time_step),
      ch_(static_cast<Real>(grid.time_step / (vacuum_permeability * grid.raster.cell))),
      x_edges_(absorber_ends<Real>(along_x.at_edges, grid.absorbing_cells, ny_)),
      x_cells_(absorber_ends<Real>(along_x.at_cells, grid.absorbing_cells, ny_)),
      y_edges_(absorber_ends<Real>(along_y.at_edges, grid.absorbing_cells, nx_)),
      y_cells_(absorber_ends<Real>(along_y.at_cells, grid.absorbing_cells, nx_))
{
  if (medium.relaxation_times.size() > 4) {
    throw std::invalid_argument("the textbook stepper knows up to 4 relaxation times");
  }
  ez_.assign(at(0, ny_ + 1), Real(0));
  hx_ = ez_;
  hy_ = ez_;
  set_coefficients(grid, medium);
}

template <class Real, Loops loops>
void TextbookStepper<Real, loops>::set_coefficients(const solver::Grid& grid,
                                                    const solver::Medium& medium)
{
  std::vector<double> gain;
  for (const double tau : medium.relaxation_times) {
    gain.push_back(dt_ / (2.0 * tau + dt_));
    pole_a_.push_back(static_cast<Real>(1.0 - 2.0 * gain.back()));
    pole_b_.push_back(static_cast<Real>(gain.back()));
  }
  std::vector<MediumCoefficients> media;
  for (const solver::MediumEntry& entry : medium.palette) {
    media.push_back(medium_coefficients(entry, gain, dt_, dx_));
  }
  ca_ = cb_ = ez_;
  q_.assign(gain.size(), ez_);
  cq_ = q_;
  for (int j = 0; j < ny_; ++j) {
    for (int i = 0; i < nx_; ++i) {
      const MediumCoefficients& here = media[medium.cells[grid.raster.at(i, j)]];
      const std::size_t p = at(i, j);
      ca_[p] = static_cast<Real>(here.ca);
      cb_[p] = static_cast<Real>(here.cb);
      for (std::size_t k = 0; k < gain.size(); ++k) {
        cq_[k][p] = static_cast<Real>(here.cq[k]);
      }
    }
  }
}

template <class Real, Loops loops>
void TextbookStepper<Real, loops>::step(int i, int j, double current)
{
  update_hx();
  update_hy();
  for (const std::size_t end : {0U, 1U}) {
    absorb_hx(y_edges_[end]);
    absorb_hy(x_edges_[end]);
  }
  switch (q_.size()) {
    case 0:
      update_ez<0>();
      break;
    case 1:
      update_ez<1>();
      break;
    case 2:
      update_ez<2>();
      break;
    case 3:
      update_ez<3>();
      break;
    default:
      update_ez<4>();
  }
  for (const std::size_t end : {0U, 1U}) {
    absorb_ez_along_x(x_cells_[end]);
    absorb_ez_along_y(y_cells_[end]);
  }
  const std::size_t p = at(i, j);
  change(p, -cb_[p] * static_cast<Real>(current / dx_));
}

/// Adds to Ez after the plain update; the polarisation follows.
template <class Real, Loops loops>
void TextbookStepper<Real, loops>::change(std::size_t p, Real by)
{
  ez_[p] += by;
  for (std::size_t k = 0; k < q_.size(); ++k) {
    q_[k][p] += pole_b_[k] * by;
  }
}

template <class Real, Loops loops>
void TextbookStepper<Real, loops>::update_hx()
{
#pragma omp parallel for
  for (int e = 0; e <= ny_; ++e) {
    for (int i = 0; i < nx_; ++i) {
      hx_[at(i, e)] -= ch_ * (ez_[at(i, e)] - ez_[at(i, e - 1)]);
    }
  }
}

template <class Real, Loops loops>
void TextbookStepper<Real, loops>::update_hy()
{
#pragma omp parallel for
  for (int j = 0; j < ny_; ++j) {
    for (int e = 0; e <= nx_; ++e) {
      hy_[at(e, j)] += ch_ * (ez_[at(e, j)] - ez_[at(e - 1, j)]);
    }
  }
}

template <class Real, Loops loops>
void TextbookStepper<Real, loops>::absorb_hx(End& end)
{
  const int depth = static_cast<int>(end.b.size());
#pragma omp parallel for
  for (int d = 0; d < depth; ++d) {
    const int e = end.first + d;
    const auto y = static_cast<std::size_t>(d);
    for (int i = 0; i < nx_; ++i) {
      Real& psi =
          end.psi[y * static_cast<std::size_t>(nx_) + static_cast<std::size_t>(i)];
      const Real slope = ez_[at(i, e)] - ez_[at(i, e - 1)];
      psi = end.b[y] * psi + end.c[y] * slope;
      hx_[at(i, e)] -= ch_ * (psi + end.extra[y] * slope);
    }
  }
}

template <class Real, Loops loops>
void TextbookStepper<Real, loops>::absorb_hy(End& end)
{
#pragma omp parallel for
  for (int j = 0; j < ny_; ++j) {
    for (std::size_t x = 0; x < end.b.size(); ++x) {
      const int e = end.first + static_cast<int>(x);
      Real& psi = end.psi[static_cast<std::size_t>(j) * end.b.size() + x];
      const Real slope = ez_[at(e, j)] - ez_[at(e - 1, j)];
      psi = end.b[x] * psi + end.c[x] * slope;
      hy_[at(e, j)] += ch_ * (psi + end.extra[x] * slope);
    }
  }
}

/// As it is written for the number of relaxations at hand.
template <class Real, Loops loops>
template <int K>
void TextbookStepper<Real, loops>::update_ez()
{
  std::array<Real*, K + 1> q{};
  std::array<const Real*, K + 1> cq{};
  std::array<Real, K + 1> a{};
  std::array<Real, K + 1> b{};
  for (std::size_t k = 0; k < K; ++k) {
    q[k] = q_[k].data();
    cq[k] = cq_[k].data();
    a[k] = pole_a_[k];
    b[k] = pole_b_[k];
  }
  const auto update = [&](int i, int j) {
    const std::size_t p = at(i, j);
    const Real curl = (hy_[at(i + 1, j)] - hy_[p]) - (hx_[at(i, j + 1)] - hx_[p]);
    const Real before = ez_[p];
    Real after = ca_[p] * before + cb_[p] * curl;
    for (std::size_t k = 0; k < K; ++k) {
      after += cq[k][p] * q[k][p];
    }
    for (std::size_t k = 0; k < K; ++k) {
      q[k][p] = a[k] * q[k][p] + b[k] * (before + after);
    }
    ez_[p] = after;
  };
#pragma omp parallel for
  for (int j = 0; j < ny_; ++j) {
    if constexpr (loops == Loops::simd) {
#pragma omp simd
      for (int i = 0; i < nx_; ++i) {
        update(i, j);
      }
    } else {
      for (int i = 0; i < nx_; ++i) {
        update(i, j);
      }
    }
  }
}

template <class Real, Loops loops>
void TextbookStepper<Real, loops>::absorb_ez_along_x(End& end)
{
#pragma omp parallel for
  for (int j = 0; j < ny_; ++j) {
    for (std::size_t x = 0; x < end.b.size(); ++x) {
      const std::size_t p = at(end.first + static_cast<int>(x), j);
      Real& psi = end.psi[static_cast<std::size_t>(j) * end.b.size() + x];
      const Real slope = hy_[p + 1] - hy_[p];
      psi = end.b[x] * psi + end.c[x] * slope;
      change(p, cb_[p] * (psi + end.extra[x] * slope));
    }
  }
}

template <class Real, Loops loops>
void TextbookStepper<Real, loops>::absorb_ez_along_y(End& end)
{
  const int depth = static_cast<int>(end.b.size());
#pragma omp parallel for
  for (int d = 0; d < depth; ++d) {
    const int j = end.first + d;
    const auto y = static_cast<std::size_t>(d);
    for (int i = 0; i < nx_; ++i) {
      const std::size_t p = at(i, j);
      Real& psi =
          end.psi[y * static_cast<std::size_t>(nx_) + static_cast<std::size_t>(i)];
      const Real slope = hx_[at(i, j + 1)] - hx_[p];
      psi = end.b[y] * psi + end.c[y] * slope;
      change(p, -cb_[p] * (psi + end.extra[y] * slope));
    }
  }
}

template class TextbookStepper<float>;
template class TextbookStepper<double>;
template class TextbookStepper<double, Loops::simd>;

}  // namespace torsowave::bench
