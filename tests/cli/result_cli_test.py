"""result.h5 of a real run: opened with h5py and, group by group, with xarray through
netCDF-4; labelled, consistent with itself and with summary.json, and bitwise the same for
any number of threads."""

import csv
import io
import json
import pathlib
import sys
import tempfile
import unittest
from xml.etree import ElementTree

try:
    import h5py
    import netCDF4  # noqa: F401  the engine that xarray is asked for
    import numpy as np
    import xarray
except ImportError as missing:
    print(f"skipped: {missing}")
    sys.exit(77)

import cli
import slices
import tissue_cli_test  # for its independent evaluation of muscle

TEXT = slices.scenario(
    outputs=slices.SECTIONS["outputs"].replace("[Ez]", "[Ez, Hx, Hy]") +
    "\n  images: {quantity: sar}")
EVERYTHING = ["grid", "tissue", "snapshots", "phasors", "surface", "probes/front",
              "probes/left-1", "energy", "powers", "sar_peaks"]
MU0 = 4e-7 * np.pi  # [H/m], before 2019 by definition, now to 2e-10


def overlap(centres, middle, side):
    """Length of each cell of 2 mm that an interval covers [m]."""
    low = np.maximum(centres - 1e-3, middle - side / 2)
    return np.clip(np.minimum(centres + 1e-3, middle + side / 2) - low, 0.0, None)


class Result(cli.CliTest):
    @classmethod
    def setUpClass(cls):
        folder = pathlib.Path(cls.enterClassContext(tempfile.TemporaryDirectory()))
        scenario = folder / "scenario.yaml"
        scenario.write_text(TEXT, encoding="utf-8")
        done = cli.run("run", scenario, "-o", folder / "out", "--quiet", "--threads", 1)
        assert done.returncode == 0, done.stderr
        cls.path = folder / "out/result.h5"
        cls.summary = json.loads((folder / "out/summary.json").read_text(encoding="utf-8"))

    def open(self, group):
        data = xarray.open_dataset(self.path, group=group, engine="netcdf4")
        self.addCleanup(data.close)
        return data

    def by_frequency(self, get):
        return [get(f) for f in self.summary["frequencies"]]

    def test_root_attributes(self):
        with h5py.File(self.path) as file:
            attributes = dict(file.attrs)
        self.assertEqual(attributes["title"], slices.SECTIONS["title"])
        self.assertEqual(attributes["tool_version"], self.summary["tool"]["version"])
        self.assertEqual(attributes["scenario_yaml"], TEXT)
        self.assertEqual(attributes["created"], self.summary["created"])
        self.assertRegex(attributes["created"], r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ$")

    def test_every_variable_of_every_group_is_labelled_and_has_units(self):
        for group in EVERYTHING + ["/"]:
            data = self.open(group)
            self.assertTrue(data.variables, group)
            for name, variable in data.variables.items():
                self.assertTrue(variable.attrs["long_name"], (group, name))
                if variable.dtype != object:  # names have none
                    self.assertTrue(variable.attrs["units"], (group, name))
                for dimension in variable.dims:
                    self.assertIn(dimension, data.coords, (group, name))

    def test_no_value_is_missing(self):
        for group in EVERYTHING + ["/"]:
            for name, variable in self.open(group).variables.items():
                if np.issubdtype(variable.dtype, np.floating):
                    self.assertTrue(np.isfinite(variable.values).all(), (group, name))

    def test_grid(self):
        grid = self.open("grid")
        self.assertEqual((grid.x.size, grid.y.size), (68, 63))
        for axis in (grid.x, grid.y):
            np.testing.assert_allclose(np.diff(axis), 2e-3, rtol=1e-9)
        # the implant, at (10 mm, -5 mm), is on a cell's centre
        self.assertLess(np.abs(grid.x - 10e-3).min(), 1e-12)
        self.assertLess(np.abs(grid.y + 5e-3).min(), 1e-12)
        for key in ("cell_m", "dt_s", "steps"):
            self.assertEqual(grid.attrs[key], self.summary["grid"][key])

    def test_tissue_labels_are_names(self):
        tissue = self.open("tissue")
        self.assertEqual(list(tissue.name.values), ["air", "muscle", "skin_dry"])
        self.assertEqual(tissue.label.dtype, np.uint16)
        self.assertEqual(tissue.label.dims, ("y", "x"))
        self.assertEqual(tissue.label.attrs["flag_meanings"].split(), list(tissue.name.values))
        x, y = np.meshgrid(tissue.x, tissue.y)
        outer = (x / 40e-3) ** 2 + (y / 35e-3) ** 2
        np.testing.assert_array_equal(tissue.label.values == 0, outer > 1.0)
        core = (x / 36e-3) ** 2 + (y / 31e-3) ** 2 < 1.0  # deeper than the 2 mm of skin
        self.assertTrue((tissue.label.values[core] == 1).all())
        self.assertGreater((tissue.label.values == 2).sum(), 50)
        areas = {item["tissue"]: item["area_mm2"] for item in self.summary["materials"]}
        for name in tissue.name.values:
            self.assertAlmostEqual(float(tissue.area.sel(name=name)) * 1e6, areas[name],
                                   delta=1e-9)

    def test_snapshots(self):
        frames = self.open("snapshots").Ez
        self.assertEqual(frames.dims, ("time", "y", "x"))
        self.assertEqual(frames.dtype, np.float32)
        self.assertEqual(frames.attrs["units"], "V/m")
        grid = self.open("grid")
        np.testing.assert_array_equal(frames.x, grid.x[::2])
        np.testing.assert_array_equal(frames.y, grid.y[::2])
        # one in each half nanosecond, at the first observation in it
        halves = np.floor(frames.time.values / 0.5e-9)
        np.testing.assert_array_equal(halves, np.arange(halves.size))
        with h5py.File(self.path) as file:
            self.assertEqual(file["snapshots/Ez"].chunks, (1, *frames.shape[1:]))
            self.assertEqual(file["snapshots/Ez"].compression, "gzip")

    def values_of(self, item):
        """What a data item of XDMF stands for, read with h5py: a part of a data set, or all."""
        shape = [int(n) for n in item.get("Dimensions").split()]
        if item.get("ItemType") == "HyperSlab":
            slab, whole = item
            start, step, count = np.array(slab.text.split(), int).reshape(3, -1)
            self.assertEqual(list(count), shape)
            part = tuple(slice(b, b + s * n, s) for b, s, n in zip(start, step, count))
            return self.values_of(whole)[part]
        if item.get("Format") == "XML":
            return np.array(item.text.split(), float).reshape(shape)
        file, name = item.text.split(":")
        with h5py.File(self.path.parent / file) as opened:
            self.assertEqual(opened[name].dtype.itemsize, int(item.get("Precision")))
            return opened[name][:].reshape(shape)

    def places_of(self, grid):
        """Points in z, y and x of a mesh of XDMF, slowest index first."""
        counts = [int(n) for n in grid.find("Topology").get("Dimensions").split()]
        first, step = (self.values_of(item) for item in grid.find("Geometry"))
        return [at + by * np.arange(n) for at, by, n in zip(first, step, counts)]

    def test_xdmf_of_the_moments(self):
        root = ElementTree.parse(self.path.parent / "result.xdmf").getroot()
        data = self.open("snapshots")
        moments = root.findall("Domain/Grid[@Name='moments']/Grid")
        self.assertEqual([float(m.find("Time").get("Value")) for m in moments],
                         list(data.time.values))
        for index, moment in enumerate(moments):
            z, y, x = self.places_of(moment)
            self.assertEqual(list(z), [0.0])
            np.testing.assert_allclose(y, data.y, rtol=0, atol=1e-12)
            np.testing.assert_allclose(x, data.x, rtol=0, atol=1e-12)
            np.testing.assert_array_equal(self.values_of(moment.find("Attribute/DataItem"))[0],
                                          data.Ez[index])

    def test_xdmf_of_the_slice(self):
        root = ElementTree.parse(self.path.parent / "result.xdmf").getroot()
        grid = root.find("Domain/Grid[@Name='slice']")
        corners, tissue = self.places_of(grid), self.open("tissue")
        for centres, corner in zip(([-3e-3], tissue.y, tissue.x), corners):
            np.testing.assert_allclose((corner[1:] + corner[:-1]) / 2, centres, atol=1e-12)
        named = {a.get("Name"): self.values_of(a.find("DataItem")) for a in grid.iter("Attribute")}
        np.testing.assert_array_equal(named["tissue"][0], tissue.label)
        with h5py.File(self.path) as file:
            for index, f in enumerate((700, 915)):
                np.testing.assert_array_equal(named[f"SAR at {f} MHz [(W/kg)/(W/m)]"][0],
                                              file["sar"][index])
        self.assertIn("not a compliance", grid.find("Information[@Name='caution']").get("Value"))

    def test_probes(self):
        for name, position in [("front", (0.0, 45e-3)), ("left-1", (45e-3, 1e-3))]:
            probe = self.open(f"probes/{name}")
            self.assertTrue((np.diff(probe.time) > 0.0).all())
            self.assertEqual(probe.Ez.dims, ("time",))
            for axis, wanted in zip("xy", position):
                self.assertLessEqual(abs(float(probe[axis]) - wanted), 1e-3 + 1e-12)
            self.assertGreater(np.abs(probe.Ez).max(), 0.0)

    def test_a_probe_records_what_snapshots_show(self):
        # (10 mm, -5 mm) + whole cells is a centre; every second one is in a snapshot
        frames = self.open("snapshots").Ez
        probe = self.open("probes/front")
        grid = self.open("grid")
        column = int(np.abs(grid.x.values - float(probe.x)).argmin())
        row = int(np.abs(grid.y.values - float(probe.y)).argmin())
        self.assertEqual((column % 2, row % 2), (0, 0), "choose a cell that snapshots keep")
        for frame in frames:
            at = probe.Ez.sel(time=frame.time)
            self.assertEqual(np.float32(at), frame.values[row // 2, column // 2])

    def test_phasors_are_complex_with_h5py(self):
        with h5py.File(self.path) as file:
            for name, units in [("Ez", "V/m"), ("Hx", "A/m"), ("Hy", "A/m")]:
                field = file["phasors"][name]
                self.assertEqual(field.dtype, np.complex64)
                self.assertEqual(field.shape, (2, 63, 68))
                self.assertEqual(field.attrs["units"], units)
                self.assertEqual([d.label or d[0].name.split("/")[-1] for d in field.dims],
                                 ["frequency", "y", "x"])

    def test_phasors_have_parts_r_and_i_with_xarray(self):
        phasors = self.open("phasors")
        self.assertEqual(list(phasors.frequency.values), [700e6, 915e6])
        with h5py.File(self.path) as file:
            whole = file["phasors/Ez"][...]
        parts = phasors.Ez.values
        if parts.dtype.names:  # netCDF4 before it knew complex numbers
            self.assertEqual(parts.dtype.names, ("r", "i"))
            parts = parts["r"] + 1j * parts["i"]
        np.testing.assert_array_equal(parts, whole)

    def test_magnetic_phasors_follow_from_the_electric_one(self):
        # curl E = -j w mu0 H with exp(+j w t): Hx = -dEz/dy / (j w mu0), Hy = dEz/dx / (...)
        # (J. D. Jackson, Classical Electrodynamics, 3rd ed., 1999, section 6.1, from memory)
        with h5py.File(self.path) as file:
            ez, hx, hy = (file["phasors"][name][...] for name in ("Ez", "Hx", "Hy"))
        w = 2 * np.pi * np.array([700e6, 915e6])[:, None, None]
        inner = np.s_[:, 20:40, 20:31]  # muscle, more than 10 mm left of the source
        dy, dx = (np.gradient(ez, 2e-3, axis=axis) for axis in (1, 2))
        for field, expected in [(hx, -dy / (1j * w * MU0)), (hy, dx / (1j * w * MU0))]:
            error = np.abs(field - expected)[inner].max() / np.abs(expected)[inner].max()
            # centred differences of the mean on both sides of a cell, as the grid has them,
            # but for its dispersion: (pi / 21)^2 / 6 = 0.4 %
            self.assertLess(error, 5e-3)

    def test_sar_at_the_root(self):
        sar = self.open("/").sar
        self.assertEqual(sar.dims, ("frequency", "y", "x"))
        self.assertIn("not a compliance or clinical result", sar.attrs["caution"])
        self.assertEqual(sar.attrs["units"], "(W/kg)/(W/m)")
        label = self.open("tissue").label.values
        self.assertTrue((sar.values[:, label == 1] > 0.0).all())
        far = np.ones_like(label, dtype=bool)
        far[10:53, 10:58] = False
        self.assertTrue((sar.values[:, far] == 0.0).all())

    def test_sar_in_muscle_follows_from_the_field(self):
        # SAR = sigma |E|^2 / (2 rho) with the peak E of a phasor; IEC/IEEE 62704-1:2017,
        # section 5 (from memory). Here for 1 W/m: divided by the source's power.
        density, = [float(row["density [kg/m^3]"]) for row in csv.DictReader(
            io.StringIO(self.succeeds("tissue", "--csv"))) if row["name"] == "muscle"]
        sar = self.open("/").sar.values
        x, y = np.meshgrid(self.open("grid").x, self.open("grid").y)
        core = (x / 36e-3) ** 2 + (y / 31e-3) ** 2 < 1.0  # muscle alone
        with h5py.File(self.path) as file:
            ez = file["phasors/Ez"][...].astype(complex)
        fit = max(item["fit_max_relative_error"] for item in self.summary["materials"])
        for n, frequency in enumerate([700e6, 915e6]):
            waves = tissue_cli_test.muscle_waves(frequency)
            sigma, tangent = waves["conductivity [S/m]"], waves["loss tangent [1]"]
            power = self.summary["frequencies"][n]["source_power_w_per_m"]
            expected = sigma * np.abs(ez[n]) ** 2 / (2.0 * density * power)
            ratio = sar[n][core] / expected[core]
            # the fit keeps |d eps| / |eps| <= fit, thus d sigma / sigma below this
            bound = fit * np.hypot(1.0, 1.0 / tangent)
            self.assertLess(np.abs(ratio - 1.0).max(), bound)
            self.assertLess(np.ptp(ratio), 1e-5)  # one medium

    def test_sar_averages_are_those_of_the_map(self):
        sar = self.open("/").sar.values
        x, y = self.open("grid").x.values, self.open("grid").y.values
        peaks = self.open("sar_peaks")
        for n, f in enumerate(self.summary["frequencies"]):
            figures = f["sar"]
            self.assertEqual(figures["slice"]["local"]["w_per_kg_per_w_per_m"], sar[n].max())
            spot = figures["slice"]["average_1g"]  # beside the source, all of it muscle
            side, value = spot["side_m"], spot["w_per_kg_per_w_per_m"]
            self.assertLess(np.hypot(spot["x_m"] - 10e-3, spot["y_m"] + 5e-3), side)
            weight = np.outer(overlap(y, spot["y_m"], side), overlap(x, spot["x_m"], side))
            self.assertAlmostEqual((weight * sar[n]).sum() / side**2 / value, 1.0, delta=1e-5)
            self.assertAlmostEqual(1090.0 * side**3 / 1e-3, 1.0, delta=1e-5)
            self.assertEqual(peaks.slice.values[n, 1], value)
            self.assertIsNone(figures["beside_capsule"])  # there is no capsule
            self.assertIsNone(figures["published_figures"][0]["reached_at_w"])
        self.assertIn("give the implant a capsule", " ".join(self.summary["notes"]))

    def test_powers_are_those_of_the_summary(self):
        powers = self.open("powers")
        for name, key in [("source", "source_power_w_per_m"),
                          ("body_surface", "body_surface_power_w_per_m"),
                          ("radiated", "radiated_power_w_per_m"),
                          ("residual", "power_balance_residual")]:
            np.testing.assert_array_equal(powers[name], self.by_frequency(lambda f: f[key]))
        np.testing.assert_array_equal(
            powers.absorbed, self.by_frequency(lambda f: f["absorbed_power_w_per_m"]["total"]))
        for tissue in powers.tissue.values:
            np.testing.assert_array_equal(
                powers.absorbed_by_tissue.sel(tissue=tissue),
                self.by_frequency(lambda f: f["absorbed_power_w_per_m"]["by_tissue"][tissue]))

    def test_powers_balance(self):
        powers = self.open("powers")
        balance = powers.absorbed + powers.radiated
        # the pulse is cut 30 dB below its peak
        np.testing.assert_allclose(balance, powers.source, rtol=2e-3)
        np.testing.assert_allclose(powers.residual,
                                   np.abs(powers.source - balance) / powers.source,
                                   rtol=1e-6, atol=1e-15)
        np.testing.assert_allclose(powers.absorbed_by_tissue.sum("tissue"), powers.absorbed,
                                   rtol=1e-12)
        # nothing absorbs between the body's surface and the contour in the air
        np.testing.assert_allclose(powers.body_surface, powers.radiated, rtol=2e-3)

    def test_sectors_add_up_to_the_surface_power(self):
        surface = self.open("surface")
        np.testing.assert_allclose(surface.angle, np.arange(36) * 10.0)
        self.assertEqual(surface.power.dims, ("frequency", "angle"))
        np.testing.assert_allclose(surface.power.sum("angle"), self.open("powers").body_surface,
                                   rtol=1e-12)
        sectors = self.by_frequency(lambda f: f["body_surface_sectors"]["power_w_per_m"])
        np.testing.assert_array_equal(surface.power, sectors)
        # the implant is nearest to the surface in the direction of -27 degrees
        strongest = surface.angle.values[surface.power.values.argmax(axis=1)]
        self.assertTrue(((strongest >= 270) | (strongest <= 20)).all(), strongest)

    def test_energy_ends_as_far_down_as_asked(self):
        energy = self.open("energy").total
        self.assertEqual(energy.attrs["units"], "J/m")
        self.assertTrue((np.diff(energy.time) > 0.0).all())
        self.assertTrue((energy.values > 0.0).all())
        self.assertLess(energy.values[-1] / energy.values.max(), 1e-3)


class Threads(slices.SliceTest):
    def fields_of(self, folder):
        """All arrays of a result by name, as bytes."""
        arrays = {}
        with h5py.File(folder / "result.h5") as file:
            file.visititems(lambda name, item: arrays.update({name: item[...].tobytes()})
                            if isinstance(item, h5py.Dataset) and item.dtype != object else None)
        return arrays

    def test_results_are_bitwise_the_same(self):
        grid = slices.SECTIONS["grid"][:-1]
        for precision in ("single", "double"):
            # a short run: a busy machine makes threads wait for each other at every step
            text = slices.scenario(grid=f"{grid}, precision: {precision}}}", duration="3 ns",
                                   outputs=slices.SECTIONS["outputs"].replace(
                                       "[Ez]", "[Ez, Hx, Hy]"))
            one = self.fields_of(self.run_slice(text, name=precision + "1"))
            self.assertLessEqual({"phasors/Ez", "phasors/Hx", "phasors/Hy", "snapshots/Ez",
                                  "surface/power", "probes/front/Ez", "energy/total",
                                  "powers/source"}, set(one))
            for threads in (2, 3):
                many = self.fields_of(
                    self.run_slice(text, name=f"{precision}{threads}", threads=threads))
                self.assertEqual(set(many), set(one))
                for name, values in one.items():
                    self.assertEqual(many[name], values, (precision, threads, name))


class SarPerWatt(slices.SliceTest):
    def test_beside_published_figures(self):
        """In three dimensions per W delivered, never as compliance."""
        path = self.write(slices.scenario(
            implant="{position: [10 mm, -5 mm], capsule: {radius: 4 mm, material: air}}",
            link="{transmit_power: 25 uW}"))
        text = self.succeeds("run", path, "-o", self.folder / "out", "--threads", 1)
        summary = json.loads((self.folder / "out/summary.json").read_text(encoding="utf-8"))
        for f in summary["frequencies"]:
            sar = f["sar"]
            beside, away = sar["beside_capsule"], sar["away_from_capsule"]
            self.assertEqual(beside["tissue"], "muscle 100 %")
            one = beside["average_1g_w_per_kg_per_w"]
            self.assertLess(one, 1000.0)  # all of 1 W in 1 g
            self.assertLess(beside["average_10g_w_per_kg_per_w"], 100.0)
            self.assertLess(away["average_1g"]["w_per_kg_per_w"], one)
            self.assertGreaterEqual(
                np.hypot(away["local"]["x_m"] - 10e-3, away["local"]["y_m"] + 5e-3),
                away["farther_than_m"])
            usa = sar["published_figures"][0]
            self.assertEqual((usa["figure_w_per_kg"], usa["source"]),
                             (1.6, "47 CFR 1.1310(c) (seen)"))
            self.assertAlmostEqual(usa["reached_at_w"] * one, 1.6, delta=1e-9)
            self.assertAlmostEqual(usa["at_transmit_power_w_per_kg"], 25e-6 * one, delta=1e-12)
            self.assertFalse(usa["above_figure"])
        self.assertIn("below this figure", text)
        self.assertIn("says nothing of compliance", " ".join(text.split()))
        self.assertNotIn("complies", text)


if __name__ == "__main__":
    unittest.main()
