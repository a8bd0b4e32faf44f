"""torsowave render: pictures, SVG, PDF and films from a stored result, without running again."""

import json
import math
import os
import pathlib
import re
import shutil
import struct
import subprocess
import sys
import tempfile
import unittest
import xml.etree.ElementTree as xml
import zlib

try:
    import h5py
    import numpy as np
except ImportError as missing:
    print(f"skipped: {missing}")
    sys.exit(77)

import cli
import slices

# The power flow makes the run store all fields.
DRAWN = "sar, snapshot, power_flow, surface_ring, far_field"
IMAGES = f"\n  images: {{quantity: [{DRAWN}]}}"
TEXT = slices.scenario(outputs=slices.SECTIONS["outputs"].replace(
    "every: 0.5 ns", "every: 0.25 ns") + IMAGES)
ROW = """title: Invented layers
mode: 1D
grid: {cell: 0.5 mm, size: 60 mm}
body: {background: air, layers: [{tissue: fat_not_infiltrated, thickness: 10 mm},
                                 {tissue: muscle, thickness: 15 mm}]}
incident: {plane_wave: {angle: 0 deg}}
waveform: {type: pulse, center: 2 GHz, bandwidth: 3 GHz}
frequencies: [1 GHz, 2 GHz]
duration: {decay: 40 dB}
outputs: {snapshots: {every: 0.05 ns}, phasors: [Ez]}
"""
PAPER, DARK_PAPER = (255, 255, 255), (24, 26, 31)
HAS_FFMPEG = shutil.which("ffmpeg") and shutil.which("ffprobe")


def read_png(path):
    """(height, width, 3) of a PNG of 8-bit RGB, and its resolution [dots per inch]."""
    data, place, packed, density = path.read_bytes(), 8, b"", None
    while place < len(data):
        size, kind = struct.unpack(">I4s", data[place:place + 8])
        chunk = data[place + 8:place + 8 + size]
        if kind == b"IHDR":
            width, height = struct.unpack(">II", chunk[:8])
        elif kind == b"IDAT":
            packed += chunk
        elif kind == b"pHYs":
            density = struct.unpack(">I", chunk[:4])[0] * 0.0254
        place += size + 12
    rows = np.frombuffer(zlib.decompress(packed), np.uint8).reshape(height, 3 * width + 1)
    picture = np.zeros((height, width, 3), np.uint8)
    before = np.zeros((width, 3), int)
    for y, row in enumerate(rows):  # ISO/IEC 15948, clause 9: filters by row
        line = row[1:].reshape(width, 3).astype(int)
        if row[0] == 1:
            line = np.cumsum(line, axis=0)
        elif row[0] == 2:
            line = line + before
        elif row[0] in (3, 4):
            for x in range(width):
                left = line[x - 1] if x else np.zeros(3, int)
                corner = before[x - 1] if x else np.zeros(3, int)
                if row[0] == 3:
                    guess = (left + before[x]) // 2
                else:
                    p = left + before[x] - corner
                    near = np.abs(np.stack([p - left, p - before[x], p - corner])).argmin(0)
                    guess = np.choose(near, [left, before[x], corner])
                line[x] = (line[x] + guess) % 256
        before = line % 256
        picture[y] = before
    return picture, density


def probe(path):
    """What ffprobe says of a film: codec, width, height, frames, rate."""
    done = subprocess.run(
        ["ffprobe", "-v", "error", "-count_frames", "-select_streams", "v", "-show_entries",
         "stream=codec_name,width,height,nb_read_frames,r_frame_rate", "-of", "json", path],
        check=True, capture_output=True, text=True)
    return json.loads(done.stdout)["streams"][0]


def frames(path, width, height):
    """All pixels of a film, (frame, height, width, 3)."""
    done = subprocess.run(["ffmpeg", "-v", "error", "-i", path, "-f", "rawvideo", "-pix_fmt",
                           "rgb24", "-"], check=True, capture_output=True)
    return np.frombuffer(done.stdout, np.uint8).reshape(-1, height, width, 3)


class Render(cli.CliTest):
    @classmethod
    def setUpClass(cls):
        cls.root = pathlib.Path(cls.enterClassContext(tempfile.TemporaryDirectory()))
        for name, text in [("slice", TEXT), ("row", ROW)]:
            (cls.root / f"{name}.yaml").write_text(text, encoding="utf-8")
            done = cli.run("run", cls.root / f"{name}.yaml", "-o", cls.root / name, "--quiet",
                           "--threads", 1)
            assert done.returncode == 0, done.stderr

    def setUp(self):
        self.folder = pathlib.Path(self.enterContext(tempfile.TemporaryDirectory()))

    def render(self, *arguments, source="slice"):
        return self.succeeds("render", self.root / source, *arguments)

    def test_draws_all_that_the_result_holds(self):
        listed = self.render("-o", self.folder).split()
        names = sorted(path.name for path in self.folder.iterdir())
        self.assertEqual(sorted(pathlib.Path(path).name for path in listed), names)
        each = ["Ez", "Hx", "Hy", "sar", "surface_ring", "power_flow"]
        self.assertEqual(names, sorted(
            [f"{quantity}_{f}MHz.png" for quantity in each for f in (700, 915)] +
            ["tissue.png", "far_field.png", "surface_power.png"] +
            [f"snapshot_{n}.png" for n in (1, 2, 3)]))

    def test_is_what_run_drew(self):
        self.render("--quantity", DRAWN, "-o", self.folder)
        names = sorted(path.name for path in self.folder.iterdir())
        self.assertEqual(len(names), 3 + 3 * 2 + 1)
        for name in names:
            self.assertEqual((self.folder / name).read_bytes(),
                             (self.root / "slice" / name).read_bytes(), name)

    def test_theme_and_sizes(self):
        one = ["--quantity", "Ez", "--frequency", "915 MHz", "-o", self.folder / "a.png"]
        for arguments, width, paper, density in [
                ([], 1326, PAPER, None), (["--size", "slide"], 1920, PAPER, None),
                (["--size", "print", "--theme", "dark"], 2126, DARK_PAPER, 300),
                (["--width", "700", "--scale", "linear"], 700, PAPER, None)]:
            self.render(*one, *arguments)
            picture, dots = read_png(self.folder / "a.png")
            self.assertEqual(picture.shape[1], width)
            self.assertEqual(tuple(picture[1, 1]), paper)
            self.assertEqual(dots and round(dots), density)
        self.render(*one, "--size", "thumbnail")
        picture, _ = read_png(self.folder / "a.png")
        self.assertEqual(picture.shape, (296, 320, 3))  # 63 rows of 68 cells
        self.assertFalse((picture == 255).all(axis=2).all(axis=1).any())

    def test_known_cells_have_their_colours(self):
        """Tissue at its place, and the phase's colours once around the source."""
        self.render("--quantity", "tissue", "-o", self.folder / "t.png", "--size", "thumbnail")
        picture, _ = read_png(self.folder / "t.png")
        # Cell (i, j) of 68 x 63 is at ((i + 1/2)/68, 1 - (j + 1/2)/63); muscle is the second.
        def at(x, y):
            return tuple(picture[int((0.5 - y / 126) * 296), int((x / 136 + 0.5) * 320)])
        self.assertEqual(at(0, 20), (0xe6, 0xaa, 0x8c))
        self.assertEqual(at(-60, 55), (0xf4, 0xf6, 0xf8))
        self.assertEqual(at(-20, -20), at(0, 20))

    def test_svg_holds_texts_and_curves(self):
        for quantity, word in [("far_field", "90° front"), ("surface", "915 MHz")]:
            self.render("--quantity", quantity, "--format", "svg", "-o", self.folder)
        root = xml.parse(self.folder / "far_field.svg").getroot()
        space = "{http://www.w3.org/2000/svg}"
        texts = ["".join(text.itertext()) for text in root.iter(space + "text")]
        self.assertIn("90° front", texts)
        self.assertTrue(any("not a compliance or clinical result" in text for text in texts))
        curves = [path for path in root.iter(space + "path") if len(path.get("d")) > 3000]
        self.assertEqual(len(curves), 2)  # 360 directions at two frequencies
        self.assertEqual(xml.parse(self.folder / "surface_power.svg").getroot().get("width"),
                         "1400")

    def told_of(self, tool, *arguments):
        """What a program of poppler says, a foreign reader of PDF."""
        if not shutil.which(tool):
            self.skipTest(f"no {tool}")
        return subprocess.run([tool, *arguments], capture_output=True, text=True,
                              encoding="utf-8", check=True).stdout

    def test_pdf_holds_texts_its_font_and_its_size_on_paper(self):
        path = self.folder / "far_field.pdf"
        self.render("--quantity", "far_field", "-o", path, "--size", "print")
        text = self.told_of("pdftotext", path, "-")
        for words in ["90° front", "915 MHz", "not a compliance or clinical result"]:
            self.assertIn(words, text)
        about = self.told_of("pdfinfo", path)
        self.assertRegex(about, r"(?m)^Title: +Gain over the direction")
        self.assertRegex(about, r"(?m)^Pages: +1$")
        width = float(re.search(r"Page size: +([\d.]+)", about)[1])
        self.assertAlmostEqual(width, 180 / 25.4 * 72, delta=0.3)  # 180 mm to a pixel
        fonts = self.told_of("pdffonts", path).splitlines()[2:]
        self.assertGreater(len(fonts), 0)
        for font in fonts:
            self.assertRegex(font, r"^[A-Z]{6}\+DejaVuSans .*\byes +yes +yes ")  # a part, embedded

    def test_pdf_looks_like_the_png(self):
        pages = []
        for name in ["a.png", "a.pdf"]:
            self.render("--quantity", "surface", "-o", self.folder / name)
        self.told_of("pdftoppm", "-png", "-singlefile", "-r", "96", self.folder / "a.pdf",
                     self.folder / "b")
        for name in ["a.png", "b.png"]:
            picture, _ = read_png(self.folder / name)
            # Ink in squares of 4 pixels: edges are smoothed in another way.
            pages.append(255.0 - picture[:800, :1400].reshape(200, 4, 350, 4, 3).mean(axis=(1, 3)))
        both = [np.corrcoef(page.ravel(), pages[0].ravel())[0, 1]
                for page in (pages[1], np.roll(pages[1], 1, axis=1))]
        self.assertGreater(both[0], 0.97)
        self.assertLess(both[1], 0.7)  # what a shift by 4 pixels makes of it
        self.assertAlmostEqual(pages[1].sum() / pages[0].sum(), 1.0, delta=0.02)

    def test_lines_through_a_slice(self):
        self.render("--along", "x", "--at", "-5 mm", "-o", self.folder)
        self.assertEqual(sorted(path.name for path in self.folder.iterdir()), [
            f"{name}_along_x.png"
            for name in ["Ez", "Hx", "Hy", "sar", "snapshot", "spacetime", "tissue"]])
        self.assertIn("outside the slice", self.fails(
            2, "render", self.root / "slice", "--along", "y", "--at", "90 mm"))

    def test_layers(self):
        self.render("-o", self.folder, source="row")
        self.assertEqual(sorted(path.name for path in self.folder.iterdir()),
                         ["Ez.png", "snapshot.png", "spacetime.png", "tissue.png"])

    @unittest.skipUnless(HAS_FFMPEG, "needs ffmpeg")
    def test_film_of_snapshots(self):
        film = self.folder / "wave.mp4"
        said = self.render("--animation", film, "--length", "1.2 s", "--fps", "20", "--width",
                           "300", "--slow", "0ns", "1ns", "3")
        self.assertIn("24 frames of 300 x ", said)
        facts = probe(film)
        self.assertEqual((facts["codec_name"], facts["width"], facts["r_frame_rate"],
                          facts["nb_read_frames"]), ("h264", 300, "20/1", "24"))
        pixels = frames(film, 300, facts["height"]).astype(int)
        bar = pixels[:, 60:180, 265:268]  # the colour bar does not change
        self.assertLess(np.abs(bar - bar[0]).max(), 12)
        inside = pixels[:, 60:180, 60:230].std(axis=0).mean()
        self.assertGreater(inside, 3)  # the wave does
        self.assertEqual(os.listdir(self.folder), ["wave.mp4"])

    @unittest.skipUnless(HAS_FFMPEG, "needs ffmpeg")
    def test_steady_film_repeats_without_a_jump(self):
        film = self.folder / "loop.gif"
        self.render("--quantity", "Ez", "--frequency", "915MHz", "--animation", film,
                    "--length", "0.5 s", "--fps", "20", "--width", "240", "--theme", "dark")
        facts = probe(film)
        self.assertEqual((facts["codec_name"], facts["nb_read_frames"]), ("gif", "10"))
        pixels = frames(film, 240, facts["height"]).astype(int)
        steps = np.abs(pixels - np.roll(pixels, -1, axis=0)).mean(axis=(1, 2, 3))
        # The way from the last frame to the first is a step like the others.
        self.assertLess(steps[-1], 1.5 * steps[:-1].max())
        self.assertGreater(steps.min(), 0.1)

    @unittest.skipUnless(HAS_FFMPEG, "needs ffmpeg")
    def test_two_results_share_a_scale(self):
        film = self.folder / "pair.webp"
        said = self.render("--beside", self.root / "slice", "--animation", film, "--width",
                           "400", "--to", "1 ns", "--quantity", "snapshot", "--range", "50")
        self.assertIn("frames of 400 x ", said)
        self.assertIn("scale to 50 V/m", said)
        data = film.read_bytes()  # RIFF: chunks ANIM (loop count last) and ANMF, one a frame
        loops = data[data.index(b"ANIM") + 12:][:2]
        self.assertEqual(loops, b"\0\0")
        self.assertIn(f"{data.count(b'ANMF')} frames", said)

    @unittest.skipUnless(HAS_FFMPEG, "needs ffmpeg")
    def test_run_writes_the_animation_that_a_scenario_asks_for(self):
        text = TEXT.replace(IMAGES,
                            "\n  animation: {format: mp4, frames_per_second: 10}")
        scenario = self.folder / "s.yaml"
        scenario.write_text(text, encoding="utf-8")
        self.succeeds("run", scenario, "-o", self.folder / "out", "--quiet", "--threads", 1)
        film = self.folder / "out/animation.mp4"
        with h5py.File(self.folder / "out/result.h5") as file:
            levels = np.quantile(np.abs(file["snapshots/Ez"]), 0.98, axis=(1, 2))
        # It ends with the wave: where all but a fiftieth of the slice is 60 dB below the top
        # of the scale, which is a multiple of 5 dB.
        top = 10 ** (math.ceil(20 * math.log10(levels.max()) / 5) / 4)
        seen = int(np.flatnonzero(levels >= 1e-3 * top)[-1]) + 1
        self.assertLess(seen, len(levels))
        self.assertEqual(probe(film)["nb_read_frames"], str(seen))
        missing = cli.run("run", scenario, "-o", self.folder / "none", "--quiet",
                          env={**os.environ, "PATH": "/nowhere"})
        self.assertEqual(missing.returncode, 3)
        self.assertFalse((self.folder / "none").exists())

    def test_without_ffmpeg(self):
        message = self.fails(3, "render", self.root / "slice", "--animation",
                             self.folder / "a.mp4", env={**os.environ, "PATH": "/nowhere"})
        self.assertIn("install the package ffmpeg", message)
        self.assertEqual(os.listdir(self.folder), [])

    def test_wrong_input(self):
        for arguments, words in [
                (["--quantity", "tisue"], "did you mean \"tissue\"?"),
                (["--quantity", "Hz"], "add \"phasors: [Hz]\""),
                (["--frequency", "1 GHz"], "700 MHz, 915 MHz"),
                (["--frequency", "1"], "units accepted"),
                (["--time", "1 s"], "stored moments"),
                (["--at", "1 mm"], "--along"),
                (["--theme", "grey"], "light"),
                (["--animation", "a.avi"], ".mp4, .webp or .gif"),
                (["-o", self.folder / "a.png"], "one file for"),
                (["--quantity", "tissue", "-o", self.folder / "a.svg"], "name it .png"),
                (["--quantity", "tissue", "-o", self.folder / "a.pdf"], "name it .png")]:
            message = self.fails(2, "render", self.root / "slice", *arguments)
            self.assertIn(words, message)
        self.assertIn("no such file", self.fails(2, "render", self.folder / "nowhere.h5"))
        (self.folder / "result.h5").write_text("no HDF5")
        self.assertIn("no HDF5 file", self.fails(2, "render", self.folder))
        self.assertEqual(os.listdir(self.folder), ["result.h5"])


if __name__ == "__main__":
    unittest.main()
