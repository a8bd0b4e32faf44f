#!/usr/bin/env python3
"""Plants bugs, one at a time, and names the tests that find each.

usage: tests/mutation/plant.py BUILD_FOLDER [NUMBER...]

For each bug (all, or those with the numbers) the source is changed in place, the one test program
that should know is built and run, and the source is put back. Prints a table: bug, file, what was
changed, tests that failed. Exit code 1 if a bug was found by none, or by the compiler alone.
"""

import pathlib
import re
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parents[2]

# What is wrong, file, text, its replacement, test program, tests of it that are run.
BUGS = [
    ("loss of a pole without its w tau", "materials/debye_medium.cpp",
     "loss += in_phase * x;", "loss += in_phase;", "materials", "*"),
    ("sign of the loss", "materials/debye_medium.cpp",
     "return {real, -loss};", "return {real, loss};", "materials", "*"),
    ("dB of power in place of dB of field", "materials/wave_quantities.cpp",
     "20.0 * std::numbers::log10e", "10.0 * std::numbers::log10e", "materials", "*"),
    ("wave impedance times the index", "materials/wave_quantities.cpp",
     "vacuum_impedance / index", "vacuum_impedance * index", "materials", "*"),
    ("broadening alpha in place of 1 - alpha", "materials/cole_cole.cpp",
     "std::pow(j_omega_tau, 1.0 - term.alpha)", "std::pow(j_omega_tau, term.alpha)",
     "materials", "*"),
    ("ellipse turned the other way", "geometry/ellipse_form.cpp",
     "(dy * e.cosine - dx * e.sine) / e.b", "(dy * e.cosine + dx * e.sine) / e.b",
     "geometry", "*"),
    ("bounds of a turned ellipse, axes swapped", "geometry/ellipse_form.cpp",
     "std::hypot(e.a * e.cosine, e.b * e.sine)", "std::hypot(e.a * e.sine, e.b * e.cosine)",
     "geometry", "*"),
    ("area of a tissue by the edge of a cell", "geometry/tissue_map.cpp",
     "map.raster.cell * map.raster.cell / fraction_quantum",
     "map.raster.cell / fraction_quantum", "geometry", "*"),
    ("absorber's inner face one cell off", "solver/medium.cpp",
     "std::clamp(i, absorbing_cells, raster.nx - 1 - absorbing_cells)",
     "std::clamp(i, absorbing_cells, raster.nx - absorbing_cells)", "solver",
     "BuildMedium*:Medium*"),
    ("strengths of a mixture not by area", "solver/medium.cpp",
     "entry.strengths[k] += fraction * medium.strengths[k];",
     "entry.strengths[k] += medium.strengths[k];", "solver", "BuildMedium*:Medium*"),
    ("wrong pole constant", "solver/update_table.cpp",
     "dt / (2.0 * relaxation_time + dt)", "dt / (2.0 * relaxation_time - dt)", "solver",
     "*Update*:*StepperAgainstTextbook*"),
    ("sign of the absorber's convolution", "solver/absorber.cpp",
     "sigma * (b - 1.0)", "sigma * (1.0 - b)", "solver", "Absorber*"),
    ("absorber of the edges half a cell off", "solver/absorber.cpp",
     "line(spec, n + 1, 0.0, n,", "line(spec, n + 1, 0.5, n,", "solver", "Absorber*"),
    ("spectral width of the pulse", "solver/waveform.cpp",
     "std::sqrt(2.0 * std::log(10.0))", "std::sqrt(std::log(10.0))", "solver", "*Waveform*"),
    ("ramp of a cw source that falls", "solver/waveform.cpp",
     "0.5 * (1.0 - std::cos(std::numbers::pi * t / ramp))",
     "0.5 * (1.0 + std::cos(std::numbers::pi * t / ramp))", "solver", "*Waveform*"),
    ("Courant limit of one dimension in two", "solver/grid.cpp",
     "materials::speed_of_light * std::sqrt(dimensions)",
     "materials::speed_of_light * (dimensions > 0 ? 1.0 : 0.0)", "solver",
     "*Tmz*:*Energy*:Absorber*"),
    ("Hx and Hy swapped on a contour", "solver/phasor_recorder.cpp",
     "edge.di != 0 ? value(stepper.y_edge_row", "edge.di == 0 ? value(stepper.y_edge_row",
     "solver", "*Poynting*:*Phasor*:*Contour*"),
    ("H half a step late", "solver/phasor_recorder.cpp",
     "time - 0.5 * time_step_", "time + 0.5 * time_step_", "solver",
     "*Poynting*:*Phasor*:*Contour*"),
    ("sign of the curl of E in Hx", "solver/kernels/sweep_body_internal.hpp",
     "load(hx + i) - (load(above + i) - load(below + i))",
     "load(hx + i) + (load(above + i) - load(below + i))", "solver",
     "*StepperAgainstTextbook*"),
    ("micrometre ten times too long", "scenarios/quantity.cpp",
     '{"um", -6}, {"mm", -3}, {"cm"', '{"um", -5}, {"mm", -3}, {"cm"', "scenarios",
     "Quantity*"),
]


def run(command):
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=900,
                          check=False)


def found_by(build, program, tests):
    """Names of the tests that fail, in their order; None if it does not compile."""
    built = run(["ninja", "-C", str(build), "-j2", f"test_{program}"])
    if built.returncode != 0:
        return None
    folder = build / "tests" / program
    try:
        done = run([str(folder / f"test_{program}"), f"--gtest_filter={tests}",
                    "--gtest_color=no"])
    except subprocess.TimeoutExpired:
        return ["(no end)"]
    if re.search(r"^\[==========\] 0 tests", done.stdout, re.MULTILINE):
        raise SystemExit(f"no test of {program} is called {tests}")
    failed = re.findall(r"^\[  FAILED  \] (\w[\w/]*\.[\w/]+)", done.stdout, re.MULTILINE)
    if not failed and done.returncode != 0:
        return [f"(ended with {done.returncode})"]
    return list(dict.fromkeys(failed))


def plant(build, bug):
    _, name, text, replacement, program, tests = bug
    path = ROOT / name
    before = path.read_text()
    if before.count(text) != 1:
        raise SystemExit(f"{name} does not hold once: {text}")
    try:
        path.write_text(before.replace(text, replacement))
        return found_by(build, program, tests)
    finally:
        path.write_text(before)


def main():
    if len(sys.argv) < 2 or "--help" in sys.argv:
        print(__doc__.strip())
        return 0 if "--help" in sys.argv else 2
    build = pathlib.Path(sys.argv[1]).resolve()
    chosen = [int(n) for n in sys.argv[2:]] or range(1, len(BUGS) + 1)
    missed = 0
    for number in chosen:
        bug = BUGS[number - 1]
        failed = plant(build, bug)
        missed += not failed
        first = "does not compile" if failed is None else ", ".join(failed[:3]) or "NOT FOUND"
        more = f" and {len(failed) - 3} more" if failed and len(failed) > 3 else ""
        print(f"| {number} | {bug[0]} | `{bug[1]}` | {first}{more} |", flush=True)
    for program in {BUGS[n - 1][4] for n in chosen}:  # as it was
        run(["ninja", "-C", str(build), "-j2", f"test_{program}"])
    print(f"{len(list(chosen)) - missed} of {len(list(chosen))} found")
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
