/// \file
/// \brief The absorber's memory and coefficients, in its strips alone.

#pragma once

#include <cstddef>
#include <utility>
#include <vector>

#include "solver/absorber.hpp"
#include "solver/kernels/sweep_args.hpp"
#include "solver/kernels/tez_args.hpp"
#include "solver/medium.hpp"
#include "solver/state_archive.hpp"
#include "solver/tez_medium.hpp"
#include "solver/update_table.hpp"

namespace torsowave::solver {

/// `depth` up to whole packs of any instruction set.
[[nodiscard]] constexpr int strip_width(int depth) noexcept
{
  constexpr int lanes = 16;
  return (depth + lanes - 1) / lanes * lanes;
}

/// The profiles of all sides in the kernels' form: x edges, x cells, y edges, y cells,
/// each low and high. A grid of one row has none along y.
template <class Real>
class AbsorberLines {
public:
  AbsorberLines(const AbsorberSpec& spec, const Grid& grid, const Medium& medium)
  {
    const int depth = spec.cells;
    const int nx = grid.raster.nx;
    const int ny = grid.raster.ny;
    const AbsorberProfile x = absorber_along_x(spec, grid, medium);
    sides_ = {cut(x.at_edges, 0, depth), cut(x.at_edges, nx - depth + 1, depth),
              cut(x.at_cells, 0, depth), cut(x.at_cells, nx - depth, depth)};
    if (ny == 1) {
      sides_.resize(8);
      return;
    }
    const AbsorberProfile y = absorber_along_y(spec, grid, medium);
    for (Side& side : std::vector<Side>{
             cut(y.at_edges, 0, depth), cut(y.at_edges, ny - depth + 1, depth),
             cut(y.at_cells, 0, depth), cut(y.at_cells, ny - depth, depth)}) {
      sides_.push_back(std::move(side));
    }
  }

  /// For kernels::SweepArgs and kernels::TezArgs.
  template <class Args>
  void point(Args& args) const
  {
    for (std::size_t side = 0; side < 2; ++side) {
      args.x_edges[side] = sides_[side].view();
      args.x_cells[side] = sides_[2 + side].view();
      args.y_edges[side] = sides_[4 + side].view();
      args.y_cells[side] = sides_[6 + side].view();
    }
  }

private:
  struct Side {
    AlignedVector<Real> b, c, extra;
    [[nodiscard]] kernels::AbsorberSide<Real> view() const
    {
      return {b.data(), c.data(), extra.data()};
    }
  };

  /// Ends with zeros, see strip_width().
  static Side cut(const AbsorberProfile::Line& line, int first, int count)
  {
    Side side;
    for (int p = first; p < first + count; ++p) {
      const auto at = static_cast<std::size_t>(p);
      side.b.push_back(static_cast<Real>(line.b[at]));
      side.c.push_back(static_cast<Real>(line.c[at]));
      side.extra.push_back(static_cast<Real>(line.inverse_kappa[at] - 1.0));
    }
    for (AlignedVector<Real>* values : {&side.b, &side.c, &side.extra}) {
      values->resize(static_cast<std::size_t>(strip_width(count)), Real(0));
    }
    return side;
  }

  std::vector<Side> sides_;
};

/// Arrays behind the absorber pointers of kernels::SweepArgs.
template <class Real>
class AbsorberStrips {
public:
  AbsorberStrips(const AbsorberSpec& spec, const Grid& grid, const Medium& medium,
                 const std::vector<kernels::CellCoefficients<Real>>& palette,
                 std::ptrdiff_t stride)
      : depth_(spec.cells),
        nx_(grid.raster.nx),
        ny_(grid.raster.ny),
        lines_(spec, grid, medium)
  {
    const auto depth = static_cast<std::size_t>(depth_);
    const std::size_t depth_y = ny_ == 1 ? 0 : depth;
    const auto rows = static_cast<std::size_t>(ny_);
    const auto width = static_cast<std::size_t>(stride);
    psi_hy_.assign(rows * 2 * static_cast<std::size_t>(strip_width(depth_)), Real(0));
    psi_ex_ = psi_hy_;
    curl_x_ = psi_hy_;
    psi_hx_.assign(2 * depth_y * width, Real(0));
    psi_ey_ = psi_hx_;
    curl_y_ = psi_hx_;
    set_media(grid, medium, palette, stride);
  }

  void point(kernels::SweepArgs<Real>& args)
  {
    args.depth = depth_;
    args.width = strip_width(depth_);
    lines_.point(args);
    args.psi_hy = psi_hy_.data();
    args.psi_ex = psi_ex_.data();
    args.psi_hx = psi_hx_.data();
    args.psi_ey = psi_ey_.data();
    args.curl_x = curl_x_.data();
    args.curl_y = curl_y_.data();
    args.poles_in_absorber = poles_;
  }

  void save(StateWriter& out) const
  {
    for (const AlignedVector<Real>* psi : {&psi_hy_, &psi_ex_, &psi_hx_, &psi_ey_}) {
      out.write("psi", *psi);
    }
  }
  void restore(StateReader& in)
  {
    for (AlignedVector<Real>* psi : {&psi_hy_, &psi_ex_, &psi_hx_, &psi_ey_}) {
      in.read("psi", *psi);
    }
  }

private:
  void set_media(const Grid& grid, const Medium& medium,
                 const std::vector<kernels::CellCoefficients<Real>>& palette,
                 std::ptrdiff_t stride)
  {
    for (int j = 0; j < ny_; ++j) {
      for (int d = 0; d < 2 * depth_; ++d) {
        const int i = d < depth_ ? d : nx_ - 2 * depth_ + d;
        const std::uint16_t entry = medium.cells[grid.raster.at(i, j)];
        const int side = d < depth_ ? 0 : 1;
        curl_x_[static_cast<std::size_t>((2 * j + side) * strip_width(depth_) + d -
                                         side * depth_)] = palette[entry].curl;
        poles_ = poles_ || medium.palette[entry].has_poles();
      }
    }
    for (int d = 0; ny_ > 1 && d < 2 * depth_; ++d) {
      const int j = d < depth_ ? d : ny_ - 2 * depth_ + d;
      for (int i = 0; i < nx_; ++i) {
        const std::uint16_t entry = medium.cells[grid.raster.at(i, j)];
        curl_y_[static_cast<std::size_t>(d * stride + i)] = palette[entry].curl;
        poles_ = poles_ || medium.palette[entry].has_poles();
      }
    }
  }

  int depth_;
  int nx_;
  int ny_;
  bool poles_ = false;
  AbsorberLines<Real> lines_;
  AlignedVector<Real> psi_hy_, psi_ex_, psi_hx_, psi_ey_, curl_x_, curl_y_;
};

/// Arrays behind the absorber pointers of kernels::TezArgs.
template <class Real>
class TezAbsorberStrips {
public:
  /// \param rim  the media at the cells, for the grading alone
  TezAbsorberStrips(const AbsorberSpec& spec, const Grid& grid, const Medium& rim,
                    const TezMedium& medium,
                    const std::vector<kernels::CellCoefficients<Real>>& palette,
                    std::ptrdiff_t stride)
      : depth_(spec.cells), lines_(spec, grid, rim)
  {
    const auto depth = static_cast<std::size_t>(depth_);
    const auto nx = static_cast<std::size_t>(grid.raster.nx);
    const auto ny = static_cast<std::size_t>(grid.raster.ny);
    const auto width = static_cast<std::size_t>(stride);
    const auto padded = static_cast<std::size_t>(strip_width(depth_));
    psi_ey_.assign(ny * 2 * padded, Real(0));
    psi_hx_ = psi_ey_;
    curl_ey_ = psi_ey_;
    psi_ex_.assign(2 * depth * width, Real(0));
    psi_hy_ = psi_ex_;
    curl_ex_ = psi_ex_;
    for (std::size_t j = 0; j < ny; ++j) {
      for (std::size_t d = 0; d < 2 * depth; ++d) {
        const std::size_t e = d < depth ? d : nx + 1 - 2 * depth + d;
        const std::size_t side = d < depth ? 0 : 1;
        curl_ey_[(2 * j + side) * padded + d - side * depth] =
            palette[medium.y_edges[j * (nx + 1) + e]].curl;
      }
    }
    for (std::size_t d = 0; d < 2 * depth; ++d) {
      const std::size_t e = d < depth ? d : ny + 1 - 2 * depth + d;
      for (std::size_t i = 0; i < nx; ++i) {
        curl_ex_[d * width + i] = palette[medium.x_edges[e * nx + i]].curl;
      }
    }
  }

  void point(kernels::TezArgs<Real>& args)
  {
    args.depth = depth_;
    args.width = strip_width(depth_);
    lines_.point(args);
    args.psi_ey = psi_ey_.data();
    args.psi_hx = psi_hx_.data();
    args.psi_ex = psi_ex_.data();
    args.psi_hy = psi_hy_.data();
    args.curl_ey = curl_ey_.data();
    args.curl_ex = curl_ex_.data();
  }

  void save(StateWriter& out) const
  {
    for (const AlignedVector<Real>* psi : {&psi_ey_, &psi_hx_, &psi_ex_, &psi_hy_}) {
      out.write("psi", *psi);
    }
  }
  void restore(StateReader& in)
  {
    for (AlignedVector<Real>* psi : {&psi_ey_, &psi_hx_, &psi_ex_, &psi_hy_}) {
      in.read("psi", *psi);
    }
  }

private:
  int depth_;
  AbsorberLines<Real> lines_;
  AlignedVector<Real> psi_ey_, psi_hx_, psi_ex_, psi_hy_, curl_ey_, curl_ex_;
};

}  // namespace torsowave::solver
