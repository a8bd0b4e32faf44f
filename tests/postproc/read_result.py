"""Opens the sample result as a user would: with h5py, and with xarray through netCDF-4.

    read_result.py WRITE_SAMPLE

Runs the program WRITE_SAMPLE, which writes the result of sample_result.hpp, and checks
labels, shapes, units and values. Exit status 77: this Python lacks a library.
"""

import pathlib
import subprocess
import sys
import tempfile

try:
    import h5py
    import netCDF4  # noqa: F401  the engine that xarray is asked for
    import numpy as np
    import xarray
except ImportError as error:
    print(f"skipped: {error}")
    sys.exit(77)

FREQUENCIES = [403.5e6, 2.45e9]
X = [-1.0e-3, -0.5e-3, 0.0, 0.5e-3, 1.0e-3]
Y = [-0.5e-3, 0.0, 0.5e-3]
GROUPS = ["grid", "tissue", "snapshots", "phasors", "surface", "far_field", "powers", "sar_peaks", "probes/front",
          "energy"]


def expected_phasor():
    f, y, x = np.meshgrid(range(2), range(3), range(5), indexing="ij")
    return (100 * f + 10 * y + x) - 1j * (0.5 + x)


def check_h5py(path):
    with h5py.File(path) as file:
        for name in ["title", "tool_version", "tool_revision", "created", "caution"]:
            assert isinstance(file.attrs[name], str) and file.attrs[name], name
        assert file.attrs["title"] == "Invented sample, 1 µW"
        assert file.attrs["scenario_yaml"] == "title: Invented sample\nmode: TMz\n"
        assert file.attrs["Conventions"] == "CF-1.8"
        assert file.attrs["format"] == "torsowave-result"
        assert file.attrs["format_version"] == 1
        assert "not a compliance or clinical result" in file["sar"].attrs["caution"]

        ez = file["phasors/Ez"]
        assert ez.dtype == np.complex64 and ez.shape == (2, 3, 5)
        np.testing.assert_array_equal(ez[...], expected_phasor())
        assert file["tissue/label"].dtype == np.uint16
        assert list(file["tissue/name"].asstr()) == ["air", "fat", "muscle"]
        assert list(file["tissue/label"].attrs["flag_values"]) == [0, 1, 2]
        assert file["tissue/label"].attrs["flag_meanings"] == "air fat muscle"

        frames = file["snapshots/Ez"]
        assert frames.dtype == np.float32 and frames.chunks == (1, 2, 3)
        assert frames.maxshape == (None, 2, 3)
        assert frames.shuffle and frames.compression == "gzip"
        assert file.attrs["scenario_sha256"] == 64 * "a"
        assert file["run"].attrs["threads"] == 2
        assert file["run"].attrs["transmit_power_w"] == 0.5
        check_every_variable(file)


def check_every_variable(file):
    """Each variable has a long_name, units unless it holds names, and labelled axes."""
    seen = []

    def visit(name, item):
        if not isinstance(item, h5py.Dataset):
            return
        seen.append(name)
        assert item.attrs["long_name"], name
        if item.dtype != object:
            assert item.attrs["units"], name
        for axis in range(0 if h5py.h5ds.is_scale(item.id) else item.ndim):
            assert len(item.dims[axis]) == 1, (name, axis)
            assert item.dims[axis][0].shape[0] == item.shape[axis], (name, axis)

    file.visititems(visit)
    assert len(seen) > 30, seen


def check_labels(name, data):
    """Dimension names, each with its coordinate."""
    for dimension in data.dims:
        assert dimension in data.coords, (name, dimension)


def check_plane(data, y=Y, x=X):
    np.testing.assert_array_equal(data.y, y)
    np.testing.assert_array_equal(data.x, x)
    assert data.y.attrs["units"] == "m" and data.x.attrs["units"] == "m"


def check_fields(data):
    label = data["tissue"].label
    assert label.dims == ("y", "x") and label.dtype == np.uint16
    check_plane(data["tissue"])
    assert int(label.sel(x=0.0, y=0.0, method="nearest")) == 2
    assert list(data["tissue"].name.values) == ["air", "fat", "muscle"]
    assert np.isnan(data["tissue"].area.sel(name="air"))
    assert data["tissue"].area.sel(name="fat") == 0.75e-6

    ez = data["snapshots"].Ez
    assert ez.dims == ("time", "y", "x") and ez.attrs["units"] == "V/m"
    check_plane(ez, y=Y[::2], x=X[::2])
    np.testing.assert_allclose(ez.time, [0.0, 1e-10, 2e-10])
    np.testing.assert_array_equal(ez.isel(time=2), [[200, 201, 202], [210, 211, 212]])

    sar = data[None].sar
    assert sar.dims == ("frequency", "y", "x") and sar.dtype == np.float32
    assert sar.attrs["units"] == "(W/kg)/(W/m)" and "caution" in sar.attrs
    check_plane(sar)
    np.testing.assert_array_equal(sar.values.ravel(), 0.25 * np.arange(30))


def check_phasors(data):
    """netCDF-4 shows the compound; one view makes it complex."""
    ez = data["phasors"].Ez
    assert ez.dims == ("frequency", "y", "x") and ez.attrs["units"] == "V/m"
    check_plane(ez)
    np.testing.assert_array_equal(ez.frequency, FREQUENCIES)
    assert ez.dtype.names == ("r", "i")
    np.testing.assert_array_equal(ez.values.view(np.complex64), expected_phasor())
    one = ez.sel(frequency=2.45e9, x=0.5e-3)
    np.testing.assert_array_equal(one.values.view(np.complex64),
                                  expected_phasor()[1, :, 3])


def check_curves(data):
    power = data["surface"].power
    assert power.dims == ("frequency", "angle") and power.attrs["units"] == "W/m"
    np.testing.assert_array_equal(power.sel(angle=[45.0, 315.0])[0], [0.1, 0.4])
    assert np.isnan(power[1]).all()
    error = data["surface"].grid_error
    assert error.dims == ("frequency", "angle") and error.attrs["units"] == "dB"
    np.testing.assert_array_equal(error.sel(angle=[45.0, 315.0])[0], [0.01, 0.04])
    assert np.isnan(error[1]).all()

    far = data["far_field"]
    assert far.gain.dims == ("frequency", "angle") and far.gain.attrs["units"] == "dB"
    np.testing.assert_array_equal(far.angle, [0.0, 120.0, 240.0])
    np.testing.assert_array_equal(far.gain[0], [-8.0, -5.0, -11.0])
    np.testing.assert_array_equal(far.intensity.sel(angle=120.0, frequency=403.5e6), 0.5)
    np.testing.assert_array_equal(far.insertion_gain[0], [-20.0, np.nan, -23.0])
    np.testing.assert_array_equal(far.grid_error[0], [0.1, 0.2, 0.3])
    assert np.isnan(far.gain[1]).all() and "scattering_width" not in far

    peaks = data["sar_peaks"]
    assert peaks.slice.dims == ("frequency", "average")
    assert list(peaks.average.values) == ["point", "1 g", "10 g"]
    assert peaks.slice.attrs["units"] == "(W/kg)/(W/m)" and "caution" in peaks.attrs
    np.testing.assert_array_equal(peaks.slice[0], [3.0, 2.0, np.nan])
    np.testing.assert_array_equal(peaks.slice_side[0], [0.0, 0.01, np.nan])
    np.testing.assert_array_equal(peaks.capsule[0], [0.0, 4.0, 0.0])
    np.testing.assert_array_equal(peaks.away_x[0], [-1.0e-3, np.nan, np.nan])
    assert list(peaks.slice_tissue.values[0]) == ["muscle", "fat", ""]
    assert peaks.away_from[0] == 0.02 and peaks.known[1] == 0.0
    assert np.isnan(peaks.slice[1]).all() and peaks.away.attrs["units"] == "(W/kg)/W"

    powers = data["powers"]
    np.testing.assert_array_equal(powers.source, [10.0, 20.0])
    assert powers.body_surface[0] == 1.0 and np.isnan(powers.body_surface[1])
    assert powers.absorbed_by_tissue.sel(tissue="muscle", frequency=2.45e9) == 19.0
    assert np.isnan(powers.absorbed_by_tissue.sel(tissue="fat", frequency=2.45e9))
    assert powers.uncertainty.sel(cause="tissue_data")[0] == 1.5
    assert powers.grid_error.sel(power="source")[0] == 0.125
    assert powers.grid_error.attrs["units"] == "dB"
    assert powers.residual.attrs["units"] == "1"

    probe = data["probes/front"].Ez
    assert probe.dims == ("time",) and float(probe.coords["y"]) == 0.5e-3
    np.testing.assert_array_equal(probe, [0.0, 3.0, -1.0])
    energy = data["energy"].total
    assert energy.dims == ("time",) and energy.attrs["units"] == "J/m"
    np.testing.assert_array_equal(energy, [0.0, 4e-12])


def check_xarray(path):
    data = {group: xarray.open_dataset(path, group=group, engine="netcdf4").load()
            for group in [None, *GROUPS]}
    for group, dataset in data.items():
        assert dataset.sizes, group
        for name, variable in dataset.variables.items():
            assert variable.attrs["long_name"], (group, name)
            check_labels((group, name), dataset[name])
    check_plane(data["grid"])
    check_fields(data)
    check_phasors(data)
    check_curves(data)


def main():
    with tempfile.TemporaryDirectory() as folder:
        path = pathlib.Path(folder) / "result.h5"
        subprocess.run([sys.argv[1], str(path)], check=True)
        assert [p.name for p in pathlib.Path(folder).iterdir()] == ["result.h5"]
        check_h5py(path)
        check_xarray(path)


if __name__ == "__main__":
    main()
