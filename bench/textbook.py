"""The textbook scheme for Debye tissue in NumPy, double precision, as one writes it by hand.

usage: textbook.py FOLDER STEPS WARM_UP_STEPS [FIELD_FILE]

Steps the scene in FOLDER (scene.json, cells.u16), prints the seconds that STEPS steps took after
WARM_UP_STEPS, and writes Ez to FIELD_FILE (doubles, row by row).

Equations: K. S. Yee, IEEE Trans. Antennas Propag. 14 (1966) 302-307; Debye relaxations and
absorber as in docs/numerics.md.
"""

import json
import pathlib
import sys
import time

import numpy as np

EPS0 = 8.8541878128e-12  # [F/m], CODATA 2018
C = 299792458.0  # [m/s]
MU0 = 1.0 / (EPS0 * C * C)


class Side:
    """The absorber at one end of an axis; `first` is its first position."""

    def __init__(self, line, depth, high, across, axis):
        self.first = len(line["b"]) - depth if high else 0
        self.at = slice(self.first, self.first + depth)
        self.beyond = slice(self.first + 1, self.first + depth + 1)
        shape = (-1, 1) if axis == "y" else (1, -1)
        self.b, self.c, kappa = (np.array(line[key][self.at]).reshape(shape)
                                 for key in ("b", "c", "inverse_kappa"))
        self.extra = kappa - 1.0
        self.psi = np.zeros((depth, across) if axis == "y" else (across, depth))

    def stretch(self, slope):
        """What the stretched derivative has beyond the plain one."""
        self.psi = self.b * self.psi + self.c * slope
        return self.psi + self.extra * slope


class Scene:
    def __init__(self, folder):
        scene = json.loads((folder / "scene.json").read_text())
        self.nx, self.ny, depth = scene["nx"], scene["ny"], scene["absorbing_cells"]
        self.dt, self.dx = scene["dt"], scene["dx"]
        self.source, self.currents = (scene["source_j"], scene["source_i"]), scene["currents"]
        self.ch = self.dt / (MU0 * self.dx)
        self.sides = {
            (axis, place): [Side(scene[f"along_{axis}"][place], depth, high,
                                 self.nx if axis == "y" else self.ny, axis)
                            for high in (False, True)]
            for axis in "xy" for place in ("edges", "cells")}
        # A ring of zeros around Ez: a conducting wall.
        self.ez = np.zeros((self.ny + 2, self.nx + 2))
        self.inner = self.ez[1:-1, 1:-1]
        self.hx = np.zeros((self.ny + 1, self.nx))
        self.hy = np.zeros((self.ny, self.nx + 1))
        cells = np.fromfile(folder / "cells.u16", dtype=np.uint16).reshape(self.ny, self.nx)
        self.set_media(scene, cells)

    def set_media(self, scene, cells):
        tau = np.array(scene["relaxation_times"])
        self.b = self.dt / (2.0 * tau + self.dt)
        self.a = 1.0 - 2.0 * self.b
        eps_inf, sigma = np.array(scene["eps_inf"]), np.array(scene["conductivity"])
        delta = np.array(scene["strengths"]).reshape(len(eps_inf), len(tau))
        s = sigma * self.dt / (2.0 * EPS0) + delta @ self.b
        n = eps_inf + s
        self.ca = ((eps_inf - s) / n)[cells]
        self.cb = (self.dt / (EPS0 * n * self.dx))[cells]
        self.cq = [(delta[:, k] * 2.0 * self.b[k] / n)[cells] for k in range(len(tau))]
        self.q = [np.zeros((self.ny, self.nx)) for _ in tau]

    def change(self, at, by):
        """Adds to Ez after the plain update; the polarisation follows."""
        self.inner[at] += by
        for k, q in enumerate(self.q):
            q[at] += self.b[k] * by

    def update_h(self):
        ez, hx, hy, ch = self.ez, self.hx, self.hy, self.ch
        hx -= ch * (ez[1:, 1:-1] - ez[:-1, 1:-1])
        hy += ch * (ez[1:-1, 1:] - ez[1:-1, :-1])
        for side in self.sides["y", "edges"]:
            hx[side.at] -= ch * side.stretch(ez[side.beyond, 1:-1] - ez[side.at, 1:-1])
        for side in self.sides["x", "edges"]:
            hy[:, side.at] += ch * side.stretch(ez[1:-1, side.beyond] - ez[1:-1, side.at])

    def update_e(self):
        hx, hy = self.hx, self.hy
        curl = (hy[:, 1:] - hy[:, :-1]) - (hx[1:] - hx[:-1])
        after = self.ca * self.inner + self.cb * curl
        for cq, q in zip(self.cq, self.q):
            after += cq * q
        both = self.inner + after
        for k, q in enumerate(self.q):
            q *= self.a[k]
            q += self.b[k] * both
        self.inner[:] = after
        for side in self.sides["x", "cells"]:
            at = np.s_[:, side.at]
            self.change(at, self.cb[at] * side.stretch(hy[:, side.beyond] - hy[at]))
        for side in self.sides["y", "cells"]:
            at = np.s_[side.at, :]
            self.change(at, -self.cb[at] * side.stretch(hx[side.beyond] - hx[at]))

    def step(self, number):
        self.update_h()
        self.update_e()
        current = self.currents[number % len(self.currents)]
        self.change(self.source, -self.cb[self.source] * current / self.dx)


def main():
    scene = Scene(pathlib.Path(sys.argv[1]))
    steps, warm_up = int(sys.argv[2]), int(sys.argv[3])
    for number in range(warm_up):
        scene.step(number)
    begin = time.perf_counter()
    for number in range(warm_up, warm_up + steps):
        scene.step(number)
    print(time.perf_counter() - begin)
    if len(sys.argv) > 4:
        scene.inner.tofile(sys.argv[4])


if __name__ == "__main__":
    main()
