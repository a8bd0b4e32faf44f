"""What `run` and `check` say to a wrong scenario: the exit code, file, line, column, key, what
is wrong and what to do; and that nothing is left on the disk."""

import math
import re
import time
import unittest

import cli
import slices


class Refusals(slices.SliceTest):
    def refused(self, text, *words, code=2, commands=("check", "run")):
        """The message, the same from check and run, with all the words in it."""
        path = self.write(text)
        messages = []
        for command in commands:
            options = ["-o", self.folder / "a/out"] if command == "run" else []
            messages.append(self.fails(code, command, path, *options, "--threads", 1))
            self.holds("scenario.yaml")
            for word in words:
                self.assertIn(word, messages[-1])
        return messages[0]

    def refused_at(self, text, fragment, key, *words, **options):
        """`fragment` is where the fault stands in the text."""
        where = f"error: {self.folder / 'scenario.yaml'}:{slices.place(text, fragment)}: "
        return self.refused(text, f"{where}{key}: " if key else where, *words, **options)


class Keys(Refusals):
    def test_unknown_key_names_the_nearest(self):
        text = slices.scenario(grid="{cel: 2 mm, size: [136 mm, 126 mm]}")
        self.refused_at(text, "cel:", "grid.cel", '(did you mean "cell"?)')

    def test_unknown_section(self):
        text = slices.scenario(outptus="{sectors: 36}")
        self.refused_at(text, "outptus:", "outptus", '(did you mean "outputs"?)')

    def test_missing_section_tells_what_to_write(self):
        message = self.refused(slices.scenario(waveform=None), "waveform")
        self.assertIn("type: pulse", message)

    def test_a_key_given_twice(self):
        text = slices.scenario() + "title: again\n"
        self.refused_at(text, "title: again", "title")

    def test_two_keys_of_which_one_is_wanted(self):
        self.refused(slices.scenario(grid="{cell: 2 mm, size: [136 mm, 126 mm], "
                                          "margin: 20 mm}"), "size", "margin")


class Values(Refusals):
    def test_missing_unit_names_the_units(self):
        text = slices.scenario(grid="{cell: 2, size: [136 mm, 126 mm]}")
        self.refused_at(text, "2, size", "grid.cell", "has no unit", "mm")

    def test_wrong_unit_names_the_right_ones(self):
        text = slices.scenario(frequencies="[915 mm]")
        self.refused_at(text, "915 mm]", "frequencies[0]", "MHz")

    def test_unknown_tissue_names_the_nearest(self):
        text = slices.scenario(body=slices.SECTIONS["body"].replace("muscle", "mucsle"))
        self.refused_at(text, "mucsle", "body.shapes[0].tissue", '(did you mean "muscle"?)')

    def test_frequency_beyond_the_waveform(self):
        text = slices.scenario(frequencies="[915 MHz, 4.2 GHz]")
        self.refused_at(text, "4.2 GHz", "frequencies[1]", "40 dB", "usable with this waveform")

    def test_frequencies_of_samples_must_be_named(self):
        (self.folder / "p.csv").write_text("0, 0\n1e-9, 1\n", encoding="utf-8")
        path = self.write(slices.scenario(waveform="{type: samples, file: p.csv}",
                                          frequencies=None))
        self.assertIn("frequencies", self.fails(2, "check", path))

    def test_sources_of_another_mode(self):
        text = slices.scenario(mode="TEz", outputs="{phasors: [Hz]}")
        self.refused_at(text, "line_current", "implant.source", "magnetic_line, dipole")
        text = slices.scenario(implant="{position: [10 mm, -5 mm], source: dipole}")
        self.refused_at(text, "dipole", "implant.source", "line_current")

    def test_probe_with_a_path_for_a_name(self):
        text = slices.scenario(outputs="{probes: [{name: ../x, position: [0 mm, 0 mm]}]}")
        self.refused_at(text, "../x", "outputs.probes[0].name", "letters, digits")


class Places(Refusals):
    def test_implant_in_the_air(self):
        text = slices.scenario(implant="{position: [50 mm, 0 mm]}")
        self.refused_at(text, "[50 mm", "implant.position", "outside the body",
                        "body.shapes[0] (muscle) is nearest")

    def test_implant_outside_the_domain(self):
        text = slices.scenario(implant="{position: [500 mm, 0 mm]}")
        self.refused_at(text, "[500 mm", "implant.position", "outside the domain",
                        "-68 mm to 68 mm")

    def test_implant_in_the_absorber(self):
        text = slices.scenario(implant="{position: [60 mm, 0 mm]}", body="""
  shapes:
    - tissue: muscle
      rectangle: {min: [-80 mm, -80 mm], max: [80 mm, 80 mm]}""")
        self.refused_at(text, "[60 mm", "implant.position", "lies in the absorbing layer",
                        "move it inwards")

    def test_implant_in_a_conductor(self):
        text = slices.scenario(materials="{custom: {tin: {conductor: perfect}}}",
                               body=slices.SECTIONS["body"].replace("muscle", "tin"))
        self.refused_at(text, "[10 mm, -5", "implant.position", "perfect conductor",
                        "capsule")

    def test_implant_in_a_cell_that_a_conductor_shares(self):
        text = slices.scenario(
            materials="{custom: {tin: {conductor: perfect}}}",
            body=slices.SECTIONS["body"] + """
    - tissue: tin
      rectangle: {min: [10.5 mm, -10 mm], max: [14 mm, 0 mm]}""")
        self.refused_at(text, "[10 mm, -5", "implant.position", "perfect conductor")

    def test_probe_outside_the_domain(self):
        for grid in (slices.SECTIONS["grid"], "{cell: 2 mm, margin: 20 mm}"):
            text = slices.scenario(grid=grid, outputs="""
  probes: [{name: in, position: [0 mm, 0 mm]}, {name: out, position: [0 mm, 99 mm]}]""")
            self.refused_at(text, "[0 mm, 99", "outputs.probes[1].position",
                            "outside the domain", "grid.size" if "size" in grid
                            else "grid.margin")

    def test_no_room_inside_the_absorber(self):
        text = slices.scenario(grid="{cell: 2 mm, size: [41 mm, 126 mm]}",
                               outputs=None)
        self.refused_at(text, "[41 mm", "grid.size", "absorbing layer", "larger domain")


class Physics(Refusals):
    def test_too_coarse_a_grid(self):
        text = slices.scenario(grid="{cell: 6 mm, size: [136 mm, 126 mm]}")
        message = self.refused_at(text, "6 mm, size", "grid.cell",
                                  "cells per wavelength in muscle at 915 MHz",
                                  "grid.allow_coarse: true")
        finest = re.search(r"write ([\d.]+) mm or less", message).group(1)
        self.succeeds("check", self.write(slices.scenario(
            grid=f"{{cell: {float(finest) - 0.01:.3f} mm, margin: 30 mm}}")), "--quiet")

    def test_refused_fit_names_tissue_and_frequency(self):
        text = slices.scenario(materials="{fit: {band: [0.4 GHz, 3 GHz], poles: 1, "
                                         "max_error: 0.1 %}}",
                               body="""
  shapes:
    - tissue: muscle
      circle: {center: [0 mm, 0 mm], radius: 30 mm}""")
        self.refused_at(text, "{band", "materials.fit", "muscle: ", "GHz", "%")

    def test_refused_fit_without_a_section_of_its_own(self):
        self.refused(slices.scenario(
            frequencies="[300 MHz, 1500 MHz]", materials="{fit: {poles: 0}}"), "materials.fit")


class Files(Refusals):
    def test_missing_scenario(self):
        path = self.folder / "none.yaml"
        for command in ("check", "run"):
            message = self.fails(2, command, path)
            self.assertIn(f"error: {path}: no such file", message)
            self.holds()

    def test_folder_in_place_of_a_scenario(self):
        self.assertIn("is a directory", self.fails(2, "run", self.folder))

    def test_no_scenario_on_the_line(self):
        self.assertIn("scenario", self.fails(2, "run"))

    def test_not_yaml(self):
        text = slices.scenario() + "link: [unfinished\n"
        self.refused(text, f"{self.folder / 'scenario.yaml'}:", "not valid YAML",
                     "check the indentation")

    def test_bytes_that_are_no_text(self):
        (self.folder / "b.yaml").write_bytes(b"title: \xff\xfe\n")
        self.assertIn("b.yaml:1:8: byte 0xff is not UTF-8",
                      self.fails(2, "check", self.folder / "b.yaml"))

    def test_missing_samples(self):
        text = slices.scenario(waveform="{type: samples, file: none.csv}")
        self.refused_at(text, "none.csv", "waveform.file", "no such file")

    def test_samples_that_do_not_ascend(self):
        samples = self.folder / "p.csv"
        samples.write_text("# s, A\n0, 0\n2e-9, 1\n1e-9, 0\n", encoding="utf-8")
        path = self.write(slices.scenario(waveform="{type: samples, file: p.csv}"))
        self.assertIn(f"error: {samples}:4:1: the times must ascend",
                      self.fails(2, "run", path, "-o", self.folder / "out"))
        self.holds("p.csv", "scenario.yaml")

    def test_currents_without_the_frequency(self):
        samples = self.folder / "p.csv"
        silence = [0.0] * 401
        burst = [math.exp(-((n - 200) / 60) ** 2) * math.sin(2 * math.pi * 5e9 * n * 1e-11)
                 for n in range(401)]
        for currents in (silence, burst):  # the burst is at 5 GHz, 0.6 ns long
            samples.write_text("".join(f"{n * 1e-11:.3e}, {current!r}\n"
                                       for n, current in enumerate(currents)),
                               encoding="utf-8")
            text = slices.scenario(waveform="{type: samples, file: p.csv}")
            path = self.write(text)
            for command in ("check", "run"):
                message = self.fails(2, command, path, cwd=self.folder)
                self.assertIn(f":{slices.place(text, '700 MHz')}: frequencies[0]: ", message)
                self.assertIn("holds", message)
                self.holds("p.csv", "scenario.yaml")

    def test_a_folder_that_cannot_be_made(self):
        path = self.write(slices.scenario())
        for folder in (path, path / "below", "/dev/null/below", self.folder / ("n" * 300)):
            message = self.fails(3, "run", path, "-o", folder, "--threads", 1)
            self.assertIn(f"error: cannot write {folder}: ", message)
            self.assertIn("choose another folder with -o", message)
            self.holds("scenario.yaml")


class Machine(Refusals):
    def test_more_memory_than_there_is(self):
        # 60 m at 1 mm; in cells of 2 um more than a million in a row
        for grid in ("{cell: 1 mm, size: [60 m, 60 m]}", "{cell: 2 um, size: [2.2 m, 0.8 m]}",
                     "{cell: 1 nm, size: [40 m, 40 m]}"):
            with self.subTest(grid=grid):
                begin = time.monotonic()
                message = self.refused(slices.scenario(grid=grid), "smaller domain", code=3)
                self.assertLess(time.monotonic() - begin, 20.0)
                needed, there, columns, rows = (float(number) for number in re.search(
                    r"need ([\d.]+) GiB of memory and ([\d.]+) GiB are available", message
                ).groups() + re.search(r"([\d.e+]+) x ([\d.e+]+) cells", message).groups())
                self.assertGreater(needed, there)
                self.assertGreater(needed * 2 ** 30, 28 * columns * rows)
                with open("/proc/meminfo", encoding="utf-8") as lines:
                    now, = [int(line.split()[1]) for line in lines
                            if line.startswith("MemAvailable:")]
                self.assertAlmostEqual(there / (now / 2 ** 20), 1.0, delta=0.5)


class Several(Refusals):
    def test_all_faults_are_told_at_once_in_the_order_of_the_file(self):
        text = slices.scenario(
            grid="{cell: 2, size: [136 mm, 126 mm], precison: single}",
            body=slices.SECTIONS["body"].replace("muscle", "mucsle"),
            frequencies="[700 MHz, 915 Mhz]")
        message = self.refused(text)
        lines = message.splitlines()
        self.assertEqual(len(lines), 4, message)
        for line, fragment, key in zip(
                lines, ["2, size", "precison", "mucsle", "915 Mhz]"],
                ["grid.cell", "grid.precison", "body.shapes[0].tissue", "frequencies[1]"]):
            self.assertIn(f":{slices.place(text, fragment)}: {key}: ", line)


class Options(Refusals):
    def test_odd_options_leave_nothing(self):
        path = self.write(slices.scenario())
        for options in (["--threads", "0"], ["--threads", "two"], ["--thread", "1"],
                        ["-o"], ["another.yaml"]):
            message = self.fails(2, "run", path, *options, cwd=self.folder)
            self.assertRegex(message, "--help|not in range 1 to 1024")
            self.holds("scenario.yaml")


if __name__ == "__main__":
    unittest.main()
