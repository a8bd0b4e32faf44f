"""`torsowave check`: its numbers against geometry, textbook formulas and a real run."""

import json
import math
import os
import subprocess
import unittest

import cli
import slices
import tissue_cli_test  # for its independent evaluation of muscle

C = tissue_cli_test.C
CIRCLE = """
  shapes:
    - tissue: muscle
      circle: {center: [1.3 mm, -0.7 mm], radius: 30 mm}
    - tissue: fat_not_infiltrated
      circle: {center: [1.3 mm, -0.7 mm], radius: 11 mm}"""


class Check(slices.SliceTest):
    def prices(self, **changes):
        path = self.write(slices.scenario(**changes))
        return json.loads(self.succeeds("check", path, "--json", "--threads", 1))

    def tissue(self, name, **changes):
        found, = [t for t in self.prices(**changes)["materials"] if t["tissue"] == name]
        return found

    def test_grid_is_that_of_the_run(self):
        prices = self.prices()
        folder = self.run_slice(slices.scenario())
        grid = json.loads((folder / "summary.json").read_text(encoding="utf-8"))["grid"]
        for key in ("nx", "ny", "cell_m", "dt_s"):
            self.assertEqual(prices["grid"][key], grid[key], key)
        self.assertIsInstance(prices["grid"]["steps"], int)
        self.assertLess(abs(math.log(prices["grid"]["steps"] / grid["steps"])), math.log(4),
                        "an automatic duration is estimated within a factor of four")

    def test_steps_of_a_fixed_duration_are_those_of_the_run(self):
        prices = self.prices(duration="7 ns")
        folder = self.run_slice(slices.scenario(duration="7 ns"))
        grid = json.loads((folder / "summary.json").read_text(encoding="utf-8"))["grid"]
        # a run looks at its clock once in up to 32 steps
        self.assertGreaterEqual(grid["steps"], prices["grid"]["steps"])
        self.assertLess(grid["steps"], prices["grid"]["steps"] + 32)

    def test_time_step_is_the_courant_limit(self):
        # dt = courant dx / (c sqrt 2), two dimensions: A. Taflove, S. C. Hagness,
        # Computational Electrodynamics, 3rd ed., 2005, section 4.7.2 (from memory)
        for courant in (0.99, 0.5):
            grid = f"{slices.SECTIONS['grid'][:-1]}, courant: {courant}}}"
            dt = self.prices(grid=grid)["grid"]["dt_s"]
            self.assertAlmostEqual(dt / (courant * 2e-3 / (C * math.sqrt(2))), 1.0, delta=1e-12)

    def test_a_period_of_cw_is_a_whole_number_of_steps(self):
        dt = self.prices(waveform="{type: cw, frequency: 915 MHz}",
                         frequencies=None)["grid"]["dt_s"]
        steps = 1 / 915e6 / dt
        self.assertAlmostEqual(steps, round(steps), delta=1e-9)
        self.assertLessEqual(dt, 0.99 * 2e-3 / (C * math.sqrt(2)))

    def test_areas_of_circles(self):
        fine = "{cell: 1 mm, size: [120 mm, 110 mm], absorbing_cells: 8}"
        areas = {t["tissue"]: t["area_mm2"]
                 for t in self.prices(body=CIRCLE, grid=fine)["materials"]}
        inner = math.pi * 11 ** 2
        for name, area in [("fat_not_infiltrated", inner),
                           ("muscle", math.pi * 30 ** 2 - inner)]:
            self.assertAlmostEqual(areas[name] / area, 1.0, delta=1e-3, msg=name)
        self.assertAlmostEqual(sum(areas.values()), 120 * 110, delta=1e-6)

    def test_body_area_counts_gas_inside(self):
        hollow = CIRCLE.replace("fat_not_infiltrated", "air")
        area = self.prices(body=hollow,
                           implant="{position: [21 mm, 0 mm]}")["body_area_mm2"]
        self.assertAlmostEqual(area / (math.pi * 30 ** 2), 1.0, delta=1e-3)

    def test_cells_per_wavelength_agree_with_an_independent_evaluation(self):
        # at the highest frequency asked for
        wavelength = tissue_cli_test.muscle_waves(915e6)["wavelength [mm]"]
        prices = {t["tissue"]: t["cells_per_wavelength"] for t in self.prices()["materials"]}
        self.assertAlmostEqual(prices["muscle"] / (wavelength / 2.0), 1.0, delta=1e-9)
        self.assertAlmostEqual(prices["air"] / (C / 915e6 / 2e-3), 1.0, delta=1e-9)
        self.assertLess(prices["muscle"], prices["skin_dry"])  # more water

    def test_fit_errors_are_below_the_bound(self):
        for bound in (5.0, 1.0, 0.1):
            found = self.prices(materials=f"{{fit: {{band: [0.4 GHz, 3 GHz], "
                                          f"max_error: {bound} %}}}}")["materials"]
            for tissue in found:
                self.assertLessEqual(tissue["fit_max_relative_error"], bound / 100)
                self.assertLessEqual(tissue["poles"], 4)
            self.assertGreater(max(t["poles"] for t in found), 0)
            air, = [t for t in found if t["tissue"] == "air"]
            self.assertEqual((air["fit_max_relative_error"], air["poles"]), (0.0, 0))

    def test_a_conductor_has_no_wavelength(self):
        changes = {"materials": "{custom: {tin: {conductor: perfect}}}",
                   "body": slices.SECTIONS["body"] + """
    - tissue: tin
      circle: {center: [-20 mm, 0 mm], radius: 4 mm}"""}
        self.assertIsNone(self.tissue("tin", **changes)["cells_per_wavelength"])
        row, = [line.split() for line in
                self.succeeds("check", self.folder / "scenario.yaml").splitlines()
                if line.startswith("tin ")]
        self.assertEqual(row[2:], ["-", "-", "-", "-"])

    def test_memory_and_wall_time_add_up(self):
        prices = self.prices()
        cells = prices["grid"]["nx"] * prices["grid"]["ny"]
        # 3 fields of 4 bytes, 2 phasors of 8 bytes or more, and tables
        self.assertGreater(prices["memory_bytes"], cells * 28)
        self.assertLess(prices["memory_bytes"], cells * 1000)
        self.assertAlmostEqual(
            prices["grid"]["steps"] * cells / prices["cell_updates_per_s"] /
            prices["estimated_wall_s"], 1.0, delta=1e-9)
        self.assertEqual(prices["threads"], 1)
        double = self.prices(grid=slices.SECTIONS["grid"][:-1] + ", precision: double}")
        self.assertGreater(double["memory_bytes"], prices["memory_bytes"] + cells * 12)

    def test_text_shows_the_same_numbers(self):
        prices = self.prices()
        text = self.succeeds("check", self.folder / "scenario.yaml", "--threads", 1)
        self.assertEqual(text.splitlines()[0], slices.SECTIONS["title"])
        self.assertIn("68 x 63 cells of 2 mm: 136.0 x 126.0 mm, absorber 8 cells", text)
        self.assertIn(f"{prices['grid']['dt_s'] * 1e12:.4g} ps, about "
                      f"{prices['grid']['steps']} steps", text)
        rows = {line.split()[0]: line.split()[1:] for line in text.splitlines() if line.strip()}
        for t in prices["materials"]:
            row = rows[t["tissue"]]
            self.assertEqual(row[0], f"{t['area_mm2']:.1f}")
            self.assertEqual(row[2], f"{t['cells_per_wavelength']:.1f}")
            self.assertEqual(row[3], f"{100 * t['fit_max_relative_error']:.3f}")
        for words in ("memory ", "available", "wall time ", "Debye fit ", "body "):
            self.assertIn(words, text)

    def test_text_draws_the_slice(self):
        path = self.write(slices.scenario())
        lines = self.succeeds("check", path).splitlines()
        self.assertEqual(lines[-1].split(), [".", "air", "a", "muscle", "b", "skin_dry", "@",
                                             "implant"])
        picture = [line for line in lines[:-1] if len(line) == 68 and set(line) <= set(".ab@")]
        self.assertEqual(len(picture), 31)
        self.assertEqual(set(picture[0] + picture[-1]), {"."})
        row, = [n for n, line in enumerate(picture) if "@" in line]
        self.assertEqual(picture[row].count("@"), 1)
        column = picture[row].index("@")
        # the middle of the picture is (0, 0); a letter is 2 mm wide and 4 mm high
        self.assertAlmostEqual((column - 33.5) * 2.0, 10.0, delta=2.0)
        self.assertAlmostEqual((15.0 - row) * 126 / 31, -5.0, delta=4.1)
        self.assertEqual(picture[15][33], "a")

    def test_nothing_is_written(self):
        self.write(slices.scenario())
        for option in ([], ["--json"], ["--quiet"]):
            self.succeeds("check", "scenario.yaml", *option, cwd=self.folder)
            self.holds("scenario.yaml")

    def test_quiet_validates_alone(self):
        path = self.write(slices.scenario())
        self.assertEqual(self.succeeds("check", path, "--quiet"), "")
        path = self.write(slices.scenario(frequencies="[0.7]"))
        self.fails(2, "check", path, "--quiet")

    def test_full_standard_output(self):
        path = self.write(slices.scenario())
        for option in ([], ["--json"]):
            with open("/dev/full", "w", encoding="utf-8") as full:
                done = subprocess.run([cli.PROGRAM, "check", path, *option], stdout=full,
                                      stderr=subprocess.PIPE, text=True, check=False)
            self.assertEqual(done.returncode, 3)
            self.assertIn("error: cannot write the result to standard output", done.stderr)

    def test_the_demo_slice(self):
        demo = os.path.join(os.path.dirname(__file__),
                            "../../scenarios/abdomen-graft-sensor.yaml")
        prices = json.loads(self.succeeds("check", demo, "--json"))
        self.assertEqual((prices["grid"]["nx"], prices["grid"]["ny"]), (800, 600))
        self.assertGreater(len(prices["materials"]), 20)
        for tissue in prices["materials"]:
            self.assertLessEqual(tissue["fit_max_relative_error"], 0.01, tissue)
            self.assertGreaterEqual(tissue["cells_per_wavelength"], 10.0, tissue)


if __name__ == "__main__":
    unittest.main()
