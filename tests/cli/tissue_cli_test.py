"""`torsowave tissue` and the frame of the program, from outside."""

import cmath
import csv
import io
import json
import math
import subprocess
import unittest

import cli

C = 299792458.0  # speed of light [m/s], exact
EPS0 = 8.8541878128e-12  # [F/m], CODATA 2018
ETA0 = 1.0 / (EPS0 * C)  # [ohm]

# Muscle: C. Gabriel, "Compilation of the dielectric properties of body tissues at RF and
# microwave frequencies", report AL/OE-TR-1996-0037, 1996, Appendix C; model: S. Gabriel,
# R. W. Lau, C. Gabriel, Phys. Med. Biol. 41 (1996) 2271-2293. (strength, tau [s], alpha)
MUSCLE_EPS_INF = 4.0
MUSCLE_TERMS = [(50.0, 7.234e-12, 0.1), (7000.0, 353.678e-9, 0.1),
                (1.2e6, 318.31e-6, 0.1), (2.5e7, 2.274e-3, 0.0)]
MUSCLE_IONIC = 0.2  # [S/m]

# The same, tabulated at 2.4491 GHz: D. Andreuccetti, R. Fossi, C. Petrucci, Florence, 1997
# (after C. Gabriel et al. 1996), seen as stored in a public data repository (2021); five
# digits, of the frequency too.
MUSCLE_TABULATED = {"permittivity [1]": 52.731, "conductivity [S/m]": 1.7381}


def muscle_waves(frequency):
    """Plane-wave quantities by the textbook's formulas, in the units of the CSV."""
    w = 2.0 * math.pi * frequency
    eps = MUSCLE_EPS_INF + MUSCLE_IONIC / (1j * w * EPS0)
    for strength, tau, alpha in MUSCLE_TERMS:
        eps += strength / (1.0 + (1j * w * tau) ** (1.0 - alpha))
    k = w / C * cmath.sqrt(eps)  # beta - j alpha
    impedance = ETA0 / cmath.sqrt(eps)
    return {
        "permittivity [1]": eps.real,
        "conductivity [S/m]": -w * EPS0 * eps.imag,
        "loss tangent [1]": -eps.imag / eps.real,
        "attenuation [dB/cm]": -k.imag * 20.0 * math.log10(math.e) / 100.0,
        "phase constant [rad/m]": k.real,
        "wavelength [mm]": 2.0e3 * math.pi / k.real,
        "penetration depth [mm]": -1.0e3 / k.imag,
        "wave impedance (real) [ohm]": impedance.real,
        "wave impedance (imaginary) [ohm]": impedance.imag,
        "phase velocity [m/s]": w / k.real,
    }


def records(text):
    return list(csv.DictReader(io.StringIO(text)))


class Values(cli.CliTest):
    def test_muscle_agrees_with_an_independent_evaluation(self):
        frequencies = {"10 Hz": 10.0, "403.5MHz": 403.5e6, "2.45 GHz": 2.45e9,
                       "100 GHz": 100e9}
        rows = records(self.succeeds("tissue", "muscle", "--csv", "--frequency", *frequencies))
        self.assertEqual([float(row["frequency [Hz]"]) for row in rows],
                         list(frequencies.values()))
        for row, frequency in zip(rows, frequencies.values()):
            self.assertEqual(row.pop("tissue"), "muscle")
            del row["frequency [Hz]"]
            expected = muscle_waves(frequency)
            self.assertEqual(list(row), list(expected))
            for key, value in expected.items():
                # rounding, enlarged by cancellation in the small part of a complex number
                self.assertAlmostEqual(float(row[key]) / value, 1.0, delta=1e-11, msg=key)

    def test_muscle_agrees_with_the_tabulation(self):
        row, = records(self.succeeds("tissue", "muscle", "--csv", "--frequency", "2.4491 GHz"))
        for key, value in MUSCLE_TABULATED.items():
            # half a unit in the fifth digit of the value and of the frequency: 2.9e-5 + 2e-5
            self.assertAlmostEqual(float(row[key]) / value, 1.0, delta=5e-5, msg=key)

    def test_the_table_for_people_shows_the_same_values_to_four_digits(self):
        text = self.succeeds("tissue", "muscle", "--frequency", "2.45 GHz")
        row, = [line for line in text.splitlines() if line.startswith("muscle ")]
        self.assertEqual(text.splitlines()[0], "2.45 GHz")
        for shown, value in zip(row.split()[1:], muscle_waves(2.45e9).values(), strict=True):
            self.assertEqual(shown, f"{value:.4g}")

    def test_every_column_has_its_unit(self):
        text = self.succeeds("tissue", "muscle", "--quiet", "--frequency", "1GHz")
        units, = [line for line in text.splitlines() if line.startswith("tissue")]
        self.assertEqual(units.split(), ["tissue", "[1]", "[S/m]", "[1]", "[dB/cm]", "[rad/m]",
                                         "[mm]", "[mm]", "[ohm]", "[ohm]", "[m/s]"])

    def test_default_frequencies(self):
        rows = records(self.succeeds("tissue", "liver", "skin_dry", "--csv"))
        self.assertEqual([(row["tissue"], float(row["frequency [Hz]"])) for row in rows],
                         [(tissue, f) for tissue in ("liver", "skin_dry")
                          for f in (403.5e6, 915e6, 2.45e9)])

    def test_json_has_the_values_in_si_with_source_and_caution(self):
        result = json.loads(self.succeeds("tissue", "muscle", "--json", "--frequency",
                                          "2.45 GHz"))
        self.assertIn("not a compliance or clinical result", result["caution"])
        muscle, = result["tissues"]
        self.assertIn("Phys. Med. Biol. 41 (1996) 2271-2293", muscle["source"])
        wave, = muscle["frequencies"]
        expected = muscle_waves(2.45e9)
        for key, column, units_in_si in [
                ("permittivity", "permittivity [1]", 1.0),
                ("conductivity_s_per_m", "conductivity [S/m]", 1.0),
                ("attenuation_db_per_m", "attenuation [dB/cm]", 0.01),
                ("wavelength_m", "wavelength [mm]", 1e3),
                ("penetration_depth_m", "penetration depth [mm]", 1e3),
                ("wave_impedance_imaginary_ohm", "wave impedance (imaginary) [ohm]", 1.0)]:
            self.assertAlmostEqual(wave[key] * units_in_si / expected[column], 1.0, delta=1e-11,
                                   msg=key)

    def test_lossless_air(self):
        result = json.loads(self.succeeds("tissue", "air", "--json", "--frequency", "1 GHz"))
        wave, = result["tissues"][0]["frequencies"]
        self.assertIsNone(wave["penetration_depth_m"])
        self.assertEqual(wave["attenuation_db_per_m"], 0.0)
        self.assertAlmostEqual(wave["wavelength_m"], C / 1e9, delta=1e-15)
        row, = records(self.succeeds("tissue", "air", "--csv", "--frequency", "1 GHz"))
        self.assertEqual(float(row["penetration depth [mm]"]), math.inf)

    def test_source_and_caution_stand_below_the_table_unless_quiet(self):
        text = self.succeeds("tissue", "muscle")
        for words in ("Phys. Med. Biol. 41 (1996) 2271-2293", "Caution", "10 %", "a judgement"):
            self.assertIn(words, " ".join(text.split()))
        self.assertNotIn("Caution", self.succeeds("tissue", "muscle", "--quiet"))


class Library(cli.CliTest):
    def test_lists_the_tissues_and_the_capsule_materials(self):
        rows = records(self.succeeds("tissue", "--csv"))
        names = [row["name"] for row in rows]
        self.assertEqual(len(names), 59 + 3)
        self.assertEqual(names[59:], ["air", "alumina", "peek_like"])
        self.assertEqual(names[:59], sorted(set(names[:59])))
        for row in rows:
            self.assertTrue(row["tissue or material"] and row["basis"], row)
        densities = {row["name"]: row["density [kg/m^3]"] for row in rows}
        self.assertEqual(densities["blood"], "1050")
        self.assertEqual(densities["air"], "")

    def test_text_and_json_list_the_same(self):
        names = [row["name"] for row in records(self.succeeds("tissue", "--csv"))]
        lines = self.succeeds("tissue", "--quiet").splitlines()
        self.assertEqual([line.split()[0] for line in lines[3:]], names)
        tissues = json.loads(self.succeeds("tissue", "--json"))["tissues"]
        self.assertEqual([tissue["name"] for tissue in tissues], names)
        self.assertTrue(all(tissue["source"] for tissue in tissues))

    def test_every_entry_has_wave_quantities_over_the_whole_range(self):
        names = [row["name"] for row in records(self.succeeds("tissue", "--csv"))]
        rows = records(self.succeeds("tissue", *names, "--csv", "--frequency", "10 Hz", "1 MHz",
                                     "100 GHz"))
        self.assertEqual(len(rows), 3 * len(names))
        for row in rows:
            self.assertGreaterEqual(float(row["permittivity [1]"]), 1.0, row)
            self.assertGreaterEqual(float(row["conductivity [S/m]"]), 0.0, row)
            self.assertLessEqual(float(row["phase velocity [m/s]"]), C * (1.0 + 1e-12), row)


class Errors(cli.CliTest):
    def test_unknown_tissue_names_the_nearest(self):
        self.assertIn('"musle" is not in the library of tissues (did you mean "muscle"?)',
                      self.fails(2, "tissue", "musle"))

    def test_part_of_a_name_gets_the_names_that_contain_it(self):
        self.assertIn("(did you mean bone_cancellous, bone_cortical,",
                      self.fails(2, "tissue", "bone"))

    def test_all_faults_are_told_at_once(self):
        messages = self.fails(2, "tissue", "musle", "lver", "--frequency", "9.99 Hz",
                              "100.1 GHz", "2.45", "3 mm", "muscle").splitlines()
        self.assertEqual(len(messages), 7)
        for message, words in zip(messages, ['"muscle"', '"liver"', "10 Hz to 100 GHz",
                                             "10 Hz to 100 GHz", "has no unit",
                                             "not a unit of frequency", "before --frequency"]):
            self.assertIn(words, message)

    def test_frequency_without_a_tissue(self):
        self.assertIn("of which tissue", self.fails(2, "tissue", "--frequency", "1 GHz"))

    def test_odd_lines(self):
        for arguments in (["tissue", "--csv", "--json"], ["tissue", "--colour"],
                          ["tissue", "muscle", "--frequency"], ["tissue", ""],
                          ["tissue", "muscle", "--frequency", ""],
                          ["tissue", "muscle", "--frequency", "nan GHz"], ["--colour"]):
            self.fails(2, *arguments)

    def test_control_characters_are_not_passed_on(self):
        self.assertNotIn("\x1b", self.fails(2, "tissue", "\x1b[31mred"))

    def test_full_disk(self):
        with open("/dev/full", "w", encoding="utf-8") as full:
            done = subprocess.run([cli.PROGRAM, "tissue", "muscle"], stdout=full,
                                  stderr=subprocess.PIPE, text=True, check=False)
        self.assertEqual(done.returncode, 3)
        self.assertIn("error: cannot write the result to standard output", done.stderr)


class Frame(cli.CliTest):
    COMMANDS = ("tissue", "check", "run")

    def test_version(self):
        self.assertRegex(self.succeeds("--version"), r"^torsowave \d+\.\d+\.\d+ \(revision \S+\)\n$")

    def test_every_help_has_an_example(self):
        for words in ([], *([command] for command in self.COMMANDS)):
            text = self.succeeds(*words, "--help")
            self.assertRegex(text, r"\nexamples?:\s+" + " ".join(["torsowave", *words]), words)

    def test_no_command_and_an_unknown_one(self):
        self.assertIn("commands: " + ", ".join(self.COMMANDS), self.fails(2))
        self.assertIn('"tisue" is no command (did you mean "tissue"?)', self.fails(2, "tisue"))


if __name__ == "__main__":
    unittest.main()
