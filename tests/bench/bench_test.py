"""`torsowave_bench` from outside, on a grid so small that its speeds mean nothing."""

import importlib.util
import json
import math
import os
import pathlib
import subprocess
import tempfile
import unittest

PROGRAM = os.environ.get("TORSOWAVE_BENCH", "torsowave_bench")
TINY = ["--size", "96", "--threads", "2", "--rounds", "2", "--seconds", "0.01"]
HAS_NUMPY = importlib.util.find_spec("numpy") is not None

# Rounding alone: half an ulp in each of 1000 steps, twice over.
MOST_DIFFERENCE = {"textbook_double_simd": 1e-12, "textbook_float": 2e-4, "plain_sweep": 2e-4,
                   "tiled": 2e-4, "numpy": 1e-12}


def run(*arguments):
    return subprocess.run([PROGRAM, *map(str, arguments)], stdin=subprocess.DEVNULL,
                          capture_output=True, text=True, encoding="utf-8", timeout=120,
                          check=False)


class BenchTest(unittest.TestCase):

    def succeeds(self, *arguments):
        done = run(*arguments)
        self.assertEqual(done.returncode, 0, done.stderr)
        return done.stdout

    def assert_spread(self, spread):
        self.assertEqual(sorted(spread), ["max", "median", "min"])
        for value in spread.values():
            self.assertTrue(math.isfinite(value) and value > 0.0, spread)
        self.assertLessEqual(spread["min"], spread["median"])
        self.assertLessEqual(spread["median"], spread["max"])

    def test_quick_prints_the_headline_ratios(self):
        report = json.loads(self.succeeds("--quick", *TINY))
        expected = {"textbook", "plain_sweep"} | ({"numpy"} if HAS_NUMPY else set())
        self.assertEqual(set(report["ratios"]), expected)
        for spread in report["ratios"].values():
            self.assert_spread(spread)
        self.assertEqual(report["case"], {"mode": "TMz", "nx": 96, "ny": 96, "poles": 3})
        rates = report["cell_steps_per_s"]
        self.assertEqual(set(rates), (expected - {"textbook"}) | {"textbook_double", "tiled"})
        for spread in rates.values():
            self.assert_spread(spread)
        # Two rounds: the median of the ratios lies between those of the extremes.
        self.assertGreaterEqual(report["ratios"]["textbook"]["median"],
                                rates["tiled"]["min"] / rates["textbook_double"]["max"])
        self.assertLessEqual(report["ratios"]["textbook"]["median"],
                             rates["tiled"]["max"] / rates["textbook_double"]["min"])
        self.assertTrue(report["machine"]["processor"])
        self.assertGreaterEqual(report["machine"]["l2_bytes"], report["machine"]["l1_bytes"])

    def test_all_that_is_timed_computes_the_same_fields(self):
        differences = json.loads(self.succeeds("--quick", *TINY))["field_difference"]
        self.assertEqual(set(differences) | {"numpy"}, set(MOST_DIFFERENCE))
        self.assertEqual("numpy" in differences, HAS_NUMPY)
        for name, difference in differences.items():
            self.assertLess(difference, MOST_DIFFERENCE[name], name)
        self.assertGreater(differences["tiled"], 0.0)  # single and double precision differ

    def test_full_run_fills_document_and_json(self):
        with tempfile.TemporaryDirectory() as folder:
            document = pathlib.Path(folder) / "speed.md"
            numbers = pathlib.Path(folder) / "speed.json"
            frame = "Before\n<!-- measured: begin -->\n{}<!-- measured: end -->\nAfter\n"
            document.write_text(frame.format("old\n"))
            printed = self.succeeds(*TINY, "--json", numbers, "--document", document)
            self.assertEqual(document.read_text(), frame.format(printed))
            self.check_numbers(json.loads(numbers.read_text()))

    def check_numbers(self, report):
        for speed in report["machine_speed"]:
            for spread in [*speed["update_bytes_per_s"].values(), speed["arithmetic_vectors_per_s"],
                           speed["load_vectors_per_s"], speed["store_vectors_per_s"]]:
                self.assert_spread(spread)
        self.assertEqual([speed["threads"] for speed in report["machine_speed"]], [1, 2])
        self.assertEqual([(case["mode"], case["poles"]) for case in report["cases"]],
                         [("TMz", 0), ("TMz", 2), ("TMz", 3), ("TEz", 3), ("1D", 3)])
        for case in report["cases"]:
            self.assertAlmostEqual(sum(case["cell_shares"].values()), 1.0, places=12)
            for result in case["results"]:
                self.assert_spread(result["cell_steps_per_s"])
        vacuum = report["cases"][0]
        # Hx, Hy, Ez in and out in single precision: 24 bytes. Hx, Hy: 2 operations each, curl 3 and
        # 2 shifts, Ez 3.
        tiled = next(r for r in vacuum["results"] if r["name"] == "tiled")
        self.assertEqual(tiled["bytes_per_cell_step"], 24.0)
        self.assertEqual(vacuum["operations_per_cell_step"]["arithmetic"], 12.0)
        self.assertGreater(tiled["roofline"]["share"], 0.0)

    def test_help_has_an_example(self):
        self.assertIn("example: torsowave_bench", self.succeeds("--help"))

    def test_bad_input_is_refused_before_anything_is_measured(self):
        with tempfile.TemporaryDirectory() as folder:
            document = pathlib.Path(folder) / "speed.md"
            document.write_text("no marks\n")
            for bad in (["--size", "3"], ["--document", document], ["--threads", "none"]):
                done = run(*bad)
                self.assertEqual(done.returncode, 2, done.stderr)
                self.assertEqual(done.stdout, "")
                self.assertIn("error: ", done.stderr)
            self.assertEqual(document.read_text(), "no marks\n")
            nowhere = pathlib.Path(folder) / "none" / "x.json"
            self.assertEqual(run(*TINY, "--json", nowhere).returncode, 3)


if __name__ == "__main__":
    unittest.main()
