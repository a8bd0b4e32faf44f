"""torsowave sweep: cases, store, table, kills, two at once, parts, statistics.

TORSOWAVE_SWEEP_CASES and TORSOWAVE_SWEEP_KILLS set the size of the kill test.
"""

import csv
import json
import math
import os
import pathlib
import random
import re
import signal
import subprocess
import tempfile
import time
import unittest

import cli
import slices

# Small and quick: a run takes a few hundredths of a second.
BASE = {
    "grid": "{cell: 4 mm, size: [152 mm, 144 mm], absorbing_cells: 4, allow_coarse: true}",
    "duration": "6 ns",
    "frequencies": "[700 MHz, 915 MHz]",
    "materials": "{fit: {poles: 1, max_error: 5 %}}",
    "outputs": "{sectors: 8}",
}


class SweepTest(slices.SliceTest):
    """A base scenario and sweeps of it."""

    def setUp(self):
        super().setUp()
        self.write(slices.scenario(**BASE), "base.yaml")
        self.out = self.folder / "out"

    def sweep_file(self, vary, combine="grid", name="sweep.yaml"):
        return self.write(f"base: base.yaml\nvary:\n{vary}\ncombine: {combine}\n", name)

    def start(self, *arguments):
        """The program in a process group of its own."""
        return subprocess.Popen([cli.PROGRAM, "sweep", *map(str, arguments)],
                                stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
                                stderr=subprocess.PIPE, start_new_session=True)

    def rows(self, folder=None):
        with open((folder or self.out) / "table.csv", newline="", encoding="utf-8") as file:
            return list(csv.DictReader(file))

    def finished(self):
        """Every finished case: name to the bytes of its summary."""
        return {path.parent.name: path.read_bytes()
                for path in self.out.glob("cases/*/summary.json")}


FOUR = "  implant.position[0]: [0 mm, 12 mm]\n  implant.position[1]: [-8 mm, 8 mm]"


class TableTest(SweepTest):
    def test_table_holds_what_runs_of_the_same_scenarios_say(self):
        sweep = self.sweep_file(FOUR)
        text = self.succeeds_with_progress("sweep", sweep, "-o", self.out)
        self.assertIn("4 cases: 4 done, 0 failed, 0 missing", text)
        self.assertIn("not a compliance or clinical result", text)
        rows = self.rows()
        self.assertEqual(len(rows), 8)  # two frequencies
        self.assertEqual([row["case"] for row in rows], list("11223344"))
        for row in rows:
            case = self.out / "cases" / row["id"]
            summary = json.loads((case / "summary.json").read_text())
            at = next(f for f in summary["frequencies"]
                      if f["frequency_hz"] == float(row["frequency_hz [Hz]"]))
            self.assertEqual(float(row["source_power_w_per_m [W/m]"]),
                             at["source_power_w_per_m"])
            self.assertEqual(float(row["absorbed_power_w_per_m.by_tissue.muscle [W/m]"]),
                             at["absorbed_power_w_per_m"]["by_tissue"]["muscle"])
            loss = 10 * math.log10(at["source_power_w_per_m"] / at["radiated_power_w_per_m"])
            self.assertAlmostEqual(float(row["loss_db [dB]"]), loss, places=9)
            self.assertEqual(float(row["far_field.peak_gain_db [dB]"]),
                             max(at["far_field"]["gain_db"]))
        # The same scenario by itself: case 4, x = 12 mm, y = 8 mm.
        alone = self.run_slice(slices.scenario(
            **{**BASE, "implant": "{position: [12 mm, 8 mm], source: line_current}"}))
        summary = json.loads((alone / "summary.json").read_text())
        self.assertEqual(float(rows[6]["source_power_w_per_m [W/m]"]),
                         summary["frequencies"][0]["source_power_w_per_m"])
        self.assertEqual(sorted(p.name for p in self.out.glob("effect*")),
                         ["effect-implant.position-0.png", "effect-implant.position-1.png"])
        self.check_hdf5(rows)
        # Again: nothing is run, nothing changes.
        with slices.unchanged(self, self.out / "cases"):
            before = (self.out / "table.csv").read_bytes(), (self.out / "table.h5").read_bytes()
            self.succeeds("sweep", sweep, "-o", self.out, "--quiet")
            after = (self.out / "table.csv").read_bytes(), (self.out / "table.h5").read_bytes()
            self.assertEqual(before, after)
        # Another base: no stale case is taken.
        self.write(slices.scenario(**{**BASE, "duration": "7 ns"}), "base.yaml")
        dry = json.loads(self.succeeds("sweep", sweep, "-o", self.out, "--dry-run", "--json"))
        self.assertEqual((dry["different"], dry["finished"], dry["to_run"]), (4, 0, 4))

    def succeeds_with_progress(self, *arguments):
        done = cli.run(*arguments)
        self.assertEqual(done.returncode, 0, done.stderr)
        for line in done.stderr.splitlines():
            self.assertRegex(line, r"^\d+ of \d+ cases done, ")
        return done.stdout

    def check_hdf5(self, rows):
        try:
            import h5py
        except ImportError:
            return
        with h5py.File(self.out / "table.h5") as file:
            self.assertEqual(file["implant.position[1]"].attrs["units"], "mm")
            self.assertEqual(list(file["implant.position[1]"][:2]), [-8, -8])
            self.assertEqual(file["status"][0], b"done")
            self.assertEqual(list(file["loss_db"][:]),
                             [float(row["loss_db [dB]"]) for row in rows])
            self.assertIn("not a compliance", file.attrs["caution"])

    def test_random_sweep_tells_percentiles_and_chances(self):
        sweep = self.sweep_file(
            "  materials.scale.muscle.permittivity: {normal: [1, 0.05], within: [0.8, 1.2]}\n"
            "  materials.scale.muscle.conductivity: {uniform: [0.9, 1.1]}",
            "{random: {count: 6, seed: 3, sampling: latin_hypercube}}")
        done = cli.run("sweep", sweep, "-o", self.out, "--chance", "loss_db > 12.43")
        self.assertEqual(done.returncode, 0, done.stderr)
        rows = [r for r in self.rows() if r["frequency_hz [Hz]"] == "915000000"]
        losses = sorted(float(r["loss_db [dB]"]) for r in rows)
        self.assertEqual(len(losses), 6)
        line = next(l for l in done.stdout.splitlines() if l.startswith("loss_db") and "915" in l)
        cells = line.split()
        self.assertAlmostEqual(float(cells[7]), (losses[2] + losses[3]) / 2, delta=6e-4)
        hits = sum(loss > 12.43 for loss in losses)
        self.assertRegex(done.stdout, rf"chance that loss_db > 12.43 dB at 915 MHz: "
                                      rf"{100 * hits / 6:.1f} % \({hits} of 6; 95 % interval")
        # More loss where muscle conducts better, whatever the permittivity.
        by_sigma = sorted(rows, key=lambda r: float(r["materials.scale.muscle.conductivity"]))
        self.assertLess(float(by_sigma[0]["loss_db [dB]"]), float(by_sigma[-1]["loss_db [dB]"]))
        message = self.fails(2, "sweep", sweep, "-o", self.out, "--collect", "--chance",
                             "los_db > 1")
        self.assertIn('did you mean "loss_db"?', message)


class InterruptionTest(SweepTest):
    """Whatever happens on the way, the table is that of an undisturbed sweep."""

    CASES = int(os.environ.get("TORSOWAVE_SWEEP_CASES", "7"))
    KILLS = int(os.environ.get("TORSOWAVE_SWEEP_KILLS", "3"))

    @classmethod
    def setUpClass(cls):
        """The undisturbed sweep, once for all tests."""
        folder = pathlib.Path(cls.enterClassContext(tempfile.TemporaryDirectory()))
        (folder / "base.yaml").write_text(slices.scenario(**BASE), encoding="utf-8")
        (folder / "sweep.yaml").write_text(cls.sweep_text(), encoding="utf-8")
        begin = time.monotonic()
        done = cli.run("sweep", folder / "sweep.yaml", "-o", folder / "out", "--quiet")
        cls.undisturbed = time.monotonic() - begin
        assert (done.returncode, done.stdout, done.stderr) == (0, "", ""), done
        cls.reference = cls.tables_in(folder / "out")

    @classmethod
    def sweep_text(cls):
        return ("base: base.yaml\nvary:\n  implant.position[0]: "
                f"{{from: -20 mm, to: 20 mm, count: {cls.CASES}}}\n")

    def setUp(self):
        super().setUp()
        self.sweep = self.write(self.sweep_text(), "sweep.yaml")

    @staticmethod
    def tables_in(folder):
        return (folder / "table.csv").read_bytes(), (folder / "table.h5").read_bytes()

    def ends_like_the_undisturbed(self):
        self.assertEqual(self.tables_in(self.out), self.reference)
        self.assertEqual(os.listdir(self.out / "work"), [])
        self.assertEqual(list(self.out.rglob("*.part")), [])

    def test_killed_at_random_moments_it_ends_with_the_same_table(self):
        dice = random.Random(20260301)
        done = {}
        for _ in range(self.KILLS):
            process = self.start(self.sweep, "-o", self.out, "--quiet")
            try:
                process.wait(dice.uniform(0.1, 1.5) * self.undisturbed / self.KILLS)
            except subprocess.TimeoutExpired:
                pass
            os.killpg(process.pid, signal.SIGKILL)
            process.communicate()
            now = self.finished()
            # What was finished stays as it is: no case is run to its end twice.
            self.assertEqual(done, {name: now.get(name) for name in done})
            done = now
        self.succeeds("sweep", self.sweep, "-o", self.out, "--quiet")
        now = self.finished()
        self.assertEqual(done, {name: now.get(name) for name in done})
        self.ends_like_the_undisturbed()

    def test_orphans_of_a_killed_sweep_are_waited_for_and_taken_in(self):
        process = self.start(self.sweep, "-o", self.out, "--quiet", "--jobs", 2)
        while not list(self.out.glob("work/*/log.txt")) and process.poll() is None:
            time.sleep(0.001)
        process.kill()  # the sweep alone, not its cases
        process.communicate()
        self.succeeds("sweep", self.sweep, "-o", self.out, "--quiet")
        self.ends_like_the_undisturbed()

    def test_signal_stops_it_and_the_same_command_goes_on(self):
        process = self.start(self.sweep, "-o", self.out, "--jobs", 1, "--threads", 1)
        while not self.finished():
            time.sleep(0.005)
        process.send_signal(signal.SIGTERM)
        message = process.communicate()[1].decode()
        self.assertEqual(process.returncode, 4, message)
        self.assertRegex(message, r"stopped by a signal: [1-9]\d* of \d+ cases are done; the "
                                  r"same command goes on")
        self.assertEqual(list(self.out.glob("failed/*")), [])
        done = self.finished()
        self.assertLess(len(done), self.CASES)
        self.succeeds("sweep", self.sweep, "-o", self.out, "--quiet")
        now = self.finished()
        self.assertEqual(done, {name: now.get(name) for name in done})
        self.ends_like_the_undisturbed()

    def test_stopped_case_goes_on_from_its_checkpoint(self):
        # A second's work: long enough to be stopped in the middle.
        self.write(slices.scenario(**{**BASE, "grid": "{cell: 1 mm, size: [152 mm, 144 mm], "
                                                      "absorbing_cells: 8}"}), "base.yaml")
        sweep = self.sweep_file("  implant.position[0]: [0 mm]")
        alone = self.folder / "alone"
        self.succeeds("sweep", sweep, "-o", alone, "--quiet")
        process = self.start(sweep, "-o", self.out, "--quiet", "--checkpoint", "20ms")
        while not list(self.out.glob("work/*/result/checkpoint.state")):
            self.assertIsNone(process.poll(), "ended without a checkpoint")
            time.sleep(0.002)
        process.send_signal(signal.SIGTERM)
        message = process.communicate()[1].decode()
        self.assertEqual(process.returncode, 4, message)
        self.assertEqual(self.finished(), {})
        self.succeeds("sweep", sweep, "-o", self.out, "--quiet")
        log = next(self.out.glob("cases/*/log.txt")).read_text()
        self.assertEqual(self.tables_in(self.out), self.tables_in(alone), log)
        self.assertEqual(os.listdir(self.out / "work"), [])
        self.assertEqual(list(self.out.glob("cases/*/checkpoint*")), [])

    def test_two_at_once_share_the_cases(self):
        both = [self.start(self.sweep, "-o", self.out, "--quiet", "--jobs", 1, "--threads", 1)
                for _ in range(2)]
        seen = {}
        while any(process.poll() is None for process in both):
            now = self.finished()
            self.assertEqual(seen, {name: now.get(name) for name in seen})
            seen = now
            time.sleep(0.02)
        for process in both:
            message = process.communicate()[1]
            self.assertEqual((process.returncode, message), (0, b""))
        self.ends_like_the_undisturbed()

    def test_parts_and_collect_make_the_same_table(self):
        first = self.succeeds("sweep", self.sweep, "-o", self.out, "--quiet", "--shard", "1/2")
        self.assertEqual(first, "")
        part = (self.CASES + 1) // 2
        self.assertEqual(len(self.finished()), part)
        done = cli.run("sweep", self.sweep, "-o", self.out, "--collect", "--quiet")
        self.assertEqual(done.returncode, 1)
        self.assertIn(f"{self.CASES - part} of {self.CASES} cases are missing", done.stderr)
        array = {**os.environ, "SLURM_ARRAY_TASK_ID": "9", "SLURM_ARRAY_TASK_COUNT": "2",
                 "SLURM_ARRAY_TASK_MIN": "8", "SLURM_ARRAY_TASK_STEP": "1"}
        self.succeeds("sweep", self.sweep, "-o", self.out, "--quiet", env=array)
        self.ends_like_the_undisturbed()
        # Then one of them is damaged.
        case = sorted(self.out.glob("cases/*"))[0]
        (case / "summary.json").write_text('{"tool": ')
        done = cli.run("sweep", self.sweep, "-o", self.out, "--quiet")
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertIn(f"{case} is no summary of a run", done.stderr)
        self.assertEqual((self.out / "damaged" / case.name / "summary.json").read_text(),
                         '{"tool": ')
        self.ends_like_the_undisturbed()


class FaultTest(SweepTest):
    def test_failing_case_is_recorded_and_the_rest_goes_on(self):
        self.write(slices.scenario(**{**BASE, "grid": "{cell: 2 mm, size: [136 mm, 128 mm], "
                                                      "absorbing_cells: 8}"}), "base.yaml")
        sweep = self.sweep_file("  grid.cell: [4 mm, 20 mm]")
        done = cli.run("sweep", sweep, "-o", self.out)
        self.assertEqual(done.returncode, 1)
        self.assertIn("case 2 failed (grid.cell = 20 mm): ", done.stderr)
        self.assertIn("2 cases: 1 done, 1 failed, 0 missing", done.stdout)
        bad = self.rows()[-1]
        self.assertEqual((bad["case"], bad["status"], bad["loss_db [dB]"]), ("2", "failed", ""))
        self.assertRegex(bad["error"], r"^scenario.yaml:\d+:\d+: grid.cell: 20 mm is .* too "
                                       r"coarse")
        # Its own fault: not tried again unless asked for.
        record = next(self.out.glob("failed/*/failure.txt"))
        before = record.stat().st_mtime_ns
        self.assertEqual(cli.run("sweep", sweep, "-o", self.out, "--quiet").returncode, 1)
        self.assertEqual(record.stat().st_mtime_ns, before)
        for options, left in (([], 0), (["--retry"], 1)):
            priced = cli.run("sweep", sweep, "-o", self.out, "--dry-run", "--json", *options)
            self.assertEqual(json.loads(priced.stdout)["to_run"], left)
        self.assertEqual(
            cli.run("sweep", sweep, "-o", self.out, "--quiet", "--retry").returncode, 1)
        self.assertNotEqual(record.stat().st_mtime_ns, before)

    def test_wrong_input_is_told_with_its_place_and_leaves_nothing(self):
        sweep = self.sweep_file("  implant.position[1]: [0 mm, 300 mm]")
        message = self.fails(2, "sweep", sweep, "-o", self.out)
        self.assertIn(f"{sweep}:3:24: vary.implant.position[1]: ", message)
        self.assertFalse(self.out.exists())
        self.assertIn("no such file",
                      self.fails(2, "sweep", self.folder / "none.yaml", "-o", self.out))
        (self.folder / "base.yaml").unlink()
        self.assertIn("base.yaml: no such file", self.fails(2, "sweep", sweep, "-o", self.out))
        self.assertIn("holds no sweep", self.fails(
            2, "sweep", self.good(), "-o", self.out, "--collect"))
        self.assertIn("I from 1 to N", self.fails(
            2, "sweep", self.good(), "-o", self.out, "--shard", "3/2"))
        self.assertIn("is no comparison", self.fails(
            2, "sweep", self.good(), "-o", self.out, "--chance", "loss_db"))
        self.assertFalse(self.out.exists())

    def test_full_disk_is_told_and_the_same_command_goes_on_after_it(self):
        mount = self.folder / "small"
        mount.mkdir()
        made = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=300k", "tmpfs", mount],
                              capture_output=True, check=False)
        if made.returncode != 0:
            self.skipTest("may not mount a small file system")
        self.addCleanup(subprocess.run, ["umount", "-l", mount], check=True)
        sweep = self.good()
        message = self.fails(3, "sweep", sweep, "-o", mount / "out", "--quiet")
        self.assertRegex(message, r"(disk is full|No space left on device)")
        kept = {path: path.read_bytes() for path in mount.glob("out/cases/*/summary.json")}
        subprocess.run(["mount", "-o", "remount,size=20m", mount], check=True)
        self.succeeds("sweep", sweep, "-o", mount / "out", "--quiet")
        self.assertEqual(kept, {path: path.read_bytes() for path in kept})
        self.assertEqual(len(self.rows(mount / "out")), 8)

    def good(self):
        self.write(slices.scenario(**BASE), "base.yaml")
        return self.sweep_file(FOUR)

    def test_folder_that_cannot_be_written_is_told(self):
        self.out.write_text("a file")
        message = self.fails(3, "sweep", self.good(), "-o", self.out)
        self.assertIn(f"cannot write {self.out}", message)

    def test_dry_run_prices_and_writes_nothing(self):
        text = self.succeeds("sweep", self.good(), "-o", self.out, "--dry-run")
        self.assertRegex(text, r"cases +4, 4 different: 0 done, 0 failed, 4 to run")
        self.assertRegex(text, r"memory +at most [\d.]+ MiB a case")
        self.assertRegex(text, r"time +about \d+:\d\d")
        self.assertFalse(self.out.exists())

    def test_slurm_scripts_are_sound_for_a_shell_and_ask_for_what_is_needed(self):
        out = self.folder / "it's a night"
        self.succeeds("sweep", self.good(), "-o", out, "--slurm", 3, "--jobs", 2)
        for name in "array.sbatch", "collect.sbatch", "submit.sh":
            subprocess.run(["bash", "-n", out / name], check=True)
        script = (out / "array.sbatch").read_text()
        for line in ("--array=1-3", "--cpus-per-task=2", "--requeue", "--signal=B:TERM@120"):
            self.assertIn(f"#SBATCH {line}\n", script)
        self.assertRegex(script, r"#SBATCH --mem=\d+M\n#SBATCH --time=0:\d\d:00\n")
        self.assertIn("scontrol requeue", script)


if __name__ == "__main__":
    unittest.main()
