/// \file
/// \brief What is known of a run's errors without a second run.
///
/// Each figure is the change, in dB, of the power that leaves the layers of a
/// PathStack:
/// - `fit`: with the fitted Debye media in place of the tissues' own (Cole-Cole) models;
/// - `grid`: on the plan's cells in place of continuous space. In mode 1D that is exact.
///   In a slice it is the sum of three parts, each second order in the cell:
///   - interfaces: the stack on a row of cells whose media carry a wave along the row
///     exactly; the worst of several places of the faces within their cells;
///   - attenuation: what the direction-averaged correction of dispersion leaves, a wave's
///     wavenumber being k + (k^3 dx^2/96) cos(4 phi), taken from the scheme's dispersion
///     relation at the worse of 0 and 45 degrees, over the length of each tissue;
///   - source: what the same anisotropy does to the strength of a source in one
///     direction. By stationary phase the field of a filament goes as 1/(dK^2/dk^2) and
///     as one over the root of the curvature of the curve k(phi), so its amplitude is off
///     by (1/24 - 15/192) z^2 cos(4 phi) = -(7/192) z^2 cos(4 phi), z = k dx; that of a
///     dipole by up to z^2/24 more, from its discrete curl (derived here).
/// - `tissue_data`: with permittivity and conductivity of every tissue of the library
///   changed by 10 %, one at a time, the changes added as squares. 10 % is a judgement,
///   within the 5 to 20 % by which J. Keshvari, R. Keshvari and S. Lang, Phys. Med. Biol.
///   51 (2006) 1463-1477 (abstract), raised both for all tissues.

#pragma once

#include "app/run_plan.hpp"
#include "postproc/result.hpp"

namespace torsowave::app {

/// Adds the items to every frequency's uncertainty, and in mode 1D to its slab.
void add_error_estimates(const RunPlan& plan, postproc::Result& result);

}  // namespace torsowave::app
