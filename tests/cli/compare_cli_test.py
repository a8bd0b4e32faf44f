"""`torsowave compare`: full wave beside the exact answer, as tables, CSV, JSON, HDF5, pictures."""

import csv
import io
import json
import math
import os
import pathlib
import unittest

import slices

SCENARIOS = pathlib.Path(__file__).parents[2] / "scenarios"

# Flat media: the fit is exact.
LAYERS = """
title: Invented layers
mode: 1D
grid: {cell: 0.5 mm, size: 80 mm, absorbing_cells: 24, precision: double}
body:
  layers:
    - {tissue: hide, thickness: 2 mm}
    - {tissue: lard, thickness: 10 mm}
    - {tissue: meat, thickness: half_space}
materials:
  custom:
    hide: {permittivity: 38, conductivity: 1.5 S/m}
    lard: {permittivity: 5.3, conductivity: 0.1 S/m}
    meat: {permittivity: 53, conductivity: 1.7 S/m}
incident: {plane_wave: {angle: 0 deg}}
waveform: {type: pulse, center: 2 GHz, bandwidth: 2 GHz}
frequencies: [1 GHz, 2 GHz, 3 GHz]
duration: {decay: 100 dB}
"""
WAVE = "incident: {plane_wave: {angle: 0 deg}}"
ROUND = {
    "body": """
  shapes:
    - {tissue: muscle, circle: {center: [0 mm, 0 mm], radius: 40 mm}}
    - {tissue: skin_dry, shell: {thickness: 4 mm}}""",
    "grid": "{cell: 2 mm, margin: 30 mm, absorbing_cells: 8}",
    "duration": "{decay: 60 dB}",
    "outputs": None,
}


class CompareTest(slices.SliceTest):
    def answer(self, text, *arguments):
        return json.loads(self.succeeds("compare", self.write(text), "--json", "--quiet",
                                        "--threads", "1", *arguments))

    def quantity(self, answer, key):
        [found] = [q for q in answer["quantities"] if q["key"] == key]
        return found


class Layers(CompareTest):
    def test_json_holds_models_parts_and_verdict(self):
        answer = self.answer(LAYERS)
        self.assertEqual(answer["models"], ["cole-cole", "debye", "grid", "run"])
        self.assertEqual(answer["parts"], ["fit", "grid", "rest"])
        self.assertEqual([q["key"] for q in answer["quantities"]],
                         ["reflectance", "absorbed_1_hide", "absorbed_2_lard", "transmittance"])
        for quantity in answer["quantities"]:
            self.assertEqual([s["frequency_hz"] for s in quantity["samples"]], [1e9, 2e9, 3e9])
            for sample in quantity["samples"]:
                values = sample["values"]
                self.assertAlmostEqual(sample["difference_db"], 10 * math.log10(
                    values["run"] / values["cole-cole"]), delta=1e-12)
                self.assertAlmostEqual(sum(sample["parts_db"].values()), sample["difference_db"],
                                       delta=1e-12)
                self.assertAlmostEqual(sample["parts_db"]["fit"], 0.0, delta=1e-9)
                self.assertLess(abs(sample["parts_db"]["rest"]), 4.4e-6)
        verdict = answer["verdict"]
        self.assertEqual(verdict["cause"], "grid")
        self.assertIn("with the square of grid.cell", verdict["text"])
        largest = max(abs(q["largest"]["difference_db"]) for q in answer["quantities"])
        self.assertEqual(abs(verdict["difference_db"]), largest)

    def test_exact_columns_are_those_of_slab(self):
        answer = self.answer(LAYERS)
        slab = json.loads(self.succeeds("slab", self.folder / "scenario.yaml", "--json",
                                        "--polarisation", "TE"))
        for n, case in enumerate(slab["cases"]):
            reflected = self.quantity(answer, "reflectance")["samples"][n]
            self.assertAlmostEqual(reflected["values"]["cole-cole"], case["reflectance"],
                                   delta=1e-14)
            self.assertAlmostEqual(reflected["phases_deg"]["cole-cole"],
                                   case["reflection_phase_deg"], delta=1e-10)
            into = self.quantity(answer, "transmittance")["samples"][n]
            self.assertAlmostEqual(into["values"]["cole-cole"], case["transmittance"],
                                   delta=1e-14)

    def test_sheet_delivers_what_goes_everywhere(self):
        answer = self.answer(LAYERS.replace(WAVE, "implant: {position: 7 mm}"))
        keys = ["delivered", "into_first", "absorbed_1_hide", "absorbed_2_lard", "into_last"]
        self.assertEqual([q["key"] for q in answer["quantities"]], keys)
        for n in range(3):
            whole, *shares = (self.quantity(answer, key)["samples"][n] for key in keys)
            for model, tolerance in [("cole-cole", 1e-12), ("grid", 1e-12), ("run", 1e-6)]:
                self.assertAlmostEqual(
                    sum(s["values"][model] for s in shares) / whole["values"][model], 1.0,
                    delta=tolerance, msg=model)

    def test_run_of_a_sheet_tells_both_sides(self):
        text = LAYERS.replace(WAVE, "implant: {position: 7 mm}")
        compared = self.answer(text)
        result = self.run_slice(text)
        slab = json.loads((result / "summary.json").read_text())["frequencies"][1]["slab"]
        delivered = self.quantity(compared, "delivered")["samples"][1]["values"]["run"]
        for key in ["into_first", "into_last"]:
            self.assertAlmostEqual(
                slab[key] * delivered,
                self.quantity(compared, key)["samples"][1]["values"]["run"], delta=1e-9)

    def test_demo_in_words(self):
        text = self.succeeds("compare", SCENARIOS / "skin-fat-muscle.yaml", "--threads", "1")
        for words in ["Run minus exact planar layers", "absorbed in skin_dry", "Verdict: ",
                      "The cause is the Debye fit", "not a compliance or clinical result"]:
            self.assertIn(words, text.replace("\n", " "))


class Cylinders(CompareTest):
    def test_line_current(self):
        answer = self.answer(slices.scenario(**ROUND))
        self.assertEqual(answer["exact"], "concentric cylinders")
        self.assertEqual(answer["models"], ["cole-cole", "debye", "run"])
        field = self.quantity(answer, "Ez")
        self.assertEqual(len(field["samples"]), 2 * 72)
        self.assertAlmostEqual(answer["circle_radius_m"], 0.5 * (0.040 + 0.070), delta=5e-3)
        for sample in field["samples"]:
            nearest = 5.0 * round(sample["angle_deg"] / 5.0)
            self.assertAlmostEqual(sample["angle_deg"], nearest, delta=1.5)
            if sample["counts"]:
                self.assertLess(abs(sample["difference_db"]), 1.0)
        self.assertEqual([q["key"] for q in answer["quantities"]],
                         ["Ez", "delivered", "radiated", "absorbed_muscle", "absorbed_skin_dry"])
        self.assertEqual(answer["left_out"], [])

    def test_point_sources_of_tez_leave_out_what_has_no_limit(self):
        answer = self.answer(slices.scenario(
            **{**ROUND, "mode": "TEz",
               "implant": "{position: [4 mm, 0 mm], source: dipole, direction: 30 deg}"}))
        self.assertEqual([q["key"] for q in answer["quantities"]],
                         ["Hz", "radiated", "absorbed_skin_dry"])
        self.assertEqual(len(answer["left_out"]), 2)
        self.assertIn("no finite limit", answer["left_out"][0])

    def test_plane_wave(self):
        wave = {**ROUND, "implant": None, "incident": "{plane_wave: {angle: 90 deg}}"}
        answer = self.answer(slices.scenario(**wave))
        taken = self.quantity(answer, "taken")["samples"][0]["values"]
        scattered = self.quantity(answer, "scattered")["samples"][0]["values"]
        absorbed = [q["samples"][0]["values"] for q in answer["quantities"]
                    if q["key"].startswith("absorbed_")]
        for model in answer["models"]:
            self.assertAlmostEqual((scattered[model] + sum(a[model] for a in absorbed)) /
                                   taken[model], 1.0, delta=1e-4)

    def test_demo_in_words(self):
        text = self.succeeds("compare", SCENARIOS / "muscle-cylinder.yaml", "--threads", "1",
                             "--quiet")
        self.assertTrue(text.startswith("Verdict: the run and the exact concentric cylinders"))


class Files(CompareTest):
    def test_folder_of_layers(self):
        folder = self.folder / "out"
        answer = self.answer(LAYERS, "-o", folder)
        self.assertEqual(sorted(os.listdir(folder)),
                         ["compare.csv", "compare.h5", "compare_difference.png",
                          "compare_parts.png", "compare_phase.png", "compare_powers.png"])
        rows = list(csv.DictReader(io.StringIO(
            (folder / "compare.csv").read_text(encoding="utf-8"))))
        samples = [(q["key"], s) for q in answer["quantities"] for s in q["samples"]]
        self.assertEqual(len(rows), len(samples))
        for row, (key, sample) in zip(rows, samples):
            self.assertEqual(row["quantity"], key)
            self.assertEqual(float(row["run"]), sample["values"]["run"])
            self.assertEqual(float(row["grid [dB]"]), sample["parts_db"]["grid"])
        message = self.fails(2, "compare", self.folder / "scenario.yaml", "-o", folder)
        self.assertIn("--force", message)
        one = LAYERS.replace("frequencies: [1 GHz, 2 GHz, 3 GHz]", "frequencies: [2 GHz]")
        self.answer(one, "-o", folder, "--force")
        self.assertEqual(sorted(os.listdir(folder)), ["compare.csv", "compare.h5"])

    def test_hdf5(self):
        try:
            import h5py
            import netCDF4  # noqa: F401
            import xarray
        except ImportError as error:
            self.skipTest(str(error))
        folder = self.folder / "out"
        answer = self.answer(slices.scenario(**ROUND), "-o", folder)
        self.assertEqual(sorted(name for name in os.listdir(folder) if "MHz" in name),
                         [f"compare_Ez_{f}MHz{end}.png" for f in (700, 915)
                          for end in ("", "_difference")])
        with h5py.File(folder / "compare.h5") as file:
            self.assertEqual(file.attrs["format"], "torsowave-compare")
            self.assertEqual(sorted(file), sorted(q["key"] for q in answer["quantities"]))
            self.assertIn("compliance", file.attrs["caution"])
        field = xarray.open_dataset(folder / "compare.h5", group="Ez")
        self.assertEqual(field.value.dims, ("model", "frequency", "angle"))
        self.assertEqual(field.difference.dims, ("part", "frequency", "angle"))
        samples = self.quantity(answer, "Ez")["samples"]
        run = field.value.sel(model="run").values.ravel()
        for here, sample in zip(run, samples):
            self.assertEqual(here, sample["values"]["run"])
        self.assertEqual(field.value.attrs["units"], "V/m")


class WrongInputs(CompareTest):
    def refused(self, text):
        message = self.fails(2, "compare", self.write(text), "-o", self.folder / "out")
        self.holds("scenario.yaml")
        return message

    def test_a_slice_without_exact_answer(self):
        text = slices.scenario()  # an ellipse
        message = self.refused(text)
        self.assertIn("body.shapes[0]: is no circle", message)
        self.assertIn("circles and shells about one centre", message)
        self.assertIn(":" + slices.place(text, "tissue: muscle").split(":")[0] + ":", message)

    def test_circles_about_two_centres(self):
        body = ROUND["body"] + "\n    - {tissue: liver, circle: {center: [3 mm, 4 mm], " \
                               "radius: 9 mm}}"
        message = self.refused(slices.scenario(**{**ROUND, "body": body}))
        self.assertIn("body.shapes[2]: lies 5 mm from the centre of the body", message)

    def test_a_capsule_off_the_axis(self):
        implant = "{position: [10 mm, 0 mm], source: line_current, " \
                  "capsule: {radius: 4 mm, material: air}}"
        message = self.refused(slices.scenario(**{**ROUND, "implant": implant}))
        self.assertIn("implant.capsule: lies 10 mm from the centre of the body", message)

    def test_a_label_map(self):
        body = "{label_map: {file: slice.png, pixel: 1 mm, tissues: {0: air, 1: muscle}}}"
        self.assertIn("label_map", self.refused(slices.scenario(**{**ROUND, "body": body})))

    def test_no_room_for_the_circle(self):
        message = self.refused(slices.scenario(
            **{**ROUND, "grid": "{cell: 2 mm, margin: 6 mm, absorbing_cells: 8}"}))
        self.assertIn("grid.margin: leaves ", message)
        self.assertIn("mm more", message)

    def test_a_disk_that_takes_nothing(self):
        message = self.fails(3, "compare", self.write(LAYERS), "-o", "/dev/full/out")
        self.assertIn("/dev/full", message)

    def test_help(self):
        text = self.succeeds("compare", "--help")
        self.assertIn("torsowave compare scenarios/skin-fat-muscle.yaml", text)


if __name__ == "__main__":
    unittest.main()
