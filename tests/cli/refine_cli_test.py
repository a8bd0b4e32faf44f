"""`torsowave run` on what its figures are worth: uncertainty, and a second cell size."""

import json
import math
import re
import unittest

import cli
import slices

LAYERS = """title: Invented layers
mode: 1D
grid: {cell: 0.5 mm, margin: 12 mm}
body:
  layers:
    - {tissue: skin_dry, thickness: 2 mm}
    - {tissue: fat_not_infiltrated, thickness: 6 mm}
    - {tissue: muscle, thickness: 12 mm}
WHAT
waveform: {type: pulse, center: 1.5 GHz, bandwidth: 2 GHz}
frequencies: [915 MHz, 2.45 GHz]
"""
WAVE = "incident: {plane_wave: {angle: 0 deg}}"
SHEET = "implant: {position: 14 mm, source: current_sheet}"

ITEMS = {"absorber", "fit", "grid", "left_in_grid", "power_balance", "tissue_data"}
LARGE = {"duration": "{decay: 60 dB}", "frequencies": "[915 MHz]"}


class Refined(slices.SliceTest):
    def summary(self, text, *arguments, name="out"):
        folder = self.run_slice(text, "--force", *arguments, name=name)
        return json.loads((folder / "summary.json").read_text(encoding="utf-8"))

    def test_every_item_is_there_and_they_add_up(self):
        for f in self.summary(slices.scenario())["frequencies"]:
            self.assertEqual(set(f["uncertainty"]), ITEMS)
            numerical = {key: db for key, db in f["uncertainty"].items() if key != "tissue_data"}
            self.assertAlmostEqual(f["uncertainty_combined_db"], sum(numerical.values()))
            self.assertEqual(f["uncertainty_largest"], max(numerical, key=numerical.get))
            self.assertNotIn("grid_error_db", f["body_surface_sectors"])

    def test_the_limit_is_that_of_two_runs_of_ones_own(self):
        grid = "{{cell: {} mm, size: [136 mm, 126 mm], absorbing_cells: 8}}"
        coarse = self.summary(slices.scenario(**LARGE, grid=grid.format(2)), "--refine", "0.5")
        fine = self.summary(slices.scenario(**LARGE, grid=grid.format(1)), name="fine")
        self.assertEqual({key: coarse["refinement"][key] for key in ("cell_m", "ratio", "order")},
                         {"cell_m": 1e-3, "ratio": 0.5, "order": 2.0})
        self.assertEqual(coarse["grid"]["cell_m"], 2e-3)
        run, other = coarse["frequencies"][0], fine["frequencies"][0]

        def error_db(value, finer):  # second order: four thirds of the difference
            return abs(10 * math.log10((value + (finer - value) / 0.75) / value))
        for key in ("radiated", "body_surface"):
            name = f"{key}_power_w_per_m"
            self.assertAlmostEqual(run["grid_error_db"][key], error_db(run[name], other[name]),
                                   delta=1e-9)
        name = "source_power_w_per_m"  # keeps its estimate if that is larger
        self.assertGreaterEqual(run["grid_error_db"]["source"],
                                error_db(run[name], other[name]) - 1e-9)
        self.assertEqual(run["uncertainty"]["grid"], run["grid_error_db"]["radiated"])
        errors = run["body_surface_sectors"]["grid_error_db"]
        self.assertEqual(len(errors), 36)
        for power, finer, error in zip(run["body_surface_sectors"]["power_w_per_m"],
                                       other["body_surface_sectors"]["power_w_per_m"], errors):
            if power > 0.0 and power + (finer - power) / 0.75 > 0.0:
                self.assertAlmostEqual(error, error_db(power, finer), delta=1e-9)

    def test_the_main_result_stays_that_of_its_own_cells(self):
        alone = self.summary(slices.scenario(**LARGE), name="alone")["frequencies"][0]
        refined = self.summary(slices.scenario(**LARGE), "--refine")["frequencies"][0]
        for key in ("source_power_w_per_m", "radiated_power_w_per_m"):
            self.assertEqual(alone[key], refined[key])

    def test_tez_and_cells_without_averaging_assume_first_order(self):
        grid = "{cell: 2 mm, size: [136 mm, 126 mm], absorbing_cells: 8, averaging: none}"
        line = "{position: [10 mm, -5 mm], source: magnetic_line}"
        tez = {"mode": "TEz", "implant": line, "outputs": "{sectors: 36}"}
        for changes, order in [({}, 2.0), ({"grid": grid}, 1.0), (tez, 1.0)]:
            summary = self.summary(slices.scenario(**{**LARGE, **changes}), "--refine")
            self.assertEqual(summary["refinement"]["order"], order)
        self.assertIn("give the implant a lossless capsule", " ".join(summary["notes"]))

    def test_progress_names_the_run_and_the_price_of_the_second(self):
        path = self.write(slices.scenario(duration="60 ns"))
        done = cli.run("run", path, "-o", self.folder / "out", "--refine", "--threads", 1)
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertRegex(done.stderr, r"second run, for the grid error: cells of 1\.333 mm instead "
                                      r"of 2 mm, [\d.]+ times the work, about \d+:\d\d\n")
        if "step" in done.stderr:
            self.assertRegex(done.stderr, r"(?m)^run [12] of 2: step \d+")
        self.assertRegex(done.stdout, r"second run with cells of 1\.333 mm \([\d.]+ s\), order 2")

    def test_ratios_that_make_no_sense_are_refused(self):
        path = self.write(slices.scenario())
        for ratio in ("1", "1.5", "0.05", "-0.5", "half"):
            message = self.fails(2, "run", path, "-o", self.folder / "out", "--refine", ratio)
            self.assertIn("--refine", message)
        self.holds("scenario.yaml")

    def test_memory_for_the_second_run_is_checked_before_the_first(self):
        with open("/proc/meminfo", encoding="ascii") as lines:
            available = {line.split(":")[0]: int(line.split()[1]) for line in lines}["MemAvailable"]
        if not 8e6 < available < 8e7:
            self.skipTest("needs a machine that holds the first run and not the second")
        path = self.write(slices.scenario(grid="{cell: 0.3 mm, size: [2400 mm, 2400 mm]}"))
        message = self.fails(3, "run", path, "-o", self.folder / "out", "--refine", "0.2")
        self.assertRegex(message, r"40000 x 40000 cells need [\d.]+ GiB")
        self.holds("scenario.yaml")


class Layers(slices.SliceTest):
    def run_layers(self, what, *arguments):
        path = self.write(LAYERS.replace("WHAT", what))
        done = cli.run("run", path, "-o", self.folder / "out", "--threads", 1, "--force", *arguments)
        self.assertEqual(done.returncode, 0, done.stderr)
        return done.stdout, json.loads((self.folder / "out/summary.json").read_text())

    def expect_row(self, printed, f, shares, spreads):
        row, = [line.split() for line in printed.splitlines()
                if re.match(rf" *{f['frequency_hz'] * 1e-6:.6g} +\d", line)]
        expected = [f"{f['source_power_w_per_m']:.4g}"]
        for share, spread in zip(shares, spreads, strict=True):
            expected += [f"{100 * share:.4g}", f"{10 * math.log10(share):.2f}", f"{spread:.2g}"]
        self.assertEqual(row[1:len(expected) + 1], expected)

    def test_a_plane_wave_is_reflected_absorbed_and_passed_on(self):
        printed, summary = self.run_layers(WAVE)
        for word in ("reflected", "incident", "absorbed in", "last medium"):
            self.assertIn(word, printed)
        self.assertNotIn("scattered", printed)
        for f in summary["frequencies"]:
            slab = f["slab"]
            shares = [slab["reflectance"], *slab["absorbed_by_layer"], slab["transmittance"]]
            self.assertAlmostEqual(sum(shares), 1.0, delta=1e-3)
            errors = slab["uncertainty_db"]
            self.expect_row(printed, f, shares, [errors["reflectance"],
                                                 *errors["absorbed_by_layer"],
                                                 errors["transmittance"]])

    def test_a_sheet_sends_its_power_to_both_sides(self):
        printed, summary = self.run_layers(SHEET, "--refine", "0.5")
        self.assertIn("(left)", printed)
        self.assertEqual(summary["refinement"]["ratio"], 0.5)
        for f in summary["frequencies"]:
            slab = f["slab"]
            shares = [slab["into_first"], *slab["absorbed_by_layer"], slab["into_last"]]
            self.assertAlmostEqual(sum(shares), 1.0, delta=1e-3)
            errors = slab["uncertainty_db"]
            self.expect_row(printed, f, shares,
                            [errors["into_first"], *errors["absorbed_by_layer"], errors["into_last"]])
            self.assertEqual(len(slab["grid_error_db"]["absorbed_by_layer"]), 3)


if __name__ == "__main__":
    unittest.main()
