"""`torsowave link --coverage`: maps that agree with themselves, and what is refused."""

import csv
import math
import unittest

try:
    import h5py
except ImportError:
    h5py = None

import slices

# A plane wave needs 10 cells of air between body and absorber.
SLICE = {
    "grid": "{cell: 3 mm, size: [201 mm, 189 mm], absorbing_cells: 8}",
    "body": """
  background: air
  shapes:
    - tissue: fat_not_infiltrated
      ellipse: {center: [0 mm, 0 mm], semi_axes: [42 mm, 36 mm]}
    - tissue: muscle
      circle: {center: [-6 mm, 3 mm], radius: 25 mm}""",
    "implant": "{position: [10 mm, -5 mm], source: line_current, "
               "capsule: {radius: 4 mm, material: air}}",
    "duration": "{decay: 50 dB}",
    "outputs": None,
    "link": "{reader: {distance: 6 m}, data_rate: 100 kbit/s}",
}


class Coverage(slices.SliceTest):
    @unittest.skipIf(h5py is None, "needs h5py")
    def test_maps_tables_and_pictures_tell_the_same(self):
        path = self.write(slices.scenario(**SLICE))
        out = self.folder / "out"
        text = self.succeeds("link", path, "--coverage", "--direction", "90deg,200deg",
                             "-o", out, "--threads", 1, "--verify")
        self.assertIn("90.00 deg front", text)
        self.assertIn("10 direct runs at all directions and frequencies: inside the limit",
                      " ".join(text.split()))
        self.assertIn("not a compliance or clinical result", " ".join(text.split()))
        self.assertEqual(
            sorted(p.name for p in out.iterdir()),
            sorted(["coverage.h5", "coverage.csv"] +
                   [f"coverage_{f}MHz{angle}.png" for f in (700, 915)
                    for angle in ("", "_90deg", "_200deg")]))
        with h5py.File(out / "coverage.h5") as file:
            gain, margin = file["gain"][:], file["margin"][:]
            offset, joint = file["margin_at_0_dbi"][:], file["joint_margin"][:]
            angles = file["direction"][:]
            x = file["x"][:]
            self.assertEqual(file["gain"].dims[3][0].name, "/x")
            self.assertIn("clinical", str(file.attrs["caution"]))
        self.assertAlmostEqual(angles[0], 90.0)
        self.assertLess(abs(angles[1] - 200.0), 0.25)
        self.assertEqual(gain.shape, (2, 2, 63, 67))
        cell = (x[1] - x[0])**2
        with open(out / "coverage.csv", encoding="utf-8", newline="") as file:
            rows = [r for r in csv.DictReader(file) if r["tissue"] == "all"]
        self.assertEqual([r["reader [deg]"] == "any" for r in rows], [False] * 4 + [True] * 2)
        for n, row in enumerate(rows):
            d, f = divmod(n, 2)
            values = joint[f] if d == 2 else margin[d, f]
            flat = [v for v in values.ravel() if not math.isnan(v)]
            # The body is an ellipse of 42 mm by 36 mm.
            self.assertAlmostEqual(len(flat) * cell / (math.pi * 0.042 * 0.036), 1.0, delta=0.02)
            self.assertAlmostEqual(float(row["area [m2]"]), len(flat) * cell, delta=1e-9)
            self.assertAlmostEqual(float(row["closed [m2]"]),
                                   sum(v >= 0.0 for v in flat) * cell, delta=1e-9)
            self.assertAlmostEqual(float(row["best margin [dB]"]), max(flat), delta=1e-4)
            self.assertGreater(float(row["closed [m2]"]), 0.0)
        j, i = 31, 33
        self.assertAlmostEqual(margin[1, 0, j, i] - gain[1, 0, j, i], offset[1, 0], delta=1e-4)
        self.assertAlmostEqual(joint[0, j, i], max(margin[:, 0, j, i]), delta=1e-6)

    def test_refusals(self):
        path = self.write(slices.scenario(**SLICE))
        self.assertIn("best is another direction at every place",
                      self.fails(2, "link", path, "--coverage", "--direction", "best"))
        self.assertIn("--coverage", self.fails(2, "link", path, "--coverage", "--json"))
        self.assertIn("--coverage", self.fails(2, "link", path, "--verify"))
        tight = slices.scenario(**{**SLICE, "grid": "{cell: 3 mm, margin: 12 mm, "
                                                    "absorbing_cells: 8}"})
        path = self.write(tight)
        message = self.fails(2, "link", path, "--coverage")
        self.assertIn(f"{path}:{slices.place(tight, '12 mm')}: grid.margin: leaves 3 cells",
                      message)
        self.holds("scenario.yaml")


if __name__ == "__main__":
    unittest.main()
