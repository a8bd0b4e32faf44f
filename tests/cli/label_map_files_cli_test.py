"""Label map files that are damaged, foreign or hostile: exit code 2, one message, no harm.

Runs under the sanitizers, too. Each file is made here, byte by byte.
"""

import gzip
import json
import os
import struct
import sys
import time
import unittest
import zlib

import h5py
import numpy as np

import slices
from label_map_cli_test import grey_png, png, scenario

SIGNATURE = b"\x89PNG\r\n\x1a\n"
GOOD = np.pad(np.ones((6, 8), np.uint8), 2)


def chunk(kind, body, length=None, check=None):
    return struct.pack(">I", len(body) if length is None else length) + kind + body + \
        struct.pack(">I", zlib.crc32(kind + body) if check is None else check)


def header(width, height, depth=8, colour=0):
    return chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, depth, colour, 0, 0, 0))


END = chunk(b"IEND", b"")
DATA = chunk(b"IDAT", zlib.compress(bytes(1000)))


def pictures():
    good = grey_png(GOOD)
    flipped = bytearray(good)
    flipped[-30] ^= 1
    alpha = np.dstack([GOOD, GOOD * 255])
    rows = b"".join(b"\0" + row.tobytes() for row in GOOD)
    return {
        "empty": b"",
        "text": b"no picture at all\n" * 40,
        "jpeg": b"\xff\xd8\xff\xe0\x00\x10JFIF\x00" + bytes(100),
        "signature alone": SIGNATURE,
        "truncated in the header": good[:20],
        "truncated in the data": good[:-25],
        "without its end": good[:-12],
        "flipped bit": bytes(flipped),
        "no width": SIGNATURE + header(0, 9) + DATA + END,
        "no height": SIGNATURE + header(9, 0) + DATA + END,
        "negative size": SIGNATURE + header(0xffffffff, 0x80000000) + DATA + END,
        "huge size": SIGNATURE + header(60000, 60000) + DATA + END,
        "too many pixels": SIGNATURE + header(16384, 8192) + DATA + END,
        "too short for its size": SIGNATURE + header(8000, 8000) + DATA + END,
        "short of rows": SIGNATURE + header(100, 100) + DATA + END,
        "bomb": SIGNATURE + header(9, 9) + chunk(b"IDAT", zlib.compress(bytes(1 << 26))) + END,
        "no deflate": SIGNATURE + header(9, 9) + chunk(b"IDAT", b"\x00\x01\x02" * 30) + END,
        "no data": SIGNATURE + header(9, 9) + END,
        "no header": SIGNATURE + DATA + END,
        "long header": SIGNATURE + chunk(b"IHDR", bytes(14)) + DATA + END,
        "chunk beyond the end": SIGNATURE + header(9, 9) + chunk(b"IDAT", b"", 0xfffffff0),
        "depth of 3 bits": SIGNATURE + header(9, 9, 3) + DATA + END,
        "depth of 0 bits": SIGNATURE + header(9, 9, 0) + DATA + END,
        "depth of 255 bits": SIGNATURE + header(9, 9, 255) + DATA + END,
        "palette without colours": SIGNATURE + header(9, 9, 8, 3) + DATA + END,
        "deep colours": png(np.dstack([GOOD] * 3), 2, 16),
        "transparent": png(alpha, 4),
        "colour beyond the palette": SIGNATURE + header(12, 10, 8, 3)
        + chunk(b"PLTE", bytes(3)) + chunk(b"IDAT", zlib.compress(rows)) + END,
        "few bits beyond the palette": SIGNATURE + header(8, 1, 4, 3)
        + chunk(b"PLTE", bytes(9)) + chunk(b"IDAT", zlib.compress(b"\0\0\x01\x23\x01")) + END,
        "unknown chunk": SIGNATURE + header(12, 10) + chunk(b"NEWs", b"")
        + chunk(b"IDAT", zlib.compress(rows)) + END,
    }


def other_pictures():
    return {
        "bitmap.bmp": b"BM" + struct.pack("<IHHIIiiHHIIiiII", 70, 0, 0, 54, 40, 100000, 100000,
                                          1, 24, 0, 0, 0, 0, 0, 0),
        "turned.bmp": b"BM" + struct.pack("<IHHIIiiHHIIiiII", 70, 0, 0, 54, 40, -5, -2147483648,
                                          1, 24, 0, 0, 0, 0, 0, 0) + bytes(20),
        "short.bmp": b"BM" + struct.pack("<IHHII", 70, 0, 0, 54, 40),
        "rows.bmp": b"BM" + struct.pack("<IHHIIiiHHIIiiII", 70, 0, 0, 54, 40, 9, 9,
                                        1, 24, 0, 0, 0, 0, 0, 0) + bytes(20),
        # Of 9 x 9 pixels with 3 bytes each, filled up to 28 in a row: 4 bytes too few.
        "last pixels.bmp": b"BM" + struct.pack("<IHHIIiiHHIIiiII", 70, 0, 0, 54, 40, 9, 9,
                                               1, 24, 0, 0, 0, 0, 0, 0) + bytes(9 * 28 - 5),
        "colour.bmp": b"BM" + struct.pack("<IHHIIiiHHIIiiII", 70, 0, 0, 58, 40, 8, 2,
                                          1, 8, 0, 0, 0, 0, 0, 0) + bytes(4) + bytes(15) + b"\1",
        "in the header.bmp": b"BM" + struct.pack("<IHHIIiiHHIIiiII", 70, 0, 0, 30, 40, 8, 2,
                                                 1, 8, 0, 0, 0, 0, 0, 0) + bytes(1100),
        "other.pgm": b"P5 40 40 255\n" + bytes(64),
    }


def nifti(data=GOOD.tobytes(), extension=None, **fields):
    """A NIfTI-1 file of 12 x 10 voxels with fields of its header replaced."""
    values = {
        "size": 348, "dim": (3, 12, 10, 1, 1, 1, 1, 1), "datatype": 2, "bitpix": 8,
        "pixdim": (1.0, 2.0, 2.0, 2.0, 0.0, 0.0, 0.0, 0.0), "offset": 352.0, "slope": 0.0,
        "intercept": 0.0, "units": 2, "qform": 0, "sform": 1, "quaternion": (0.0,) * 6,
        "rows": (-2.0, 0, 0, 0, 0, 2.0, 0, 0, 0, 0, 2.0, 0), "magic": b"n+1\0", **fields}
    head = struct.pack("<i36x8h", values["size"], *values["dim"]) + bytes(14) + \
        struct.pack("<hhh", values["datatype"], values["bitpix"], 0) + \
        struct.pack("<8f", *values["pixdim"]) + \
        struct.pack("<fff", values["offset"], values["slope"], values["intercept"]) + \
        struct.pack("<hBB", 0, 0, values["units"]) + bytes(24) + bytes(104) + \
        struct.pack("<hh6f12f", values["qform"], values["sform"], *values["quaternion"],
                    *values["rows"]) + bytes(16) + values["magic"]
    assert len(head) == 348, len(head)
    return head + (b"\0\0\0\0" if extension is None else b"\1\0\0\0" + extension) + data


def niftis():
    nan = float("nan")
    good = nifti()
    packed = gzip.compress(good)
    wrong_sum = bytearray(packed)
    wrong_sum[-6] ^= 1
    turned = (1.4, 1.4, 0, 0, -1.4, 1.4, 0, 0, 0, 0, 2.0, 0)
    return {
        "empty.nii": b"",
        "short.nii": good[:200],
        "text.nii": b"no volume at all\n" * 40,
        "magic.nii": nifti(magic=b"abc\0"),
        "pair.nii": nifti(magic=b"ni1\0"),
        "second.nii": nifti(size=540),
        "no dimension.nii": nifti(dim=(0, 12, 10, 1, 1, 1, 1, 1)),
        "many dimensions.nii": nifti(dim=(99, 12, 10, 1, 1, 1, 1, 1)),
        "zero.nii": nifti(dim=(3, 0, 10, 1, 1, 1, 1, 1)),
        "negative.nii": nifti(dim=(3, 12, -10, 1, 1, 1, 1, 1)),
        "huge.nii": nifti(dim=(3, 32767, 32767, 32767, 1, 1, 1, 1)),
        "too long.nii": nifti(dim=(3, 12, 10, 9, 1, 1, 1, 1)),
        "wide.nii.gz": gzip.compress(nifti(bytes(20000 * 60), dim=(3, 20000, 60, 1, 1, 1, 1, 1))),
        "volumes.nii": nifti(dim=(4, 12, 5, 1, 2, 1, 1, 1)),
        "complex.nii": nifti(datatype=32, bitpix=64),
        "colours.nii": nifti(datatype=128, bitpix=24),
        "bits.nii": nifti(bitpix=16),
        "offset nan.nii": nifti(offset=nan),
        "offset negative.nii": nifti(offset=-352.0),
        "offset small.nii": nifti(offset=10.0),
        "offset huge.nii": nifti(offset=1e30),
        "offset fraction.nii": nifti(offset=352.5),
        "slope nan.nii": nifti(slope=nan),
        "slope infinite.nii": nifti(slope=float("inf")),
        "intercept nan.nii": nifti(slope=1.0, intercept=nan),
        "scaled.nii": nifti(slope=2.0),
        "pixel nan.nii": nifti(pixdim=(1.0, nan, 2.0, 2.0, 0, 0, 0, 0)),
        "pixel zero.nii": nifti(pixdim=(1.0, 0.0, 2.0, 2.0, 0, 0, 0, 0)),
        "pixel negative.nii": nifti(pixdim=(1.0, -2.0, 2.0, 2.0, 0, 0, 0, 0)),
        "rows nan.nii": nifti(rows=(nan,) * 12),
        "rows zero.nii": nifti(rows=(0.0,) * 12),
        "rows huge.nii": nifti(rows=(3e38,) * 12),
        "quaternion.nii": nifti(sform=0, qform=1, quaternion=(float("inf"),) * 6),
        "turned.nii": nifti(rows=turned),
        "unit.nii": nifti(units=7),
        "extension zero.nii": nifti(offset=384.0, extension=struct.pack("<ii", 0, 6) + bytes(24)),
        "extension huge.nii": nifti(offset=384.0,
                                    extension=struct.pack("<ii", 0x7ffffff0, 6) + bytes(24)),
        "extension negative.nii": nifti(offset=384.0,
                                        extension=struct.pack("<ii", -32, 6) + bytes(24)),
        "floats.nii": nifti(np.full(120, nan, np.float32).tobytes(), datatype=16, bitpix=32),
        "label huge.nii": nifti(np.full(120, 1 << 60, np.uint64).tobytes(), datatype=1280,
                                bitpix=64),
        "packed.nii": packed,
        "plain.nii.gz": good,
        "truncated.nii.gz": packed[:-20],
        "without sum.nii.gz": packed[:-8],
        "wrong sum.nii.gz": bytes(wrong_sum),
        "bomb.nii.gz": gzip.compress(good + bytes(1 << 26)),
        "small bomb.nii.gz": gzip.compress(nifti(b"", dim=(3, 8000, 8000, 30, 1, 1, 1, 1))),
    }


class HostileTest(slices.SliceTest):
    tried = 0

    def refused(self, name, inside=""):
        path = self.write(scenario(f'file: "{name}{inside}", pixel: 2 mm, '
                                   "tissues: {0: air, 1: muscle}"))
        begin = time.monotonic()
        # What HDF5 itself leaves behind of a damaged file is not ours to free.
        message = self.fails(2, "check", path, "--quiet",
                             env={**os.environ, "ASAN_OPTIONS": "detect_leaks=0"})
        self.assertLess(time.monotonic() - begin, 20.0, name)
        # Refused by its reader, not for what its pixels happen to mean.
        self.assertRegex(message, r"scenario\.yaml:\d+:\d+: body\.label_map\.file: ", name)
        self.assertNotRegex(message, "there is no body|no tissue", name)
        self.assertEqual(message.count("\n"), 1, name + message)
        HostileTest.tried += 1
        return message

    def test_good_files_are_read(self):
        for name, content in {"a.png": grey_png(GOOD), "b.nii": nifti(),
                              "c.nii.gz": gzip.compress(nifti())}.items():
            (self.folder / name).write_bytes(content)
            path = self.write(scenario(f"file: {name}, pixel: 2 mm, tissues: {{0: air, 1: muscle}}"))
            self.succeeds("check", path, "--quiet")

    def test_a_volume_of_nearly_the_same_name_is_left_alone(self):
        (self.folder / "a.nii.gz").write_bytes(gzip.compress(nifti()))
        (self.folder / "a.nii").write_bytes(nifti(bytes(120)))
        path = self.write(scenario("file: a.nii.gz, tissues: {0: air, 1: muscle}"))
        report = json.loads(self.succeeds("check", path, "--json"))
        pixels = {label["tissue"]: label["pixels"] for label in report["label_map"]["labels"]}
        self.assertEqual(pixels, {"air": 72, "muscle": 48})

    def test_pictures(self):
        for name, content in pictures().items():
            (self.folder / f"{name}.png").write_bytes(content)
            self.refused(f"{name}.png")
        for name, content in other_pictures().items():
            (self.folder / name).write_bytes(content)
            self.refused(name)

    def test_pixels_of_nothing(self):
        (self.folder / "a.png").write_bytes(grey_png(GOOD))
        path = self.write(scenario("file: a.png, pixel: 1e-12 mm, center: [9 mm, 0 mm], "
                                   "tissues: {0: air, 1: muscle}"))
        self.assertIn("1 nm or more", self.fails(2, "check", path, "--quiet"))

    def test_volumes(self):
        for name, content in niftis().items():
            (self.folder / name).write_bytes(content)
            self.refused(name)

    def test_arrays(self):
        with h5py.File(self.folder / "a.h5", "w") as file:
            file["good"] = GOOD
            file["floats"] = GOOD.astype(float)
            file["texts"] = ["a", "b"]
            file["line"] = np.arange(9)
            file["deep"] = np.zeros((2, 2, 2, 2), int)
            file["none"] = np.zeros((0, 9), int)
            file["large"] = np.full((9, 9), 1 << 40)
            file.create_group("group")
            file.create_dataset("huge", (1 << 20, 1 << 20), "u1", chunks=(512, 512))
            file.create_dataset("empty", (9000, 7000), "u1", chunks=(512, 512))
            file["link"] = h5py.SoftLink("/nowhere")
        whole = (self.folder / "a.h5").read_bytes()
        for inside in ["nothing", "floats", "texts", "line", "deep", "none", "large", "group",
                       "huge", "empty", "link", "good/deeper", "no/such/group"]:
            self.refused("a.h5", f":/{inside}")
        damaged = {"b.h5": b"", "c.h5": b"text\n" * 200, "d.h5": whole[:600],
                   "e.h5": whole[:100] + b"\xff" * 600 + whole[700:]}
        for name, content in damaged.items():
            (self.folder / name).write_bytes(content)
            self.refused(name, ":/good")
        self.assertIn("names no array", self.refused("a.h5"))

    @classmethod
    def tearDownClass(cls):
        print(f"{cls.tried} files refused", file=sys.stderr)


if __name__ == "__main__":
    unittest.main()
