/// \file
/// \brief How much of a line source's wave the absorbing layer sends back.

#pragma once

#include <cstddef>
#include <functional>
#include <string>
#include <vector>

#include "solver/absorber.hpp"
#include "solver/medium.hpp"

namespace torsowave::reference {

/// A line source in the middle of a small square of one medium, with absorber all round.
struct EchoCase {
  std::vector<double> relaxation_times;  ///< [s]
  solver::MediumEntry medium;
  double cell = 0.0;      ///< [m]
  double duration = 0.0;  ///< [s]
  std::function<double(double)> current;
  int distance = 10;  ///< cells between the source's cell and the absorber's inner face
};

/// \param medium  tissue of the library or "air"; fitted over 0.3 to 3 GHz to 1 %
/// \param center,bandwidth  of the pulse [Hz]; 2 ns are left for the echo after its end
[[nodiscard]] EchoCase echo_case(const std::string& medium, double center,
                                 double bandwidth, double cell);

/// Ez over time in the quadrant of cells (a, b), 0 <= a, b < size, as seen from the
/// source: (steps, size, size).
struct QuadrantHistory {
  int size = 0;
  std::size_t steps = 0;
  std::vector<double> ez;

  [[nodiscard]] double at(std::size_t step, int a, int b) const
  {
    const auto n = static_cast<std::size_t>(size);
    return ez[(step * n + static_cast<std::size_t>(b)) * n + static_cast<std::size_t>(a)];
  }
};

/// The exact field of the endless grid, with no boundary at all.
///
/// Independent of the stepper: in a uniform medium the time integral C of curl H obeys
/// C' = C + (c dt/dx)^2 laplacian(Ez), so that H drops out; symmetry leaves one quadrant,
/// and the quadrant is so large that no echo of its rim can return in time.
[[nodiscard]] QuadrantHistory endless_grid(const EchoCase& c);

/// The same with the product's stepper and absorber.
[[nodiscard]] QuadrantHistory with_absorber(const EchoCase& c,
                                            const solver::AbsorberSpec& spec);

/// Energy of the difference relative to that of the endless grid [dB].
struct Echo {
  double at_ring = 0.0;      ///< over the ring of cells 2 cells before the absorber
  double in_interior = 0.0;  ///< over all cells before the absorber but the source's own
};
[[nodiscard]] Echo echo_between(const QuadrantHistory& endless,
                                const QuadrantHistory& absorbed);

/// Of a case with the product's default absorber.
[[nodiscard]] Echo measure_echo(const std::string& medium, double center,
                                double bandwidth, double cell);

}  // namespace torsowave::reference
