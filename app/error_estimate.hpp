/// \file
/// \brief What is known of a run's errors without a second run.
///
/// Everything is in dB of the power that leaves. In mode 1D the layers are the scenario
/// itself, and the errors are exact: `fit` is the change from the tissues' own models to
/// the fitted Debye media, `grid` that from continuous space to the cells.
///
/// In a slice they are estimates from the planar layers of a PathStack. What these leave
/// out, waves that take other ways and interfere, is bounded by terms of its own. Parts
/// are added without regard to their sign, as other ways weigh them differently. With R
/// the radius of a round body of the same area, d the way to the skin and alpha the
/// attenuation, waves interfere over the length L, the shorter one of R and 1/alpha, but
/// d at least:
///
/// `fit`, of every tissue, for real and imaginary part alone:
/// - the change of the layers' power;
/// - phases: |delta k| L, in amplitude;
/// - the largest relative error of a permittivity on the path, in power: a body that is
///   small against the wave answers in proportion.
///
/// `grid`:
/// - interfaces: the layers on a row of cells, the worst of several places of the faces
///   within their cells;
/// - dispersion: a wave's wavenumber is k + (k^3 dx^2/96) cos(4 phi) once its mean over
///   directions is put right (grid_dispersion.hpp), taken from the scheme's dispersion
///   relation at the worse of 0 and 45 degrees: its attenuation along the way out, or the
///   phases |delta k| L of a plane wave in the body; with curls averaged, as TEz has
///   them, next to nothing;
/// - source: by stationary phase the field of a filament goes as 1/(dK^2/dk^2) and as one
///   over the root of the curvature of k(phi), so its amplitude in one direction is off
///   by (1/24 - 15/192) z^2 cos(4 phi) = -(7/192) z^2 cos(4 phi), z = k dx (0 with curls
///   averaged); that of a dipole by up to z^2/24 more, from its discrete curl (derived
///   here);
/// - faces: a face that is displaced changes what the layers let through, and scales the
///   body, whose power goes as the fourth power of its size at most (small bodies:
///   currents induced by a magnetic field). Displacement: dx/20 in TEz, dx/2 with
///   `averaging: none`; in TMz with averaged cells only the scaling, by dx^2/(10 R);
/// - near field: the same scaling of a capsule of radius a by dx^2/a in TEz, by dx/2 with
///   `averaging: none`; of the distance d of a dipole without capsule from the next face
///   on its way out by dx^2/(10 d).
/// The displacements are calibrated on some hundreds of round bodies with exact solutions
/// (docs/validation.md, "Stated uncertainty"), not derived.
///
/// The power that an implant *delivers* has a grid error of its own
/// (source_estimate.hpp).
///
/// `absorber`: the echo of the absorbing layer.
///
/// `tissue_data`: the change with the permittivity or the conductivity of one tissue of
/// the library 10 % higher, all of them added as squares. 10 % is a judgement, within the
/// 5 to 20 % by which J. Keshvari, R. Keshvari and S. Lang, Phys. Med. Biol. 51 (2006)
/// 1463-1477 (abstract), raised both for all tissues.

#pragma once

#include "app/run_plan.hpp"
#include "postproc/result.hpp"

namespace torsowave::app {

/// Adds the items to every frequency's uncertainty, in mode 1D to its layers, and the
/// notes.
void add_error_estimates(const RunPlan& plan, postproc::Result& result);

}  // namespace torsowave::app
