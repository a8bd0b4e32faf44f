"""Every file operation of a command fails once: what it leaves is whole or absent.

usage: faults_test.py INJECTOR [--distinct | --every]

Runs `run`, `run --checkpoint`, `run --force`, `sweep`, `render` and `link` of a small slice with
the injector preloaded (inject.c), once for each file operation and each kind of fault: a full
disk, an error of the disk, a write cut short, a kill. By default a sample of the
operations; --distinct takes each but those in the middle of a row of equal ones (the hundreds of
writes to one file), of which it takes every 20th; --every takes all. After each fault:
- the exit code is 3 and the message names a file of the folder, or the command got by without
  the operation and its result is whole (0); a run ends by SIGKILL if it was killed;
- a summary is there only with the result.h5 and the scenario that it belongs to, and no file under
  a final name is cut short;
- what was there before is whole, unless the command was to replace it;
- the same command, undisturbed, then succeeds.
"""

import concurrent.futures
import dataclasses
import hashlib
import json
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile
import time

try:
    import h5py
except ImportError:
    sys.exit(77)

PROGRAM = os.environ.get("TORSOWAVE_PROGRAM", "torsowave")
KINDS = ["ENOSPC", "EIO", "short", "kill"]
SAMPLE = 3  # operations of each command in the ordinary tests

SCENARIO = """title: Invented small slice
mode: TMz
grid: {cell: 4 mm, size: [152 mm, 144 mm], absorbing_cells: 4, allow_coarse: true}
body:
  shapes:
    - {tissue: muscle, ellipse: {center: [0 mm, 0 mm], semi_axes: [40 mm, 35 mm]}}
materials: {fit: {poles: 1, max_error: 5 %}}
implant: {position: [10 mm, -5 mm], source: line_currentCAPSULE}
waveform: {type: pulse, center: 915 MHz, bandwidth: 1.4 GHz}
frequencies: [915 MHz]
duration: DURATION
outputs:
  snapshots: {field: Ez, every: 1 ns, stride: 4}
  images: {quantity: [tissue]}
link:
  transmit_power: 25 uW
  reader: {distance: 0.5 m, gain: 2 dBi, noise_figure: 6 dB, bandwidth: 300 kHz}
"""
SLICE = SCENARIO.replace("DURATION", "6 ns").replace("CAPSULE", "")
OLDER = SLICE.replace("Invented small", "Invented older")
# A link needs one; it takes half a second.
LINKED = SCENARIO.replace("DURATION", "6 ns").replace(
    "CAPSULE", ", capsule: {radius: 4 mm, material: air}")
SWEEP = "base: slice.yaml\nvary:\n  implant.position[0]: [0 mm, 8 mm]\n"


@dataclasses.dataclass
class Command:
    """What is disturbed, in a folder that holds slice.yaml and sweep.yaml."""
    name: str
    arguments: list
    again: list  # added when it is run once more
    needs_result: bool = False
    replaces: bool = False
    scenario: str = "slice"  # of the result


COMMANDS = [
    Command("run", ["run", "slice.yaml", "-o", "out"], ["--force"]),
    Command("run --force", ["run", "slice.yaml", "-o", "out", "--force"], [],
            needs_result=True, replaces=True, scenario="older"),
    Command("run --checkpoint", ["run", "slice.yaml", "-o", "out", "--checkpoint", "0.001 s"],
            ["--force", "--resume"]),
    Command("sweep", ["sweep", "sweep.yaml", "-o", "night", "--jobs", "1"], []),
    Command("render", ["render", "out", "--quantity", "tissue"], [], needs_result=True),
    Command("link", ["link", "out", "-o", "answer"], ["--force"], needs_result=True,
            scenario="linked"),
]


class Folder:
    """Of its own for each fault."""

    def __init__(self, command, results):
        self.path = pathlib.Path(tempfile.mkdtemp(prefix="torsowave-faults-"))
        (self.path / "slice.yaml").write_text(SLICE)
        (self.path / "sweep.yaml").write_text(SWEEP)
        if command.needs_result:
            shutil.copytree(results / (command.scenario + "-result"), self.path / "out")

    def __enter__(self):
        return self

    def __exit__(self, *ignored):
        shutil.rmtree(self.path)


def run(folder, arguments, faults=None):
    environment = {**os.environ, "OMP_NUM_THREADS": "1", **(faults or {})}
    extra = ["--threads", "1"] if arguments[0] == "run" else []
    return subprocess.run([PROGRAM, *arguments, *extra], cwd=folder, env=environment,
                          stdin=subprocess.DEVNULL, capture_output=True, text=True,
                          timeout=60, check=False)


def disturbed(command, folder, injector, at, kind, log=None):
    """The command with its `at`-th operation disturbed (0: none), and how many there were."""
    counter = folder.path.parent / (folder.path.name + ".count")
    counter.write_bytes(bytes(8))
    faults = {"LD_PRELOAD": str(injector), "TORSOWAVE_FAULT_FOLDER": str(folder.path),
              "TORSOWAVE_FAULT_COUNTER": str(counter), "TORSOWAVE_FAULT_AT": str(at),
              "TORSOWAVE_FAULT_KIND": kind}
    if log:
        faults["TORSOWAVE_FAULT_LOG"] = str(log)
    # The paths of the program's files are then absolute.
    arguments = [str(folder.path / a) if a in ("slice.yaml", "sweep.yaml", "out", "night", "answer")
                 else a for a in command.arguments]
    try:
        done = run(folder.path, arguments, faults)
        return done, int.from_bytes(counter.read_bytes(), "little")
    finally:
        counter.unlink()


def require(good, what):
    if not good:
        raise AssertionError(what)


def check_result(folder):
    """A summary is the last word: with it all is there and belongs together."""
    summary = json.loads((folder / "summary.json").read_text(encoding="utf-8"))
    scenario = (folder / "scenario.yaml").read_bytes()
    digest = hashlib.sha256(scenario).hexdigest()
    require(summary["scenario"]["file_sha256"] == digest, "summary of another scenario")
    with h5py.File(folder / "result.h5") as file:
        require(file.attrs["scenario_sha256"] in (digest, digest.encode()),
                "result.h5 of another scenario")
        require(file["snapshots/Ez"][()].shape[0] > 1, "no snapshots")


def check_whole(path):
    """No file under a final name is cut short."""
    content = path.read_bytes()
    if path.suffix == ".png":
        require(content[-8:-4] == b"IEND", f"{path.name} is cut short")
    elif path.suffix == ".json":
        json.loads(content)
    elif path.suffix in (".yaml", ".csv"):
        require(content.endswith(b"\n"), f"{path.name} is cut short")
    elif path.suffix == ".h5":
        with h5py.File(path) as file:
            require(len(file.attrs) > 0, f"{path.name} is empty")


def is_final(path, folder):
    """Not what a killed process was writing, nor what belongs to a case at work."""
    parts = path.relative_to(folder).parts
    return (path.is_file() and not path.name.endswith(".part")
            and not any(part.startswith(".") for part in parts) and "work" not in parts)


def check_folder(folder):
    for path in folder.rglob("*"):
        if is_final(path, folder):
            check_whole(path)
        if path.name == "summary.json" and is_final(path, folder):
            check_result(path.parent)


def check_exit(command, done, kind, folder):
    if kind == "kill" and done.returncode != 0:
        # A killed case of a sweep is a case that failed.
        require(done.returncode == (1 if command.name == "sweep" else -9)
                or done.returncode == -9, f"exit code {done.returncode}")
        return
    # The case of a sweep fails, or the sweep itself.
    require(done.returncode in ((0, 1, 3) if command.name == "sweep" else (0, 3)),
            f"exit code {done.returncode}: {done.stderr}")
    if done.returncode == 3:
        require(str(folder) in done.stderr, f"the message names no file: {done.stderr}")


def try_fault(command, injector, results, at, kind):
    """None, or what is wrong."""
    with Folder(command, results) as folder:
        done, _ = disturbed(command, folder, injector, at, kind)
        try:
            check_exit(command, done, kind, folder.path)
            check_folder(folder.path)
            if command.needs_result and not command.replaces:
                check_result(folder.path / "out")
            again = run(folder.path, command.arguments + command.again)
            if command.again and again.returncode != 0:
                again = run(folder.path, command.arguments)  # there is no earlier one
            require(again.returncode == 0, f"afterwards: {again.returncode} {again.stderr}")
            check_folder(folder.path)
            if command.name.startswith("run"):
                check_result(folder.path / "out")
            return None
        except (AssertionError, OSError, ValueError, KeyError) as error:
            return f"{command.name}, operation {at}, {kind}: {error}"


def operations(command, injector, results):
    """Name and path of each operation, in their order."""
    with Folder(command, results) as folder:
        log = folder.path.parent / (folder.path.name + ".log")
        done, count = disturbed(command, folder, injector, 0, "none", log)
        require(done.returncode == 0, f"{command.name}: {done.returncode} {done.stderr}")
        lines = sorted(log.read_text().splitlines(), key=lambda line: int(line.split()[0]))
        log.unlink()
    require(count > 5, f"{command.name}: only {count} operations were seen")
    return [line.split(maxsplit=2)[1:] for line in lines]


def points(listed, how):
    """Which operations are disturbed, counted from 1, and how."""
    count = len(listed)
    if how == "--every":
        chosen = range(1, count + 1)
    elif how == "--distinct":  # begin and end of each row of equal ones, and every 20th
        chosen = [n + 1 for n in range(count)
                  if n % 20 == 0 or n in (0, count - 1)
                  or not listed[n - 1] == listed[n] == listed[n + 1]]
    else:
        chosen = range(2, count + 1, max(1, count // SAMPLE))
        return [(at, KINDS[n % len(KINDS)]) for n, at in enumerate(chosen)]
    return [(at, kind) for at in chosen for kind in KINDS]


def make_results(folder):
    for name, text in (("slice", SLICE), ("older", OLDER), ("linked", LINKED)):
        (folder / f"{name}.yaml").write_text(text)
        made = run(folder, ["run", f"{name}.yaml", "-o", f"{name}-result"])
        require(made.returncode == 0, made.stderr)


def walk(command, injector, results, how, pool):
    """How many faults were tried, and what was wrong."""
    listed = operations(command, injector, results)
    chosen = points(listed, how)
    found = list(pool.map(lambda p: try_fault(command, injector, results, *p), chosen))
    wrong = [fault for fault in found if fault]
    names = [name for name, _ in listed]
    counts = ", ".join(f"{names.count(name)} {name}" for name in sorted(set(names)))
    print(f"{command.name}: {len(listed)} operations ({counts}), {len(chosen)} faults, "
          f"{len(wrong)} wrong", flush=True)
    return len(chosen), wrong


def main():
    injector = pathlib.Path(sys.argv[1]).resolve()
    how = sys.argv[2] if len(sys.argv) > 2 else ""
    begin, tried, wrong = time.monotonic(), 0, []
    with tempfile.TemporaryDirectory() as folder, \
            concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as pool:
        results = pathlib.Path(folder)
        make_results(results)
        for command in COMMANDS:
            count, found = walk(command, injector, results, how, pool)
            tried += count
            wrong += found
    print(f"{tried} faults in {time.monotonic() - begin:.0f} s, {len(wrong)} wrong")
    for fault in wrong[:40]:
        print(fault)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
