"""The far field of `torsowave run`: in summary.json, in result.h5 and in the table."""

import json
import math
import unittest

try:
    import h5py
except ImportError:
    h5py = None

import slices

C0 = 299792458.0  # [m/s], exact
ETA0 = 376.730313668  # [Ohm], CODATA 2018
TEZ = {"mode": "TEz", "outputs": "{phasors: [Hz]}"}
CAPSULE = "position: [10 mm, -5 mm], capsule: {radius: 12 mm, material: air}"


def power_of(decibels):
    return 10.0 ** (decibels / 10.0)


class FarField(slices.SliceTest):
    def frequencies_of(self, **changes):
        folder = self.run_slice(slices.scenario(**changes))
        return json.loads((folder / "summary.json").read_text(encoding="utf-8"))["frequencies"]

    def check_total(self, f):
        """The mean of 2 pi U is the radiated power, the mean gain that over the source's."""
        far = f["far_field"]
        self.assertEqual(far["angle_deg"], [float(n) for n in range(360)])
        total = 2.0 * math.pi * sum(far["intensity_w_per_m_rad"]) / 360
        self.assertAlmostEqual(total / f["radiated_power_w_per_m"], 1.0, delta=2e-3)
        mean = sum(power_of(gain) for gain in far["gain_db"]) / 360
        self.assertAlmostEqual(mean * f["source_power_w_per_m"] / total, 1.0, delta=1e-9)

    def check_insertion_gain(self, f, bare):
        for n, (u, gain) in enumerate(zip(f["far_field"]["intensity_w_per_m_rad"],
                                          f["body_insertion_gain_db"])):
            wanted = bare(math.radians(n))
            if wanted < 1e-20 * u:
                self.assertIsNone(gain, n)
            else:
                self.assertAlmostEqual(power_of(gain) * wanted / u, 1.0, delta=1e-9)

    # R. F. Harrington, Time-Harmonic Electromagnetic Fields, 1961 (from memory): a line
    # current of 1 A in air radiates k0 eta0/(16 pi) W/m/rad.
    def test_line_current(self):
        for f in self.frequencies_of():
            k = 2.0 * math.pi * f["frequency_hz"] / C0
            self.check_total(f)
            self.check_insertion_gain(f, lambda angle: k * ETA0 / (16.0 * math.pi))
            self.assertNotIn("scattering_width_m", f["far_field"])

    def test_magnetic_line(self):
        for f in self.frequencies_of(
                **TEZ, implant=f"{{{CAPSULE}, source: magnetic_line}}"):
            k = 2.0 * math.pi * f["frequency_hz"] / C0
            self.check_total(f)
            self.check_insertion_gain(f, lambda angle: k / ETA0 / (16.0 * math.pi))

    def test_dipole(self):
        for f in self.frequencies_of(
                **TEZ, implant=f"{{{CAPSULE}, source: dipole, direction: 30 deg}}"):
            k = 2.0 * math.pi * f["frequency_hz"] / C0
            self.check_total(f)
            self.check_insertion_gain(
                f, lambda angle: k * ETA0 / (16.0 * math.pi)
                * math.sin(angle - math.pi / 6.0) ** 2)
            self.assertIsNone(f["body_insertion_gain_db"][30])
            self.assertIsNone(f["body_insertion_gain_db"][210])

    def test_plane_wave(self):
        for f in self.frequencies_of(
                implant=None, incident="{plane_wave: {angle: 30 deg}}",
                grid="{cell: 2 mm, size: [154 mm, 144 mm], absorbing_cells: 8}"):
            self.check_total(f)
            self.assertIsNone(f["body_insertion_gain_db"])
            far = f["far_field"]
            for width, u in zip(far["scattering_width_m"], far["intensity_w_per_m_rad"]):
                self.assertAlmostEqual(width / (4.0 * math.pi * ETA0 * u), 1.0, delta=1e-8)
            # More goes on, with the shadow, than comes back.
            self.assertGreater(far["gain_db"][30], far["gain_db"][210])

    def test_no_far_field_where_tissue_goes_on(self):
        everywhere = ("\n  background: air\n  shapes:\n    - tissue: muscle\n"
                      "      rectangle: {min: [-1 m, -1 m], max: [1 m, 0 mm]}")
        for f in self.frequencies_of(body=everywhere):
            self.assertIsNone(f["far_field"])
            self.assertIsNone(f["body_insertion_gain_db"])

    @unittest.skipIf(h5py is None, "no h5py")
    def test_the_file_holds_the_same(self):
        frequencies = self.frequencies_of()
        with h5py.File(self.folder / "out/result.h5") as file:
            group = file["far_field"]
            self.assertIn("not a compliance", group.attrs["caution"])
            for row, f in enumerate(frequencies):
                self.assertEqual(list(group["gain"][row]), f["far_field"]["gain_db"])
                self.assertEqual(list(group["insertion_gain"][row]),
                                 f["body_insertion_gain_db"])
            self.assertEqual(list(group["angle"]), frequencies[0]["far_field"]["angle_deg"])

    def test_the_table_names_the_strongest_direction(self):
        path = self.write(slices.scenario())
        text = self.succeeds("run", path, "-o", self.folder / "out", "--threads", 1)
        summary = json.loads((self.folder / "out/summary.json").read_text(encoding="utf-8"))
        lines = text[text.index("Far field"):].splitlines()
        for f in summary["frequencies"]:
            gains = f["far_field"]["gain_db"]
            n = gains.index(max(gains))
            row = next(line.split() for line in lines
                       if line.split()[:1] == [f"{f['frequency_hz'] / 1e6:g}"])
            self.assertEqual(float(row[1]), n)
            self.assertAlmostEqual(float(row[3]), gains[n], delta=0.006)
            mean = 10.0 * math.log10(sum(power_of(gain) for gain in gains) / 360)
            self.assertAlmostEqual(float(row[4]), gains[n] - mean, delta=0.006)
            self.assertAlmostEqual(float(row[5]), f["body_insertion_gain_db"][n], delta=0.006)

    def test_refining_says_how_far_each_direction_is_off(self):
        path = self.write(slices.scenario())
        self.succeeds("run", path, "-o", self.folder / "out", "--refine", "--quiet",
                      "--threads", 1)
        summary = json.loads((self.folder / "out/summary.json").read_text(encoding="utf-8"))
        for f in summary["frequencies"]:
            errors = f["far_field"]["grid_error_db"]
            self.assertEqual(len(errors), 360)
            self.assertTrue(all(0.0 <= error < 3.0 for error in errors))


if __name__ == "__main__":
    unittest.main()
