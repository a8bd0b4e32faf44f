"""`torsowave run` of planar layers (mode 1D): pictures and what the summary tells of them."""

import json
import os
import unittest

import slices

LAYERS = """
title: Invented layers
mode: 1D
grid: {cell: 0.5 mm, size: 60 mm}
body:
  layers:
    - {tissue: skin_dry, thickness: 2 mm}
    - {tissue: muscle, thickness: half_space}
incident: {plane_wave: {angle: 0 deg}}
waveform: {type: pulse, center: 2 GHz, bandwidth: 2 GHz}
frequencies: [1 GHz, 2 GHz]
duration: {decay: 60 dB}
outputs:
  snapshots: {field: Ez, every: 0.05 ns}
  phasors: [Ez]
  images: {quantity: [Ez, Hy, sar, tissue, snapshot, spacetime]}
"""
PICTURES = ["Ez.png", "Hy.png", "sar.png", "snapshot.png", "spacetime.png", "tissue.png"]


class Layers(slices.SliceTest):
    def pictures(self, folder):
        return sorted(name for name in os.listdir(folder) if name.endswith(".png"))

    def test_one_picture_for_each_quantity(self):
        folder = self.run_slice(LAYERS)
        self.assertEqual(self.pictures(folder), PICTURES)

    def test_pictures_of_an_earlier_result_go(self):
        folder = self.run_slice(LAYERS)
        self.run_slice(LAYERS.replace("[Ez, Hy, sar, tissue, snapshot, spacetime]", "[Hy]"),
                       "--force")
        self.assertEqual(self.pictures(folder), ["Hy.png"])

    def test_shares_of_a_plane_wave_add_up(self):
        summary = json.loads((self.run_slice(LAYERS) / "summary.json").read_text())
        for at in summary["frequencies"]:
            slab = at["slab"]
            whole = slab["reflectance"] + slab["transmittance"] + sum(slab["absorbed_by_layer"])
            self.assertAlmostEqual(whole, 1.0, delta=1e-3)
            self.assertNotIn("into_first", slab)

    def test_shares_of_a_sheet_add_up(self):
        text = LAYERS.replace("incident: {plane_wave: {angle: 0 deg}}",
                              "implant: {position: 1 mm}")
        summary = json.loads((self.run_slice(text) / "summary.json").read_text())
        for at in summary["frequencies"]:
            slab = at["slab"]
            whole = slab["into_first"] + slab["into_last"] + sum(slab["absorbed_by_layer"])
            self.assertAlmostEqual(whole, 1.0, delta=1e-3)


if __name__ == "__main__":
    unittest.main()
