"""`torsowave slab`: the analytic answer for planar layers, as table, CSV, JSON, HDF5, pictures."""

import csv
import io
import json
import math
import os
import pathlib
import unittest

import cli
import slices

DEMO = pathlib.Path(__file__).parents[2] / "scenarios/skin-fat-muscle.yaml"

# Skin 2 mm, fat 10 mm, muscle with the rounded properties of a web tutorial (seen) at 2.45 GHz.
TUTORIAL = """
title: Invented layers
mode: 1D
grid: {cell: 0.25 mm, size: 80 mm}
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
    tin: {conductor: perfect}
incident: {plane_wave: {angle: 0 deg}}
waveform: {type: pulse, center: 2.45 GHz, bandwidth: 1 GHz}
"""
WAVE = "incident: {plane_wave: {angle: 0 deg}}"


class SlabTest(slices.SliceTest):
    def answer(self, text, *arguments):
        return json.loads(self.succeeds("slab", self.write(text), "--json", *arguments))

    def case(self, text, *arguments):
        cases = self.answer(text, *arguments, "--polarisation", "TE")["cases"]
        self.assertEqual(len(cases), 1)
        return cases[0]


class Numbers(SlabTest):
    def test_skin_fat_muscle(self):
        # Computed by a separate script with transfer matrices and with the recursion of the
        # input impedance, which agree to 1e-6.
        case = self.case(TUTORIAL)
        self.assertAlmostEqual(case["reflectance"], 0.731327**2, delta=2e-6)
        self.assertAlmostEqual(case["reflection_phase_deg"], -157.527, delta=1e-3)
        self.assertAlmostEqual(case["transmittance"], 0.175442, delta=1e-6)
        self.assertAlmostEqual(case["transmission_magnitude"], 0.154712, delta=1e-6)
        total = case["reflectance"] + sum(case["absorbed_by_layer"]) + case["transmittance"]
        self.assertAlmostEqual(total, 1.0, delta=1e-13)

    def test_flat_materials_need_no_fit(self):
        first, second = self.answer(TUTORIAL, "--media", "both", "--polarisation", "TE")["cases"]
        self.assertEqual((first["media"], second["media"]), ("cole-cole", "debye"))
        self.assertAlmostEqual(first["transmittance"], second["transmittance"], delta=1e-9)

    def test_brewster_angle(self):
        glass = TUTORIAL.replace("""    - {tissue: hide, thickness: 2 mm}
    - {tissue: lard, thickness: 10 mm}
    - {tissue: meat, thickness: half_space}
""", """    - {tissue: air, thickness: half_space}
    - {tissue: glass, thickness: half_space}
""").replace("  custom:\n", "  custom:\n    glass: {permittivity: 9}\n")
        brewster = f"{math.degrees(math.atan(3.0)):.12f}"
        te, tm = self.answer(glass, "--angle", brewster)["cases"]
        self.assertEqual((te["polarisation"], tm["polarisation"]), ("TE", "TM"))
        self.assertLess(tm["reflectance"], 1e-20)
        self.assertAlmostEqual(te["reflectance"], 0.64, delta=1e-9)  # ((9 - 1)/(9 + 1))^2
        self.assertIsNone(self.answer(glass, "--loss", "3dB")["cases"][0]["loss_depth_m"])

    def test_depth_of_a_loss_in_one_medium(self):
        # Into muscle without layers: 20 dB is what the face reflects and 10 dB/10 m later.
        bare = TUTORIAL.replace("    - {tissue: hide, thickness: 2 mm}\n", "").replace(
            "{tissue: lard, thickness: 10 mm}", "{tissue: air, thickness: half_space}")
        case = self.case(bare, "--loss", "20 dB")
        eps = complex(53, -1.7 / (2 * math.pi * 2.45e9 * 8.8541878128e-12))
        alpha = -(2 * math.pi * 2.45e9 / 299792458 * eps**0.5).imag
        entering = 1 - abs((1 - eps**0.5) / (1 + eps**0.5))**2
        depth = math.log(100 * entering) / (2 * alpha)
        self.assertAlmostEqual(case["loss_depth_m"], depth, delta=1e-12)
        self.assertEqual(self.case(bare, "--loss", "0.1 dB")["loss_depth_m"], 0.0)

    def test_wave_from_the_right_is_the_mirror_image(self):
        right = TUTORIAL.replace(WAVE, "incident: {plane_wave: {angle: 180 deg}}").replace(
            "{tissue: meat, thickness: half_space}", "{tissue: meat, thickness: 5 mm}")
        left = TUTORIAL.replace("""    - {tissue: hide, thickness: 2 mm}
    - {tissue: lard, thickness: 10 mm}
    - {tissue: meat, thickness: half_space}
""", """    - {tissue: meat, thickness: 5 mm}
    - {tissue: lard, thickness: 10 mm}
    - {tissue: hide, thickness: 2 mm}
""")
        one, other = self.case(right), self.case(left)
        self.assertAlmostEqual(one["reflectance"], other["reflectance"], delta=1e-14)
        for a, b in zip(one["absorbed_by_layer"], reversed(other["absorbed_by_layer"])):
            self.assertAlmostEqual(a, b, delta=1e-14)

    def test_lossy_first_medium_tells_the_net_power(self):
        inside = TUTORIAL.replace(WAVE, "incident: {plane_wave: {angle: 180 deg}}")
        case = self.case(inside)
        # Power out of the skin over net power through the inner face: the same script.
        self.assertAlmostEqual(case["transmittance"] / case["entering"], 0.439666, delta=1e-6)
        self.assertAlmostEqual(case["reflectance"], 0.717328**2, delta=2e-6)
        self.assertIn("net flux", self.succeeds("slab", self.write(inside)))

    def test_current_sheet(self):
        text = TUTORIAL.replace(WAVE, "implant: {position: 25 mm}")
        answer = self.answer(text)
        self.assertEqual(answer["source"], "current_sheet")
        [case] = answer["cases"]
        total = case["into_first"] + sum(case["absorbed_by_layer"]) + case["into_last"]
        self.assertAlmostEqual(total, 1.0, delta=1e-12)
        self.assertIn("25 mm", self.succeeds("slab", self.write(text)))

    def test_a_conductor_behind(self):
        text = TUTORIAL.replace("{tissue: meat, thickness: half_space}",
                                "{tissue: tin, thickness: half_space}")
        case = self.case(text)
        self.assertEqual(case["transmittance"], 0.0)
        self.assertAlmostEqual(case["reflectance"] + sum(case["absorbed_by_layer"]), 1.0,
                               delta=1e-13)


class Forms(SlabTest):
    def test_angles_as_list_and_as_range(self):
        path = self.write(TUTORIAL)
        for written in ["0,20,40", "0:40:20", "0, 20, 40 deg", "0deg,20deg,40deg"]:
            answer = json.loads(self.succeeds("slab", path, "--json", "--angle", written,
                                              "--polarisation", "TM"))
            self.assertEqual([c["angle_deg"] for c in answer["cases"]], [0.0, 20.0, 40.0])

    def test_table(self):
        table = self.succeeds("slab", self.write(TUTORIAL), "--loss", "20dB", "--angle", "0,45")
        for word in ["Invented layers", "absorbed in", "hide", "depth of", "20 dB", "TM", "any",
                     "not a compliance or clinical result"]:
            self.assertIn(word, table)
        self.assertNotIn("compliance", self.succeeds("slab", self.folder / "scenario.yaml",
                                                     "--quiet"))

    def test_other_frequencies(self):
        answer = self.answer(TUTORIAL, "--polarisation", "TE", "--frequency", "2 GHz", "402MHz")
        self.assertEqual([c["frequency_hz"] for c in answer["cases"]], [402e6, 2e9])

    def test_csv_holds_what_json_holds(self):
        path = self.folder / "table.csv"
        answer = self.answer(TUTORIAL, "--csv", path, "--angle", "10,50", "--loss", "20 dB")
        rows = list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"))))
        self.assertEqual(len(rows), len(answer["cases"]))
        for row, case in zip(rows, answer["cases"]):
            self.assertEqual(row["polarisation"], case["polarisation"])
            self.assertEqual(float(row["angle [deg]"]), case["angle_deg"])
            self.assertEqual(float(row["transmittance [1]"]), case["transmittance"])
            self.assertEqual(float(row["depth of 20 dB [m]"]), case["loss_depth_m"])
            self.assertEqual(float(row["absorbed in layer 2 lard [1]"]),
                             case["absorbed_by_layer"][1])

    def test_demo(self):
        table = self.succeeds("slab", DEMO, "--frequency", "2.45GHz", "--media", "both")
        self.assertIn("debye media minus cole-cole media", table)


class Files(SlabTest):
    def test_folder(self):
        path = self.write(TUTORIAL)
        folder = self.folder / "out"
        options = ["-o", folder, "--frequency", "2GHz", "2.45GHz", "--angle", "0:40:10"]
        self.assertIn(f"answer in {folder}", self.succeeds("slab", path, *options))
        self.assertEqual(sorted(os.listdir(folder)), sorted(
            ["slab.csv", "slab.h5", "profile_2000MHz.png", "profile_2450MHz.png",
             "spectrum_0deg.png"] +
            [f"spectrum_{a}deg_{p}.png" for a in (10, 20, 30, 40) for p in ("TE", "TM")] +
            [f"angles_{f}MHz_{p}.png" for f in (2000, 2450) for p in ("TE", "TM")]))
        for name in os.listdir(folder):
            if name.endswith(".png"):
                self.assertEqual((folder / name).read_bytes()[:8], b"\x89PNG\r\n\x1a\n")
        message = self.fails(2, "slab", path, *options)
        self.assertIn("--force", message)
        self.succeeds("slab", path, "-o", folder, "--force", "--quiet")
        self.assertEqual(sorted(os.listdir(folder)),
                         ["profile_2450MHz.png", "slab.csv", "slab.h5"])

    def test_hdf5(self):
        try:
            import h5py
            import netCDF4  # noqa: F401
            import xarray
        except ImportError as error:
            self.skipTest(str(error))
        folder = self.folder / "out"
        answer = self.answer(TUTORIAL, "-o", folder, "--angle", "0,30", "--media", "both",
                             "--loss", "20 dB", "--frequency", "2GHz", "2.4GHz", "2.45GHz")
        slab = xarray.open_dataset(folder / "slab.h5", group="slab")
        self.assertEqual(slab.reflectance.dims, ("media", "polarisation", "angle", "frequency"))
        self.assertEqual(slab.absorbed.dims[-1], "layer")
        for case in answer["cases"]:
            here = slab.sel(media=case["media"], polarisation=case["polarisation"],
                            angle=case["angle_deg"], frequency=case["frequency_hz"])
            self.assertEqual(here.reflectance.item(), case["reflectance"])
            self.assertEqual(here.loss_depth.item(), case["loss_depth_m"])
            self.assertEqual(here.absorbed.values.tolist(), case["absorbed_by_layer"])
        profile = xarray.open_dataset(folder / "slab.h5", group="profile")
        self.assertEqual(profile.e_magnitude.shape, (2, 2, 2, 3, 481))
        # In front of the skin the flux is what enters, everywhere.
        flux = profile.flux.sel(media="debye", polarisation="TM", angle=30, frequency=2e9)
        entering = slab.sel(media="debye", polarisation="TM", angle=30, frequency=2e9)
        before = flux.values[flux.x.values < 0] / entering.incident_flux.item()
        self.assertLess(abs(before / entering.entering.item() - 1).max(), 1e-6)
        for name in ["reflectance", "absorbed", "loss_depth", "incident_flux"]:
            self.assertTrue(slab[name].attrs["units"] and slab[name].attrs["long_name"])
        with h5py.File(folder / "slab.h5") as file:
            self.assertEqual(file.attrs["scenario_yaml"], TUTORIAL)
            self.assertIn("not a compliance", file.attrs["caution"])
            self.assertEqual(list(file["layers/tissue"].asstr()), ["hide", "lard"])

    def test_sheet_in_a_folder(self):
        text = TUTORIAL.replace(WAVE, "implant: {position: 25 mm}")
        folder = self.folder / "out"
        self.succeeds("slab", self.write(text), "-o", folder, "--frequency", "2GHz", "2.45GHz")
        self.assertEqual(sorted(os.listdir(folder)),
                         ["profile_2000MHz.png", "profile_2450MHz.png", "slab.csv", "slab.h5",
                          "spectrum.png"])


class Refusals(SlabTest):
    def refused(self, *arguments, text=TUTORIAL):
        message = self.fails(2, "slab", self.write(text), "-o", self.folder / "out", *arguments)
        self.holds("scenario.yaml")
        return message

    def test_a_slice_has_no_planar_layers(self):
        message = self.refused(text=slices.scenario())
        self.assertIn("mode: ", message)
        self.assertIn("write mode: 1D with body.layers", message)

    def test_angles(self):
        for written in ["90", "-1", "30,20", "0:90:10", "1:0:1", "0:80", "0:80:0", "x", "0:80:1e-9"]:
            self.assertIn("from 0 to below 90", self.refused(f"--angle={written}"), written)

    def test_all_faults_of_the_line_at_once(self):
        message = self.refused("--angle", "95", "--loss", "20", "--frequency", "2.45")
        for word in ["--angle: ", "--loss: ", "20dB", "--frequency: ", "2.45GHz"]:
            self.assertIn(word, message)

    def test_words(self):
        self.assertIn("both", self.refused("--polarisation", "TX"))
        self.assertIn("debye", self.refused("--media", "water"))

    def test_what_a_sheet_does_not_have(self):
        text = TUTORIAL.replace(WAVE, "implant: {position: 25 mm}")
        message = self.refused("--angle", "10", "--loss", "3dB", text=text)
        self.assertIn("--angle: belongs to a plane wave", message)
        self.assertIn("--loss: belongs to a plane wave", message)

    def test_frequency_outside_the_band_of_the_fit(self):
        text = TUTORIAL.replace("materials:\n", "materials:\n  fit: {band: [1 GHz, 3 GHz]}\n")
        message = self.refused("--media", "both", "--frequency", "4GHz", text=text)
        self.assertIn("outside materials.fit.band", message)
        self.answer(text, "--frequency", "4GHz")

    def test_too_many_cases(self):
        message = self.refused("--angle", "0:89:0.1", "--media", "both", text=TUTORIAL.replace(
            "waveform:", "frequencies: {from: 2 GHz, to: 2.9 GHz, count: 100}\nwaveform:"))
        self.assertIn("ask for fewer at once", message)

    def test_a_disk_that_takes_nothing(self):
        message = self.fails(3, "slab", self.write(TUTORIAL), "--csv", "/dev/full/x.csv")
        self.assertIn("/dev/full/x.csv", message)


if __name__ == "__main__":
    unittest.main()
