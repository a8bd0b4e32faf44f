"""Runs of bodies given as label maps: beside shapes, a published mask, results that reproduce.

The liver is the mask that Debian's python3-pydicom carries (liver_1frame.dcm, DICOM SEG); it is
read where it is installed. TORSOWAVE_LABEL_MAPS=all compares finer cells in every format.
"""

import csv
import json
import os
import sys
import unittest

import h5py
import nibabel
import numpy as np
import pydicom
import pydicom.data

import slices
from label_map_cli_test import NAMES, TISSUES, MapTest, asymmetric, grey_png, png, scenario

THOROUGH = os.environ.get("TORSOWAVE_LABEL_MAPS") == "all"
FORMATS = ["png", "nifti", "hdf5"] if THOROUGH else ["png"]
CELL = "1 mm" if THOROUGH else "1.5 mm"


def decibels(power, reference):
    return 10 * np.log10(np.asarray(power) / np.asarray(reference))


class PhysicsTest(MapTest):
    """Powers through the body's surface, of maps beside shapes and of a published mask."""

    TRUNK = """
  shapes:
    - {tissue: skin_dry, ellipse: {center: [0 mm, 0 mm], semi_axes: [100 mm, 75 mm]}}
    - {tissue: fat_not_infiltrated, ellipse: {center: [0 mm, 0 mm], semi_axes: [97 mm, 72 mm]}}
    - {tissue: muscle, ellipse: {center: [0 mm, 0 mm], semi_axes: [85 mm, 60 mm]}}
    - {tissue: bone_cortical, circle: {center: [-30 mm, -20 mm], radius: 14 mm}}
    - {tissue: blood, circle: {center: [25 mm, 12 mm], radius: 9 mm}}"""
    TISSUES = ("{0: air, 1: skin_dry, 2: fat_not_infiltrated, 3: muscle, 4: bone_cortical, "
               "5: blood}")
    SECTIONS = {"grid": f"{{cell: {CELL}, size: [260 mm, 210 mm], absorbing_cells: 10}}",
                "implant": "{position: [30 mm, 25 mm], "
                           "capsule: {radius: 3 mm, material: peek_like}}",
                "waveform": "{type: pulse, center: 2.45 GHz, bandwidth: 1 GHz}",
                "frequencies": "[2.45 GHz]", "duration": None,
                "outputs": "{sectors: 36}"}

    @staticmethod
    def trunk(pixel=0.25):
        """The same by the centres of pixels [mm], an invented slice (y, x)."""
        y, x = np.meshgrid((np.arange(640) - 319.5) * pixel, (np.arange(840) - 419.5) * pixel,
                           indexing="ij")
        labels = np.zeros(x.shape, np.uint8)
        for label, a, b in [(1, 100, 75), (2, 97, 72), (3, 85, 60)]:
            labels[(x / a) ** 2 + (y / b) ** 2 < 1] = label
        labels[np.hypot(x + 30, y + 20) < 14] = 4
        labels[np.hypot(x - 25, y - 12) < 9] = 5
        return labels

    def powers(self, name, body):
        """Through the body's surface: in all, and by sector."""
        result = self.run_slice(slices.scenario(**{**self.SECTIONS, "body": body}), name=name,
                                threads=2)
        first = json.loads((result / "summary.json").read_text(encoding="utf-8"))["frequencies"][0]
        self.assertLess(first["power_balance_residual"], 1e-3)
        return (first["body_surface_power_w_per_m"],
                np.array(first["body_surface_sectors"]["power_w_per_m"]))

    def test_shapes_and_their_map_of_quarter_millimetres_agree(self):
        """0.05 dB in all, 0.3 dB in each sector down to a hundredth of the largest.

        Below that the map's own skin counts: power that runs along it in the half pixel by which
        it is off is counted on the other side of a sector's end (docs/label-maps.md).
        """
        total, sectors = self.powers("shapes", self.TRUNK)
        labels = self.trunk()
        self.put("slice.png", grey_png(labels))
        self.put_nifti("slice.nii.gz", labels, "LPS", (0.25, 0.25, 1))
        with h5py.File(self.folder / "slice.h5", "w") as file:
            file["labels"] = labels
        maps = {"png": "slice.png", "nifti": "slice.nii.gz", "hdf5": '"slice.h5:/labels"'}
        by_format = []
        for name in FORMATS:
            body = f"{{label_map: {{file: {maps[name]}, pixel: 0.25 mm, tissues: {self.TISSUES}}}}}"
            mapped, mapped_sectors = self.powers(name, body)
            by_format.append(mapped)
            strong = sectors > 0.01 * sectors.max()
            self.assertGreaterEqual(strong.sum(), 4)
            difference = decibels(mapped_sectors[strong], sectors[strong])
            print(f"{name}: total {decibels(mapped, total):+.4f} dB, {strong.sum()} sectors within "
                  f"{np.abs(difference).max():.3f} dB", file=sys.stderr)
            self.assertLess(abs(decibels(mapped, total)), 0.05)
            self.assertLess(np.abs(difference).max(), 0.3)
            self.assertLess(np.abs(mapped_sectors - sectors).max(), 0.015 * sectors.max())
        self.assertEqual(len(set(by_format)), 1)

    def test_liver_mask_in_a_parametric_outline(self):
        """DICOM SEG, 512 x 512 pixels of 0.810547 mm; 36 233 of them are liver."""
        dataset = pydicom.dcmread(pydicom.data.get_testdata_file("liver_1frame.dcm"))
        mask = np.asarray(dataset.pixel_array, np.uint8)
        self.assertEqual(mask.sum(), 36233)
        shared = dataset.SharedFunctionalGroupsSequence[0]
        spacing = [float(s) for s in shared.PixelMeasuresSequence[0].PixelSpacing]
        self.assertEqual(spacing, [0.810547, 0.810547])
        turn = shared.PlaneOrientationSequence[0].ImageOrientationPatient
        self.assertEqual([float(t) for t in turn], [1, 0, 0, 0, 1, 0])  # rows left, down back
        rows, columns = np.nonzero(mask)
        height, width = (np.ptp(axis) + 1 for axis in (rows, columns))
        # An ellipse around it, of muscle with a rind of fat: invented.
        y, x = np.mgrid[0:512, 0:512]
        labels = np.zeros(mask.shape, np.uint8)
        middle = (rows.mean() + 20, columns.mean() + 35)
        radius = np.hypot((y - middle[0]) / 150, (x - middle[1]) / 195)
        labels[radius < 1] = 1
        labels[radius < 0.92] = 2
        labels[mask == 1] = 3
        self.put("slice.png", png(labels, 0))
        text = slices.scenario(
            grid="{cell: 3 mm, margin: 30 mm, absorbing_cells: 8}",
            body="{label_map: {file: slice.png, pixel: 0.810547 mm, tissues: "
                 "{0: air, 1: fat_not_infiltrated, 2: muscle, 3: liver}}}",
            implant="{position: [30 mm, 10 mm]}", duration=None, outputs="{sectors: 36}",
            waveform="{type: pulse, center: 403.5 MHz, bandwidth: 300 MHz}",
            frequencies="[403.5 MHz]")
        told = json.loads(self.succeeds("check", self.write(text), "--json"))
        liver = {label["tissue"]: label for label in told["label_map"]["labels"]}["liver"]
        self.assertEqual(liver["pixels"], 36233)
        area = {each["tissue"]: each["area_mm2"] for each in told["materials"]}["liver"]
        self.assertAlmostEqual(area, 36233 * 0.810547 ** 2, delta=20)
        self.assertAlmostEqual(width * 0.810547, 220, delta=3)
        self.assertAlmostEqual(height * 0.810547, 180, delta=3)
        result = self.run_slice(text)
        first = json.loads((result / "summary.json").read_text(encoding="utf-8"))["frequencies"][0]
        self.assertLess(first["power_balance_residual"], 1e-3)
        self.assertGreater(first["absorbed_power_w_per_m"]["by_tissue"]["liver"], 0.0)
        left = sum(first["absorbed_power_w_per_m"]["by_tissue"].values())
        self.assertAlmostEqual(left / first["absorbed_power_w_per_m"]["total"], 1, places=6)


class RunTest(MapTest):
    def test_a_result_reproduces_and_its_export_reads_back(self):
        self.put("grey.png", grey_png(asymmetric()))
        text = scenario(f"file: grey.png, pixel: 2 mm, tissues: {TISSUES}",
                        grid="{cell: 1.3 mm, margin: 20 mm, absorbing_cells: 8}",
                        duration="{decay: 30 dB}")
        first = self.run_slice(text, name="first")
        (self.folder / "grey.png").unlink()
        second = self.folder / "second"
        self.succeeds("run", first / "scenario.yaml", "-o", second, "--quiet", "--threads", 1)
        powers = [json.loads((where / "summary.json").read_text(encoding="utf-8"))
                  ["frequencies"][0]["radiated_power_w_per_m"] for where in (first, second)]
        self.assertEqual(*powers)
        with h5py.File(first / "result.h5") as file:
            labels = file["tissue/label"][:]
        for name in ["out.nii.gz", "out.png"]:
            self.succeeds("render", first, "--export-labels", self.folder / name)
        image = nibabel.load(self.folder / "out.nii.gz")
        self.assertEqual(image.header.get_intent()[0], "label")
        self.assertEqual(image.header.get_xyzt_units()[0], "mm")
        self.assertEqual("".join(nibabel.aff2axcodes(image.affine)), "RAS")
        np.testing.assert_allclose(image.get_qform(), image.get_sform(), atol=1e-4)
        np.testing.assert_array_equal(np.asarray(image.dataobj)[::-1, :, 0].T, labels)
        with (self.folder / "out.csv").open(encoding="utf-8") as table:
            rows = list(csv.DictReader(table))
        self.assertEqual([int(row["cells"]) for row in rows], np.bincount(labels.ravel()).tolist())
        colours = ", ".join(f'"{row["colour"]}": {row["tissue"]}' for row in rows)
        maps = ["file: out.nii.gz, center: file",
                'file: "first/result.h5:/tissue/label", center: file',
                "file: out.png, pixel: 1.3 mm, tissues: {" + colours + "}"]
        codes = np.array([NAMES.index(row["tissue"]) for row in rows])[labels]
        body = np.nonzero(codes)
        expected = codes[body[0].min():body[0].max() + 1, body[1].min():body[1].max() + 1]
        for label_map in maps:
            again = self.cells(label_map, grid="{cell: 1.3 mm, margin: 20 mm, absorbing_cells: 8}")
            np.testing.assert_array_equal(again, expected)
        message = self.fails(2, "render", first, "--export-labels", "out.jpg")
        self.assertIn("ends in none of .nii, .nii.gz, .png", message)

    def test_cases_of_a_sweep_know_the_content_of_the_map(self):
        self.write(scenario(f"file: grey.png, pixel: 2 mm, tissues: {TISSUES}",
                            duration="1 ns"), "base.yaml")
        sweep = self.write("base: base.yaml\nvary:\n  implant.position[0]: [1 mm]\n", "sweep.yaml")
        cases = []
        for content in [asymmetric(), asymmetric()[:, ::-1]]:
            self.put("grey.png", grey_png(content))
            self.succeeds("sweep", sweep, "-o", self.folder / "out", "--quiet", "--jobs", 1)
            cases.append({path.name for path in (self.folder / "out" / "cases").iterdir()})
        self.assertEqual(len(cases[0]), 1)
        self.assertEqual(len(cases[1] - cases[0]), 1)


if __name__ == "__main__":
    unittest.main()
