/// \file
/// \brief Largest SAR of a slice: at a point, and over the sections of 1 g and 10 g
/// cubes.
///
/// A body that is the same for all z holds the mass L int rho dA in a cube of side L over
/// a square of the slice. For every cell there is one square about its centre whose cube
/// holds m = 1 g or 10 g: L int_{L x L} rho dA = m, that is L = (m/rho)^(1/3) in one
/// tissue (1000 kg/m^3: 10.00 and 21.54 mm; 1090 kg/m^3: 9.72 and 20.93 mm). Its average
/// is heat over mass, int rho SAR dA/int rho dA, of tissue with a known density alone.
///
/// A square that holds more than 10 % of anything else (air, the implant, a material
/// without density) is left out: so is a cube by IEC/IEEE 62704-1:2017 (caption of its
/// figure 3, seen in a contents list). That standard then grows one from the surface to
/// one side, which is not done here: what lies at the surface counts in the squares that
/// are centred up to half a side below it.
///
/// A slice's field does not change along z, so that this is the average over the cube as
/// well, of *the slice's* field. Planning and teaching estimate, not a compliance result.

#pragma once

#include <cstddef>
#include <functional>
#include <optional>
#include <vector>

#include "geometry/tissue_map.hpp"
#include "postproc/sar_result.hpp"

namespace torsowave::postproc {

inline constexpr double one_gram = 1e-3;   ///< [kg]
inline constexpr double ten_gram = 10e-3;  ///< [kg]

/// Share of a square or cube that may be no tissue.
inline constexpr double most_foreign_share = 0.1;

/// What counts in the cells of a slice, (ny, nx) each.
struct TissueCover {
  std::vector<float> mass;  ///< of tissue with a density, per volume of the cell [kg/m^3]
  std::vector<float> share;  ///< of the cell's area that it has [1]
};

/// Integrals over rectangles of a quantity that is constant in each cell, at a cost that
/// does not depend on their size: sums over all cells below and left, in double.
/// \see F. C. Crow, Computer Graphics (SIGGRAPH) 18 (1984) 207-212 (from memory).
class AreaSums {
public:
  /// \param value  of cell number p (raster.at())
  AreaSums(const geometry::Raster& raster,
           const std::function<double(std::size_t)>& value);

  /// Integral over the square of half side `half` about (x, y), all counted in cells from
  /// the raster's corner; what lies outside the raster counts as 0 [value times cells].
  [[nodiscard]] double over_square(double x, double y, double half) const;

private:
  [[nodiscard]] double below(double x, double y) const;

  int nx_;
  int ny_;
  std::vector<double> sums_;
};

/// Side of the square about each cell's centre [m], (ny, nx); 0 where there is none that
/// counts.
/// \param mass  of the cube [kg]
[[nodiscard]] std::vector<float> section_sides(const geometry::Raster& raster,
                                               const TissueCover& cover, double mass);

/// A slice, prepared once for all frequencies.
class SarSlice {
public:
  /// \param map  must outlive the object
  SarSlice(const geometry::TissueMap& map, TissueCover cover);

  /// Where the largest values may be.
  struct Beyond {
    geometry::Point from;
    double distance = 0.0;  ///< of the cell's centre, and that of the square [m]
  };

  /// \param rate  SAR by cell, (ny, nx), any unit
  [[nodiscard]] SarPeaks peaks(const std::vector<float>& rate,
                               const std::optional<Beyond>& beyond = std::nullopt) const;

private:
  const geometry::TissueMap& map_;
  TissueCover cover_;
  AreaSums mass_;
  std::vector<float> one_gram_;  ///< sides
  std::vector<float> ten_gram_;
};

}  // namespace torsowave::postproc
