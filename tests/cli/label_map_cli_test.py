"""Bodies given as label maps: orientation in every format, mapping, what is refused.

NIfTI files are written and read with nibabel, which is nobody's code here: what it takes for
the patient's left is the reference.
"""

import csv
import json
import struct
import unittest
import zlib

import h5py
import nibabel
import numpy as np

import slices

TISSUES = "{0: air, 1: muscle, 2: fat_not_infiltrated, 3: bone_cortical}"
NAMES = ["air", "muscle", "fat_not_infiltrated", "bone_cortical"]
COLOURS = {0: (255, 255, 255), 1: (200, 100, 80), 2: (250, 220, 100), 3: (1, 2, 3)}
COLOUR_TISSUES = ('{"#ffffff": air, "#c86450": muscle, "#fadc64": fat_not_infiltrated, '
                  '"#010203": bone_cortical}')


def asymmetric():
    """Labels (y, x), y to the front, x to the patient's left; no turn leaves it as it is."""
    labels = np.zeros((24, 30), np.uint8)
    labels[2:22, 3:27] = 1
    labels[13:20, 17:25] = 2      # left front
    labels[4:7, 5:11] = 3         # right back
    labels[10, 20] = 2
    return labels


def png(pixels, colour_type, depth=8, palette=None, transparency=None):
    """A PNG file (ISO/IEC 15948) of rows of samples, the first row on top."""
    def chunk(kind, body):
        return struct.pack(">I", len(body)) + kind + body + \
            struct.pack(">I", zlib.crc32(kind + body))
    height, width = pixels.shape[:2]
    if depth < 8:
        rows = [np.packbits(np.unpackbits(row.astype(np.uint8)[:, None], axis=1)[:, -depth:])
                for row in pixels]
    else:
        rows = [row.astype(">u2" if depth == 16 else np.uint8) for row in pixels]
    raw = b"".join(b"\0" + row.tobytes() for row in rows)
    return b"\x89PNG\r\n\x1a\n" + \
        chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, depth, colour_type, 0, 0, 0)) + \
        (chunk(b"PLTE", palette) if palette else b"") + \
        (chunk(b"tRNS", transparency) if transparency else b"") + \
        chunk(b"IDAT", zlib.compress(raw)) + chunk(b"IEND", b"")


def grey_png(labels, depth=8):
    return png(labels[::-1], 0, depth)


def colour_png(labels):
    rgb = np.zeros(labels.shape + (3,), np.uint8)
    for label, colour in COLOURS.items():
        rgb[labels == label] = colour
    return png(rgb[::-1], 2)


def scenario(label_map, **changes):
    """A slice of 60 mm by 48 mm, cells on its pixels of 2 mm."""
    sections = {
        "grid": "{cell: 2 mm, margin: 20 mm, absorbing_cells: 8}",
        "implant": "{position: [1 mm, 1 mm]}",
        "waveform": "{type: pulse, center: 915 MHz, bandwidth: 1.4 GHz}",
        "frequencies": "[915 MHz]", "outputs": None,
        **changes, "body": changes.get("body", "{label_map: {" + label_map + "}}")}
    return slices.scenario(**sections)


class MapTest(slices.SliceTest):
    def check(self, label_map, **changes):
        """What `check --json` says of the map."""
        path = self.write(scenario(label_map, **changes))
        return json.loads(self.succeeds("check", path, "--json"))["label_map"]

    def cells(self, label_map, **changes):
        """The tissue of each cell (y, x) as the program cuts it, without margins: codes of NAMES."""
        path = self.write(scenario(label_map, **changes))
        target = self.folder / "cells.nii"
        self.succeeds("check", path, "--quiet", "--export-labels", target)
        with (self.folder / "cells.csv").open(encoding="utf-8") as table:
            names = [row["tissue"] for row in csv.DictReader(table)]
        image = nibabel.as_closest_canonical(nibabel.load(target))  # to right, front, up
        labels = np.asarray(image.dataobj)[::-1, :, 0].T            # (y, x), x to the left
        codes = np.array([NAMES.index(name) for name in names])[labels]
        ys, xs = np.nonzero(codes)
        return codes[ys.min():ys.max() + 1, xs.min():xs.max() + 1]

    def put(self, name, content):
        (self.folder / name).write_bytes(content)

    def put_nifti(self, name, labels, directions="RAS", pixel=(2, 2, 5), unit="mm", swap=False):
        """Labels (y, x) or (z, y, x) as NIfTI, stored along other axes of the patient."""
        volume = np.atleast_3d(labels.T) if labels.ndim == 2 else labels.T
        volume = volume[::-1]  # x to the left becomes x to the right: RAS
        affine = np.diag([*map(float, pixel), 1.0])
        affine[:3, 3] = [-31.0, -17.0, 40.0]
        image = nibabel.Nifti1Image(np.ascontiguousarray(volume), affine)
        turned = nibabel.orientations.ornt_transform(
            nibabel.orientations.axcodes2ornt("RAS"),
            nibabel.orientations.axcodes2ornt(directions))
        image = image.as_reoriented(turned)
        image.header.set_xyzt_units(unit)
        if swap:
            image = nibabel.Nifti1Image(np.asarray(image.dataobj), image.affine,
                                        image.header.as_byteswapped(">"))
            image.header.set_data_dtype(">u2")
        nibabel.save(image, self.folder / name)


class OrientationTest(MapTest):
    def setUp(self):
        super().setUp()
        self.expected = asymmetric()[2:22, 3:27]

    def same(self, cells):
        np.testing.assert_array_equal(cells, self.expected)

    def test_pictures(self):
        labels = asymmetric()
        self.put("grey.png", grey_png(labels))
        self.put("two.png", grey_png(labels, 2))     # labels 0 ... 3 in 2 bits
        self.put("deep.png", grey_png(labels * 1000, 16))
        self.put("colour.png", colour_png(labels))
        self.put("indexed.png", png(labels[::-1], 3, palette=bytes(
            value for label in range(4) for value in COLOURS[label])))
        for name in ["grey", "two"]:
            self.same(self.cells(f"file: {name}.png, pixel: 2 mm, tissues: {TISSUES}"))
        deep = TISSUES.replace("1:", "1000:").replace("2:", "2000:").replace("3:", "3000:")
        self.same(self.cells(f"file: deep.png, pixel: 2 mm, tissues: {deep}"))
        for name in ["colour", "indexed"]:
            self.same(self.cells(f"file: {name}.png, pixel: 2 mm, tissues: {COLOUR_TISSUES}"))

    def test_nifti_in_every_direction_the_patient_can_lie(self):
        tissues = f"tissues: {TISSUES}"
        for directions in ["RAS", "LAS", "LPS", "RPI", "ASL", "SRP", "PIR", "AIL"]:
            self.put_nifti("slice.nii.gz", asymmetric(), directions)
            self.same(self.cells(f"file: slice.nii.gz, {tissues}"))

    def test_nifti_with_quaternion_alone_other_units_and_byte_order(self):
        self.put_nifti("slice.nii", asymmetric().astype(np.int16), "LPS", (2000, 2000, 1), "micron")
        image = nibabel.load(self.folder / "slice.nii")
        image.set_qform(image.affine, 1)
        image.set_sform(None, 0)
        nibabel.save(image, self.folder / "turned.nii")
        self.same(self.cells(f"file: turned.nii, tissues: {TISSUES}"))
        self.put_nifti("big.nii.gz", asymmetric().astype(np.uint16), "LPS", swap=True)
        self.assertEqual(self.check(f"file: big.nii.gz, tissues: {TISSUES}")["pixel_m"],
                         [0.002, 0.002])
        self.same(self.cells(f"file: big.nii.gz, tissues: {TISSUES}"))

    def test_slices_of_volumes_across_each_axis(self):
        volume = np.zeros((9, 24, 30), np.uint8)
        volume[4] = asymmetric()
        self.put_nifti("volume.nii.gz", volume, "LPI")
        self.same(self.cells(f"file: volume.nii.gz, slice: 4, tissues: {TISSUES}"))
        # Stored so that the drawing stands across the patient's y (left, up), and across x.
        upright = nibabel.Nifti1Image(np.ascontiguousarray(asymmetric().T[::-1][:, None, :]),
                                      np.diag([2.0, 2.0, 2.0, 1.0]))
        nibabel.save(upright, self.folder / "upright.nii.gz")
        self.same(self.cells(f"file: upright.nii.gz, axis: y, tissues: {TISSUES}"))
        sideways = nibabel.Nifti1Image(np.ascontiguousarray(asymmetric().T[None, :, :]),
                                       np.diag([2.0, 2.0, 2.0, 1.0]))
        nibabel.save(sideways, self.folder / "sideways.nii.gz")
        self.same(self.cells(f"file: sideways.nii.gz, axis: x, tissues: {TISSUES}"))
        message = self.fails(2, "check", self.write(scenario(
            f"file: volume.nii.gz, tissues: {TISSUES}")))
        self.assertIn("body.label_map.file: slice is missing: the file holds 9 slices", message)

    def test_hdf5(self):
        volume = np.zeros((3, 24, 30), np.int64)
        volume[1] = asymmetric()
        with h5py.File(self.folder / "slice.h5", "w") as file:
            flat = file.create_dataset("deep/labels", data=asymmetric(), compression="gzip")
            flat.attrs["pixel_size"] = [0.002, 0.002]
            file["volume"] = volume
        tissues = f"tissues: {TISSUES}"
        self.same(self.cells(f'file: "slice.h5:/deep/labels", {tissues}'))
        self.same(self.cells(f'file: "slice.h5:/volume", pixel: 2 mm, slice: 1, {tissues}'))

    def test_flips_and_crops(self):
        self.put("grey.png", grey_png(asymmetric()))
        with_keys = f"file: grey.png, pixel: 2 mm, tissues: {TISSUES}"
        whole = self.expected
        for flip, turned in [("none", whole), ("x", whole[:, ::-1]), ("y", whole[::-1]),
                             ("both", whole[::-1, ::-1])]:
            np.testing.assert_array_equal(self.cells(f"{with_keys}, flip: {flip}"), turned)
        crop = "crop: {columns: [6, 25], rows: [5, 18]}"
        np.testing.assert_array_equal(self.cells(f"{with_keys}, {crop}"),
                                      asymmetric()[5:19, 6:26])
        np.testing.assert_array_equal(self.cells(f"{with_keys}, flip: x, {crop}"),
                                      asymmetric()[:, ::-1][5:19, 6:26])

    def test_coordinates_of_the_file(self):
        self.put_nifti("slice.nii.gz", asymmetric(), "LPS")
        corner = self.check(f"file: slice.nii.gz, center: file, tissues: {TISSUES}",
                            implant="{position: [-20 mm, 0 mm]}")["corner_m"]
        # Voxels go from -31 mm to the right in steps of 2 mm: their left end is at 32 mm.
        np.testing.assert_allclose(corner, [-0.028, -0.018], atol=1e-9)


class MappingTest(MapTest):
    def test_check_lists_labels_with_tissue_area_and_small_parts(self):
        labels = asymmetric()
        labels[15, 8] = 0     # a hole of one pixel
        labels[17, 6:8] = 3   # a speck of two
        self.put("grey.png", grey_png(labels))
        path = self.write(scenario(f"file: grey.png, pixel: 2 mm, tissues: {TISSUES}"))
        text = self.succeeds("check", path)
        self.assertIn("30 x 24 pixels of 2 x 2 mm", text)
        self.assertRegex(text, r"3 +bone_cortical +20 +80\.0")
        self.assertIn("label map: 1 of 2 parts of bone_cortical have fewer than 3 pixels (2 in "
                      "all)", text)
        self.assertIn("label map: 1 of 1 holes in the body have fewer than 3 pixels", text)
        self.assertIn("bbbb", text)  # the slice in letters
        told = self.check(f"file: grey.png, pixel: 2 mm, small_part: 0, tissues: {TISSUES}")
        self.assertEqual(told["notes"], [])

    def test_unmapped_labels_are_listed_with_their_pixels(self):
        self.put("grey.png", grey_png(asymmetric()))
        self.put("colour.png", colour_png(asymmetric()))
        message = self.fails(2, "check", self.write(scenario(
            "file: grey.png, pixel: 2 mm, tissues: {0: air, 1: muscle}")))
        self.assertIn("body.label_map.tissues: labels of the map have no tissue: 2: 57 pixels, "
                      "3: 18 pixels; write tissues: {2: muscle, ...}", message)
        message = self.fails(2, "check", self.write(scenario(
            'file: colour.png, pixel: 2 mm, tissues: {"#ffffff": air, "#c86450": muscle}')))
        self.assertIn("#010203: 18 pixels, #fadc64: 57 pixels", message)

    def test_tables_in_the_file(self):
        self.put_nifti("slice.nii.gz", asymmetric())
        image = nibabel.load(self.folder / "slice.nii.gz")
        table = "".join(f"{n} {name}\n" for n, name in enumerate(NAMES))
        image.header.extensions.append(
            nibabel.nifti1.Nifti1Extension("comment", table.encode()))
        nibabel.save(image, self.folder / "named.nii.gz")
        np.testing.assert_array_equal(self.cells("file: named.nii.gz"),
                                      asymmetric()[2:22, 3:27])
        told = self.check("file: named.nii.gz, tissues: {3: blood}")["labels"]
        self.assertEqual([label["tissue"] for label in told], [*NAMES[:3], "blood"])

    def test_shapes_and_capsule_over_the_map(self):
        self.put("grey.png", grey_png(asymmetric()))
        body = ("\n  label_map: {file: grey.png, pixel: 2 mm, tissues: " + TISSUES + "}"
                "\n  shapes: [{tissue: blood, circle: {center: [-10 mm, 8 mm], radius: 6 mm}}]")
        path = self.write(scenario("", body=body, implant=(
            "{position: [1 mm, 1 mm], capsule: {radius: 4 mm, material: peek_like}}")))
        areas = {each["tissue"]: each["area_mm2"] for each in
                 json.loads(self.succeeds("check", path, "--json"))["materials"]}
        self.assertAlmostEqual(areas["blood"], np.pi * 36, delta=0.5)
        self.assertAlmostEqual(areas["peek_like"], np.pi * 16, delta=0.5)
        shell = body.replace("circle: {center: [-10 mm, 8 mm], radius: 6 mm}",
                             "shell: {thickness: 2 mm}")
        message = self.fails(2, "check", self.write(scenario("", body=shell)))
        self.assertIn("body.shapes[0]: a shell cannot line the pixels of a label map", message)

    def test_an_implant_in_gas_is_in_the_body_and_outside_is_not(self):
        labels = asymmetric()
        labels[8:11, 12:15] = 0
        self.put("grey.png", grey_png(labels))
        keys = f"file: grey.png, pixel: 2 mm, tissues: {TISSUES}"
        self.check(keys, implant="{position: [-3 mm, -5 mm]}")
        message = self.fails(2, "check", self.write(scenario(
            keys, implant="{position: [29 mm, 0 mm]}")))
        self.assertIn("body.label_map is nearest, within x -24 mm to 24 mm", message)

    def test_what_is_wrong_with_the_keys(self):
        self.put("grey.png", grey_png(asymmetric()))
        keys = f"file: grey.png, pixel: 2 mm, tissues: {TISSUES}"
        for wrong, problem in [
                (keys.replace("grey", "none"), "no such file"),
                (keys.replace("pixel: 2 mm, ", ""), "body.label_map.pixel: is missing"),
                (keys.replace("2 mm", "0 mm"), "greater than 0"),
                (keys.replace("2 mm", "90 m"), "at most 100 m are accepted"),
                (keys.replace("muscle", "mussle"), "muscle"),
                (keys.replace("1:", "one:"), '"one" is no label'),
                (keys.replace("1:", '"#12"  :'), '"#12" is no label'),
                (keys.replace("1:", '"#123456":'), "numbers and colours"),
                (keys + ", crop: {columns: [0, 30], rows: [0, 3]}", "columns 0 to 29"),
                (keys + ", crop: {columns: [9, 3], rows: [0, 3]}", "exchange them"),
                (keys + ", slice: 1", "the file holds one slice, 0"),
                (keys + ", slize: 1", "unknown key"),
                (keys + ", center: file", "tells no coordinates"),
                (keys.replace("1: muscle", "1: air").replace("2: fat_not_infiltrated", "2: air")
                 .replace("3: bone_cortical", "3: air"), "there is no body"),
                (keys.replace("grey.png", "slice.h5"), "no such file")]:
            message = self.fails(2, "check", self.write(scenario(wrong)))
            self.assertIn(problem, message)
            self.assertRegex(message, r"scenario\.yaml:\d+:\d+: body\.label_map")
        one_d = self.write(slices.scenario(
            mode="1D", body="{label_map: {file: grey.png}}", implant="{position: 2 mm}",
            grid="{cell: 1 mm, margin: 20 mm}", outputs=None))
        self.assertIn("belongs to the modes TMz and TEz", self.fails(2, "check", one_d))


if __name__ == "__main__":
    unittest.main()
