"""`torsowave run --checkpoint` and `--resume` from outside: signals, crashes, full disks."""

import contextlib
import json
import os
import random
import re
import resource
import signal
import subprocess
import sys
import time
import unittest

import cli
import slices

try:
    import h5py
    import numpy
except ImportError:
    sys.exit(77)

RESULT = ["result.h5", "result.xdmf", "scenario.yaml", "summary.json"]
STATE = "checkpoint.state"
# What tells about the machine and the day.
TIMELY = {"created", "wall_s", "wall_seconds", "threads", "cell_updates_per_s",
          "cell_updates_per_second", "peak_memory_bytes"}


def arrays(path):
    """All data sets and attributes of a file, as bytes with type and shape."""
    found = {}

    def add(name, item):
        if isinstance(item, h5py.Dataset) and name.split("/")[-1] not in TIMELY:
            found[name] = (item.dtype, item.shape, item[()].tobytes()
                           if item.dtype.kind != "O" else str(item[()]))
    with h5py.File(path) as file:
        file.visititems(add)
    return found


def timeless(folder):
    summary = json.loads((folder / "summary.json").read_text(encoding="utf-8"))
    for key in TIMELY:
        summary["run"].pop(key, None)
        summary.pop(key, None)
    return summary


def file_size_limit(size):
    """To be called in the new process: no file may grow beyond `size` bytes."""
    return lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))


class CheckpointTest(slices.SliceTest):
    LONG = {"duration": "800 ns", "frequencies": "[915 MHz]", "outputs": """
  snapshots: {field: Ez, every: 9 ns, stride: 2}
  phasors: [Ez]
  probes: [{name: front, position: [0 mm, 45 mm]}]"""}

    def setUp(self):
        super().setUp()
        self.out = self.folder / "out"

    def start(self, *arguments, **options):
        process = subprocess.Popen(
            [cli.PROGRAM, "run", self.folder / "case.yaml", "-o", self.out, *map(str, arguments)],
            stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
            **options)
        self.addCleanup(process.communicate)
        self.addCleanup(process.kill)
        return process

    def started(self, *arguments, **options):
        """A run that has kept a checkpoint."""
        process = self.start("--checkpoint", "1ms", "--threads", 1, *arguments, **options)
        for line in process.stderr:
            if line.startswith("checkpoint of step "):
                return process
        return self.fail("the run ended without a checkpoint")

    def stopped(self, *arguments):
        """The checkpoint that a signal left, as bytes."""
        process = self.started(*arguments)
        process.send_signal(signal.SIGTERM)
        _, stderr = process.communicate(timeout=60)
        self.assertEqual(process.returncode, 4, stderr)
        self.assertRegex(stderr, r"error: stopped by a signal; the state of step \d+ is kept in "
                                 r".*checkpoint.state, and the same command with --resume")
        self.assertEqual(sorted(os.listdir(self.out)), ["checkpoint.frames", STATE])
        return (self.out / STATE).read_bytes()

    def resume(self, *arguments):
        done = cli.run("run", self.folder / "case.yaml", "-o", self.out, "--resume", *arguments)
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertEqual(sorted(os.listdir(self.out)), RESULT)
        return done

    def expect_same(self, alone):
        self.assertEqual(timeless(alone), timeless(self.out))
        expected, found = arrays(alone / "result.h5"), arrays(self.out / "result.h5")
        self.assertIn("snapshots/Ez", expected)
        self.assertEqual(sorted(expected), sorted(found))
        for name, value in expected.items():
            self.assertEqual(value, found[name], name)


class Pieces(CheckpointTest):
    def in_pieces(self, which, stops, *arguments):
        """The exit codes of a run that is stopped that often at random moments."""
        chance = random.Random(6)
        codes = []
        while len(codes) < stops:
            process = self.start("--resume", *arguments, "--threads", 1,
                                 "--steps-per-pass", chance.choice((1, 7, 16)))
            self.wait_for(process)
            time.sleep(chance.uniform(0.0, 0.12))
            process.send_signal(which)
            process.communicate(timeout=60)
            codes.append(process.returncode)
            if process.returncode == 0:  # a quick machine
                break
        return codes

    def wait_for(self, process):
        """Until it has planned the run and taken the folder: from then on signals are its own."""
        lock = self.out / "checkpoint.lock"
        while process.poll() is None:
            with contextlib.suppress(FileNotFoundError):
                if lock.read_text(encoding="ascii").split() == [str(process.pid)]:
                    break
            time.sleep(0.005)

    def finish(self, codes, *arguments):
        if codes[-1] != 0:
            self.resume("--threads", 1, *arguments)
        self.assertEqual(sorted(os.listdir(self.out)), RESULT)

    def test_ten_signals_leave_the_bits_as_they_are(self):
        alone = self.run_slice(slices.scenario(**self.LONG), name="alone")
        self.write(slices.scenario(**self.LONG), "case.yaml")
        codes = self.in_pieces(signal.SIGTERM, 10, "--checkpoint", "1h")
        self.assertEqual(set(codes) - {0}, {4})
        self.finish(codes)
        self.expect_same(alone)

    def test_so_do_crashes_and_what_they_leave_is_cleared_away(self):
        alone = self.run_slice(slices.scenario(**self.LONG), name="alone")
        self.write(slices.scenario(**self.LONG), "case.yaml")
        codes = self.in_pieces(signal.SIGKILL, 4, "--checkpoint", "30ms")
        self.assertIn(-signal.SIGKILL, codes)
        self.finish(codes, "--quiet")
        self.expect_same(alone)


class Keeping(CheckpointTest):
    def setUp(self):
        super().setUp()
        self.case = slices.scenario(duration="1 ms")
        self.write(self.case, "case.yaml")

    def test_a_checkpoint_is_not_forgotten_unasked(self):
        kept = self.stopped()
        path = self.folder / "case.yaml"
        for arguments in ([], ["--checkpoint", "10min"]):
            message = self.fails(2, "run", path, "-o", self.out, *arguments)
            self.assertIn("holds the checkpoint of an unfinished run; --resume", message)
        self.assertEqual((self.out / STATE).read_bytes(), kept)

    def test_the_interval_is_kept_and_the_time_goes_on(self):
        self.stopped()
        process = self.start("--resume")
        self.assertRegex(process.stderr.readline(), "^going on from the checkpoint of step ")
        self.assertRegex(process.stderr.readline(),  # or progress
                         r"^checkpoint of step \d+: [\d.]+ MiB in [\d.]+ s\n$")
        process.send_signal(signal.SIGINT)
        self.assertEqual(process.communicate(timeout=60) and process.returncode, 4)

    def test_only_one_run_at_a_time(self):
        process = self.started()
        with_resume = self.fails(2, "run", self.folder / "case.yaml", "-o", self.out, "--resume")
        self.assertIn(f"process {process.pid} is running there with checkpoints", with_resume)
        self.fails(2, "run", self.folder / "case.yaml", "-o", self.out, "--force")
        self.assertIsNone(process.poll())
        process.send_signal(signal.SIGTERM)
        process.communicate(timeout=60)
        self.assertEqual(process.returncode, 4)

    def test_a_damaged_or_foreign_one_is_refused_and_stays(self):
        kept = self.stopped()
        middle = len(kept) // 2
        damaged = kept[:middle] + bytes([kept[middle] ^ 1]) + kept[middle + 1:]
        for content, problem in [(damaged, "is damaged"), (kept[:-9], "is truncated"),
                                 (b"", "is truncated"), (b"x" * 1000, "is no checkpoint")]:
            (self.out / STATE).write_bytes(content)
            with slices.unchanged(self, self.folder):
                message = self.fails(2, "run", self.folder / "case.yaml", "-o", self.out,
                                     "--resume", "--quiet")
            self.assertRegex(message, rf"{STATE}: {problem}; --force without --resume starts")
        (self.out / STATE).write_bytes(kept)
        self.write(self.case + "# changed\n", "case.yaml")
        message = self.fails(2, "run", self.folder / "case.yaml", "-o", self.out, "--resume",
                             "--quiet")
        self.assertIn("belongs to another scenario", message)

    def test_intervals_that_make_no_sense(self):
        for text, problem in [("10", "has no unit"), ("0 s", "must be longer than 0 s"),
                              ("-1 min", "must be longer than 0 s"), ("5 ns", "is not a unit")]:
            message = self.fails(2, "run", self.folder / "case.yaml", f"--checkpoint={text}")
            self.assertIn("--checkpoint: ", message)
            self.assertIn(problem, message)
        self.holds("case.yaml")


class FullDisk(CheckpointTest):
    """A limit on the size of files stands in for a full disk."""

    def test_the_run_goes_on_and_says_so(self):
        text = slices.scenario(outputs="{sectors: 36}")
        self.write(text, "case.yaml")
        done = cli.run("run", self.folder / "case.yaml", "-o", self.out, "--quiet", "--threads", 1,
                       "--checkpoint", "1ms", preexec_fn=file_size_limit(200_000))
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertEqual(sorted(os.listdir(self.out)),
                         [name for name in RESULT if name != "result.xdmf"])
        for line in done.stderr.splitlines():
            self.assertRegex(line, r"^warning: cannot write .*checkpoint.state: File too large; the "
                                   r"run goes on, and there is no checkpoint yet$")

    def test_a_signal_then_keeps_the_checkpoint_before(self):
        text = slices.scenario(duration="1 ms", outputs="{sectors: 36}")
        self.write(text, "case.yaml")
        process = self.started()
        process.send_signal(signal.SIGTERM)
        process.communicate(timeout=60)
        kept = (self.out / STATE).read_bytes()
        self.assertGreater(len(kept), 200_000)
        process = self.start("--resume", "--checkpoint", "1h", "--threads", 1,
                             preexec_fn=file_size_limit(200_000))
        self.assertRegex(process.stderr.readline(), "^going on from the checkpoint of step ")
        process.send_signal(signal.SIGTERM)
        _, stderr = process.communicate(timeout=60)
        self.assertEqual(process.returncode, 3, stderr)
        self.assertIn("cannot write", stderr)
        self.assertIn("the last checkpoint is kept, and --resume goes on from it", stderr)
        self.assertEqual(os.listdir(self.out), [STATE])
        self.assertEqual((self.out / STATE).read_bytes(), kept)


if __name__ == "__main__":
    unittest.main()
