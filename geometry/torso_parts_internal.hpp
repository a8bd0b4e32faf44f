/// \file
/// \brief What several levels of the torso share: bones of the spine, ribs, the wall of
/// the belly, bowel.

#pragma once

#include "geometry/torso_layout_internal.hpp"

namespace torsowave::geometry::torso {

/// Of a lumbar and of a thoracic vertebra; the front of the body is at the drawing's
/// origin.
void paint_lumbar_vertebra(Painter& paint, const Layout& in);
void paint_thoracic_vertebra(Painter& paint, const Layout& in);

/// A bone: compact bone of `rim` [m] around spongy bone.
void paint_bone(Painter& paint, const Curve& curve, double rim);

/// Ribs cut at a slant, in the inner part of the wall of muscle.
struct Rib {
  double from = 0.0;  ///< [deg], see TorsoOutline::at()
  double to = 0.0;
};
void paint_ribs(Painter& paint, const Layout& in, const std::vector<Rib>& ribs);

/// The tendon between the two straight muscles of the belly.
void paint_midline_tendon(Painter& paint, const Layout& in);

/// Tendons, and fat between the layers of the side walls of the belly.
void paint_belly_wall(Painter& paint, const Layout& in);

}  // namespace torsowave::geometry::torso
