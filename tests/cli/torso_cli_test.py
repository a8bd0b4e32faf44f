"""The ready-made torsos: priced and sampled as they are, run coarsely in both modes, fat swept."""

import csv
import json
import pathlib
import re
import unittest

import slices

FOLDER = pathlib.Path(__file__).parents[2] / "scenarios/torso"
LEVELS = ("thorax", "upper-abdomen", "kidneys", "pelvis")
COARSE = {
    "grid": "{cell: 4 mm, margin: 28 mm, absorbing_cells: 6, allow_coarse: true}",
    "body": "{torso: {level: kidneys}}",
    "implant": "{position: [9 mm, 7.2 mm]}",
    "waveform": "{type: pulse, center: 403.5 MHz, bandwidth: 200 MHz}",
    "frequencies": "[403.5 MHz]",
    "materials": "{fit: {poles: 1, max_error: 20 %}}",
    "duration": "{decay: 40 dB}",
    "outputs": "{sectors: 36}",
}


def areas_of(prices):
    return {t["tissue"]: t["area_mm2"] for t in prices["materials"]}


class Torso(slices.SliceTest):
    def test_the_median_builds_are_well_sampled(self):
        for level in LEVELS:
            path = FOLDER / f"{level}-median.yaml"
            prices = json.loads(self.succeeds("check", path, "--json", "--threads", 1))
            self.assertTrue(prices["body_surface_power"])
            for tissue in prices["materials"]:
                self.assertLessEqual(tissue["fit_max_relative_error"], 0.01, tissue)
                self.assertGreaterEqual(tissue["cells_per_wavelength"], 10.0, tissue)
            # a body is its tissues and the gas in it
            tissues = sum(area for name, area in areas_of(prices).items() if name != "air")
            self.assertLessEqual(tissues, prices["body_area_mm2"] * 1.0001)
            self.assertGreaterEqual(tissues, prices["body_area_mm2"] * 0.95)

    def test_te_runs_and_keeps_the_balance(self):
        folder = self.run_slice(slices.scenario(**{**COARSE, "mode": "TEz"}))
        row, = json.loads((folder / "summary.json").read_text(encoding="utf-8"))["frequencies"]
        self.assertLess(row["power_balance_residual"], 1e-2)
        surface = row["body_surface_power_w_per_m"]
        self.assertGreater(surface, 0.0)
        self.assertLess(surface, 0.1 * row["source_power_w_per_m"])
        self.assertGreater(row["absorbed_power_w_per_m"]["by_tissue"]["muscle"], 0.0)
        sectors = row["body_surface_sectors"]["power_w_per_m"]
        self.assertEqual(len(sectors), 36)
        self.assertAlmostEqual(sum(sectors) / surface, 1.0, delta=1e-6)

    def test_a_sweep_over_fat_changes_fat_and_skin_alone(self):
        areas = {}
        for fat in (6, 16, 26):
            text = slices.scenario(**{**COARSE, "body": f"{{torso: {{level: kidneys, fat: {fat} mm}}}}"})
            areas[fat] = areas_of(json.loads(self.succeeds("check", self.write(text), "--json",
                                                           "--threads", 1)))
        around = {"air", "skin_dry", "fat_not_infiltrated"}
        for name in set(areas[16]) - around:
            # the raster moves by less than a cell with the outline
            self.assertAlmostEqual(areas[6][name] / areas[16][name], 1.0, delta=0.02, msg=name)
            self.assertAlmostEqual(areas[26][name] / areas[16][name], 1.0, delta=0.02, msg=name)
        # a band of thickness t around a perimeter p: A = p t + pi t^2, exactly for a smooth
        # convex inside, whose perimeter all three share (J. Steiner, 1840, from memory)
        band = {fat: areas[fat]["fat_not_infiltrated"] / fat - 3.14159 * fat for fat in areas}
        self.assertAlmostEqual(band[6] / band[16], 1.0, delta=0.01)
        self.assertAlmostEqual(band[26] / band[16], 1.0, delta=0.01)

    def test_sweep_varies_the_fat(self):
        self.write(slices.scenario(**COARSE), "base.yaml")
        self.write("base: base.yaml\nvary: {body.torso.fat: [10 mm, 20 mm]}\n", "sweep.yaml")
        out = self.folder / "out"
        self.succeeds("sweep", self.folder / "sweep.yaml", "-o", out, "--quiet", "--jobs", 1)
        with (out / "table.csv").open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
        self.assertEqual([float(row["body.torso.fat [mm]"]) for row in rows], [10.0, 20.0])
        losses = [float(row["loss_db [dB]"]) for row in rows]
        self.assertNotEqual(losses[0], losses[1])
        for loss in losses:
            self.assertGreater(loss, 10.0)
            self.assertLess(loss, 40.0)
        for row in rows:
            self.assertLess(float(row["power_balance_residual"]), 1e-2)

    def test_too_much_fat_is_refused_where_it_stands(self):
        body = "{torso: {level: kidneys, build: lean, breadth: 272 mm, fat: 30 mm}}"
        text = slices.scenario(**{**COARSE, "body": body})
        message = self.fails(2, "check", self.write(text))
        place = slices.place(text, "272 mm")
        self.assertRegex(message, re.escape(f"scenario.yaml:{place}: body.torso.breadth: ")
                         + ".*too little room.*302.7 mm to 470.7 mm")

    def test_compare_has_no_exact_answer_for_it(self):
        message = self.fails(2, "compare", self.write(slices.scenario(**COARSE)))
        self.assertIn("body.torso: is no circle", message)


if __name__ == "__main__":
    unittest.main()
