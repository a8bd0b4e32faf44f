/// \file
/// \brief The absorber's memory and coefficients, in its strips alone.

#pragma once

#include <cmath>
#include <cstddef>
#include <vector>

#include "solver/absorber.hpp"
#include "solver/kernels/sweep_args.hpp"
#include "solver/medium.hpp"
#include "solver/update_table.hpp"

namespace torsowave::solver {

/// Arrays behind the absorber pointers of kernels::SweepArgs.
template <class Real>
class AbsorberStrips {
public:
  AbsorberStrips(const AbsorberSpec& spec, const Grid& grid, const Medium& medium,
                 const UpdateTable<Real>& table, std::ptrdiff_t stride)
      : depth_(spec.cells), nx_(grid.raster.nx), ny_(grid.raster.ny)
  {
    const auto depth = static_cast<std::size_t>(depth_);
    const std::size_t depth_y = ny_ == 1 ? 0 : depth;
    const auto rows = static_cast<std::size_t>(ny_);
    const auto width = static_cast<std::size_t>(stride);
    psi_hy_.assign(rows * 2 * depth, Real(0));
    psi_ex_ = psi_hy_;
    curl_x_ = psi_hy_;
    psi_hx_.assign(2 * depth_y * width, Real(0));
    psi_ey_ = psi_hx_;
    curl_y_ = psi_hx_;
    set_profiles(spec, grid, medium);
    set_media(grid, medium, table, stride);
  }

  void point(kernels::SweepArgs<Real>& args)
  {
    args.depth = depth_;
    for (std::size_t side = 0; side < 2; ++side) {
      args.x_edges[side] = lines_[side].view();
      args.x_cells[side] = lines_[2 + side].view();
      args.y_edges[side] = lines_[4 + side].view();
      args.y_cells[side] = lines_[6 + side].view();
    }
    args.psi_hy = psi_hy_.data();
    args.psi_ex = psi_ex_.data();
    args.psi_hx = psi_hx_.data();
    args.psi_ey = psi_ey_.data();
    args.curl_x = curl_x_.data();
    args.curl_y = curl_y_.data();
    args.poles_in_absorber = poles_;
  }

private:
  struct Side {
    std::vector<Real> b, c, extra;
    [[nodiscard]] kernels::AbsorberSide<Real> view() const
    {
      return {b.data(), c.data(), extra.data()};
    }
  };

  static Side cut(const AbsorberProfile::Line& line, int first, int count)
  {
    Side side;
    for (int p = first; p < first + count; ++p) {
      const auto at = static_cast<std::size_t>(p);
      side.b.push_back(static_cast<Real>(line.b[at]));
      side.c.push_back(static_cast<Real>(line.c[at]));
      side.extra.push_back(static_cast<Real>(line.inverse_kappa[at] - 1.0));
    }
    return side;
  }

  void set_profiles(const AbsorberSpec& spec, const Grid& grid, const Medium& medium)
  {
    const AbsorberProfile x = absorber_along_x(spec, grid, medium);
    lines_ = {cut(x.at_edges, 0, depth_), cut(x.at_edges, nx_ - depth_ + 1, depth_),
              cut(x.at_cells, 0, depth_), cut(x.at_cells, nx_ - depth_, depth_)};
    if (ny_ == 1) {
      lines_.resize(8);
      return;
    }
    const AbsorberProfile y = absorber_along_y(spec, grid, medium);
    lines_.insert(lines_.end(),
                  {cut(y.at_edges, 0, depth_), cut(y.at_edges, ny_ - depth_ + 1, depth_),
                   cut(y.at_cells, 0, depth_), cut(y.at_cells, ny_ - depth_, depth_)});
  }

  void set_media(const Grid& grid, const Medium& medium, const UpdateTable<Real>& table,
                 std::ptrdiff_t stride)
  {
    for (int j = 0; j < ny_; ++j) {
      for (int d = 0; d < 2 * depth_; ++d) {
        const int i = d < depth_ ? d : nx_ - 2 * depth_ + d;
        const std::uint16_t entry = medium.cells[grid.raster.at(i, j)];
        curl_x_[(static_cast<std::size_t>(j) * 2 * static_cast<std::size_t>(depth_)) +
                static_cast<std::size_t>(d)] = table.palette[entry].curl;
        poles_ = poles_ || medium.palette[entry].has_poles();
      }
    }
    for (int d = 0; ny_ > 1 && d < 2 * depth_; ++d) {
      const int j = d < depth_ ? d : ny_ - 2 * depth_ + d;
      for (int i = 0; i < nx_; ++i) {
        const std::uint16_t entry = medium.cells[grid.raster.at(i, j)];
        curl_y_[static_cast<std::size_t>(d * stride + i)] = table.palette[entry].curl;
        poles_ = poles_ || medium.palette[entry].has_poles();
      }
    }
  }

  int depth_;
  int nx_;
  int ny_;
  bool poles_ = false;
  std::vector<Side> lines_;
  std::vector<Real> psi_hy_, psi_ex_, psi_hx_, psi_ey_, curl_x_, curl_y_;
};

}  // namespace torsowave::solver
