"""What hostile or absurd input does to the program: refused soon, and nothing else is touched."""

import os
import time
import unittest

import slices

QUICK = {"grid": "{cell: 4 mm, size: [152 mm, 144 mm], absorbing_cells: 4, allow_coarse: true}",
         "materials": "{fit: {poles: 1, max_error: 5 %}}", "duration": "3 ns",
         "frequencies": "[915 MHz]", "outputs": "{sectors: 8}"}


class LimitsTest(slices.SliceTest):
    def refused(self, codes, text, *words):
        """By `run`, within seconds; the folder holds the scenario alone."""
        path = self.write(text)
        begin = time.monotonic()
        done = slices.cli.run("run", path, "-o", self.folder / "out", "--threads", 1)
        self.assertIn(done.returncode, codes, done.stderr)
        self.assertLess(time.monotonic() - begin, 10)
        self.holds("scenario.yaml")
        for word in words:
            self.assertIn(word, done.stderr)

    def test_absurd_quantities(self):
        for change in ({"grid": "{cell: 1e308 m, margin: 40 mm}"},
                       {"grid": "{cell: 1e-300 m, margin: 40 mm}"},
                       {"grid": "{cell: -2 mm, margin: 40 mm}"},
                       {"grid": "{cell: 2 mm, size: [1e308 m, 1e308 m]}"},
                       {"grid": "{cell: 2 mm, margin: 40 mm, absorbing_cells: 1000000000}"},
                       {"frequencies": "[1e308 Hz]"},
                       {"frequencies": "[.nan Hz]"},
                       {"implant": "{position: [1e308 m, -1e308 m], source: line_current}"},
                       {"implant": "{position: [.inf mm, 0 mm], source: line_current}"},
                       {"duration": "-1 ns"},
                       {"waveform": "{type: pulse, center: 1e308 Hz, bandwidth: 1e308 Hz}"},
                       {"outputs": "{sectors: 99999999999999999999}"}):
            with self.subTest(change):
                self.refused((2, 3), slices.scenario(**{**QUICK, **change}), "error: ")

    def test_a_file_without_an_end(self):
        path = self.folder / "scenario.yaml"
        path.write_text(slices.scenario(**QUICK))
        os.truncate(path, 1 << 30)  # a hole
        self.assertIn("larger than the 4 MiB", self.fails(2, "check", path))
        self.assertIn("larger than the 4 MiB", self.fails(2, "check", "/dev/zero"))

    def test_a_source_beyond_single_precision_stops_with_cell_and_time(self):
        (self.folder / "strong.csv").write_text("0 0\n0.4e-9 3e38\n0.8e-9 0\n")
        path = self.write(slices.scenario(**{**QUICK, "waveform":
                                             "{type: samples, file: strong.csv}"}))
        message = self.fails(1, "run", path, "-o", self.folder / "out", "--threads", 1)
        self.assertRegex(message, r"no finite numbers any more at step \d+ \([\d.]+ ns\), in cell "
                                  r"\(\d+, \d+\) at x = ")
        self.assertIn("beyond what single precision holds", message)
        self.holds("scenario.yaml", "strong.csv")

    def test_links_are_replaced_and_never_followed(self):
        precious = self.folder / "precious"
        precious.write_text("not ours")
        result = self.run_slice(slices.scenario(**QUICK))
        for name in ("summary.json", "result.h5", "scenario.yaml"):
            (result / name).unlink()
            (result / name).symlink_to(precious)
        self.succeeds("run", self.folder / "out.yaml", "-o", result, "--force", "--quiet",
                      "--threads", 1)
        self.assertEqual(precious.read_text(), "not ours")
        for path in result.iterdir():
            self.assertFalse(path.is_symlink(), path)
        self.succeeds("render", result, "--quantity", "tissue", "--quiet")

    def test_names_do_not_leave_the_folder(self):
        probe = "{sectors: 8, probes: [{name: ../../out, position: [0 mm, 45 mm]}]}"
        self.refused((2,), slices.scenario(**{**QUICK, "outputs": probe}), "name for a probe")


if __name__ == "__main__":
    unittest.main()
