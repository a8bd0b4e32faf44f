"""What the program does on several threads, under the thread sanitizer (preset tsan).

Background writing of snapshots, result file and pictures at the same time, pictures and frames of
films drawn side by side, checkpoints between passes, sweeps of cases that have several threads.
The sanitizer ends a program that had a race with exit code 66 and a report on standard error.
"""

import os
import pathlib
import shutil
import signal
import subprocess
import unittest

import cli
import slices

THREADS = 3  # more than the machine may have: they meet at other moments then
HAS_FFMPEG = shutil.which("ffmpeg") is not None
IMAGES = "sar, snapshot, surface, surface_ring, far_field, power_flow"
OUTPUTS = f"""
  snapshots: {{field: Ez, every: 0.2 ns, stride: 1}}
  phasors: [Ez]
  sectors: 36
  images: {{quantity: [{IMAGES}]}}"""


class ThreadSanitizer(slices.SliceTest):
    def setUp(self):
        super().setUp()
        os.environ["OMP_NUM_THREADS"] = str(THREADS)

    def clean(self, *arguments):
        """Ends well, and no thread met another."""
        done = cli.run(*arguments)
        self.assertNotIn("ThreadSanitizer", done.stderr)
        self.assertEqual(done.returncode, 0, done.stderr)
        return done

    def run_once(self, name="out", **changes):
        scenario = self.write(slices.scenario(**{"outputs": OUTPUTS, **changes}), f"{name}.yaml")
        self.clean("run", scenario, "-o", self.folder / name, "--threads", THREADS)
        return self.folder / name

    def test_run_and_render(self):
        result = self.run_once()
        for form in "svg", "pdf", "png":
            self.clean("render", result, "--format", form, "--theme", "dark",
                       "-o", self.folder / form)
            self.clean("render", result, "--along", "x", "--format", form,
                       "-o", self.folder / f"{form}-along")
        self.clean("report", result, "-o", self.folder / "page.html")

    @unittest.skipUnless(HAS_FFMPEG, "no ffmpeg")
    def test_films(self):
        result = self.run_once(outputs=OUTPUTS + "\n  animation: {format: mp4}")
        for more in ([], ["--along", "x"], ["--quantity", "Ez", "--frequency", "915MHz"],
                     ["--beside", result]):
            self.clean("render", result, "--animation", self.folder / "film.webp",
                       "--width", 400, *more)
            (self.folder / "film.webp").unlink()

    def test_other_modes_and_numbers(self):
        self.run_once("tez", mode="TEz", outputs=OUTPUTS.replace("Ez", "Hz"),
                      implant="{position: [10 mm, -5 mm], source: dipole, direction: 30 deg}")
        self.run_once("double", grid=slices.SECTIONS["grid"].replace("}", ", precision: double}"))

    def test_a_checkpoint_goes_on(self):
        scenario = self.write(slices.scenario(outputs=OUTPUTS, duration="200 ns"))
        command = ["run", scenario, "-o", self.folder / "out", "--threads", str(THREADS)]
        process = subprocess.Popen([cli.PROGRAM, *map(str, command), "--checkpoint", "1ms"],
                                   stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
                                   stderr=subprocess.PIPE, text=True)
        self.addCleanup(process.kill)
        for line in process.stderr:
            if line.startswith("checkpoint of step "):
                break
        process.send_signal(signal.SIGTERM)
        _, told = process.communicate(timeout=120)
        self.assertNotIn("ThreadSanitizer", told)
        self.assertEqual(process.returncode, 4, told)
        self.clean(*command, "--resume")

    def test_sweep(self):
        self.write(slices.scenario(outputs=OUTPUTS, frequencies="[915 MHz]"), "base.yaml")
        sweep = self.write("base: base.yaml\ncombine: grid\nvary:\n"
                           "  implant.position[0]: [0 mm, 12 mm]\n"
                           "  implant.position[1]: [-8 mm, 8 mm]\n", "sweep.yaml")
        out = self.folder / "out"
        done = self.clean("sweep", sweep, "-o", out, "--jobs", 2, "--threads", 2,
                          "--checkpoint", "10ms")
        self.assertIn("4 cases: 4 done, 0 failed, 0 missing", done.stdout)
        logs = [path.read_text(encoding="utf-8") for path in pathlib.Path(out).rglob("log.txt")]
        self.assertEqual(len(logs), 4)
        for log in logs:
            self.assertNotIn("ThreadSanitizer", log)


if __name__ == "__main__":
    unittest.main()
