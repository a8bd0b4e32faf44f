"""`torsowave link`: a link worked by hand, a link out of tissue, and links that cannot be."""

import csv
import io
import json
import math
import re
import unittest

try:
    import h5py
except ImportError:
    h5py = None

import slices

# Nothing but air, which a scenario calls a body, about a dipole at 2.45 GHz.
AIR = {
    "grid": "{cell: 2 mm, margin: 30 mm}",
    "body": """
  background: air
  shapes:
    - {tissue: nothing, circle: {center: [0 mm, 0 mm], radius: 30 mm}}""",
    "materials": """
  custom:
    nothing: {permittivity: 1, conductivity: 0 S/m, density: 1 kg/m3}""",
    "implant": "{position: [0 mm, 0 mm]}",
    "waveform": "{type: pulse, center: 2.45 GHz, bandwidth: 1.5 GHz}",
    "frequencies": "[2.45 GHz]",
    "duration": "{decay: 60 dB}",
    "outputs": None,
}
CAPSULE = "{position: [10 mm, -5 mm], capsule: {radius: 6 mm, material: air}}"
HAND = """
  transmit_power: 25 uW
  reader: {distance: 2 m, gain: 2 dBi, noise_figure: 6 dB, bandwidth: 300 kHz}
  data_rate: 100 kbit/s
  target: {bit_error: 1e-3}
  fading: none"""


def dict_of(json_text):
    return json.loads(json_text)


class Link(slices.SliceTest):
    def link(self, *arguments, **changes):
        path = self.write(slices.scenario(**changes))
        return self.succeeds("link", path, "--threads", 1, *arguments)

    def refused(self, key, fragment, says, text=None, **changes):
        """Refused at `fragment` of the scenario with a reason; nothing is run or written."""
        text = slices.scenario(**changes) if text is None else text
        path = self.write(text)
        message = self.fails(2, "link", path, "-o", self.folder / "out", "--threads", 1)
        self.assertIn(f"{path}:{slices.place(text, fragment)}: {key}: ", message)
        self.assertIn(says, message)
        self.holds("scenario.yaml")

    # Worked by hand with the formulas of docs/link.md, in dB: 25 uW is -16.0206; at 2 m and
    # 2.45 GHz Rec. ITU-R P.525 gives 46.2517; -16.0206 + 0 - 46.2517 + 2 = -60.2723. T =
    # 310 + 290 (10^0.6 - 1) = 1174.511 K, N0 = -167.9006, N = -113.1294, SNR 52.8571,
    # Eb/N0 = -60.2723 + 167.9006 - 50 = 57.6283, needed 10.9444: margin 46.6839; range
    # 2 10^(46.6839/20) = 431.74 m; power needed -62.7045. Back, -18.1 dBm, F = 10 dB: T =
    # 310 + 2610 = 2920 K, N0 = -163.9453; -18.1 + 2 - 46.2517 = -62.3517, Eb/N0 51.5936.
    def test_a_link_worked_by_hand(self):
        json_text = self.link("--json", **AIR, link=HAND + "\n  implant: {gain: 0 dBi}")
        answer = dict_of(json_text)
        (f,) = answer["frequencies"]
        out, back = f["implant_to_reader"], f["reader_to_implant"]
        hand = [(out["eirp_dbm"], -16.0206), (out["median"]["received_power_dbm"], -60.2723),
                (out["noise_temperature_k"], 1174.511), (out["noise_power_dbm"], -113.1294),
                (out["with_fading"]["snr_db"], 52.8571),
                (out["with_fading"]["eb_n0_db"], 57.6283),
                (out["required_eb_n0_db"], 10.9444),
                (out["with_fading"]["margin_db"], 46.6839),
                (out["required_transmit_power_dbm"], -62.7045),
                (back["eirp_dbm"], -16.1), (back["noise_temperature_k"], 2920.0),
                (back["with_fading"]["margin_db"], 51.5936 - 10.9444)]
        for found, wanted in hand:
            self.assertAlmostEqual(found, wanted, delta=5e-4 if abs(wanted) > 1e3 else 2e-4)
        self.assertAlmostEqual(out["range_m"], 431.74, delta=0.01)
        self.assertEqual(out["largest_data_rate_bit_per_s"], 150e3)  # 1/2 bit/s/Hz
        self.assertEqual(answer["best_frequency_hz"], 2.45e9)
        self.assertEqual(f["closes_deg"], 360.0)
        limits = {limit["source"]: limit for limit in f["limits"]}
        self.assertAlmostEqual(limits["47 CFR 15.249(a) (seen)"]["implant_above_by_db"],
                               -16.0206 + 1.2494, delta=2e-4)

    # C. A. Balanis, Antenna Theory, ch. 4 (from memory): a short dipole has 1.5, 1.761 dBi.
    def test_the_gain_in_air_is_the_textbooks_through_the_whole_chain(self):
        folder = self.folder / "out"
        text = self.link("-o", folder, **AIR, link=HAND)
        (f,) = dict_of((folder / "link.json").read_text(encoding="utf-8"))["frequencies"]
        rows = list(csv.reader(io.StringIO((folder / "link.csv").read_text(encoding="utf-8"))))
        self.assertEqual(len(rows), 361)
        self.assertEqual(rows[0][:4],
                         ["frequency [Hz]", "direction [deg]", "side", "implant gain [dBi]"])
        for row in rows[1:]:
            gain, eirp, received = (float(row[n]) for n in (3, 4, 5))
            self.assertAlmostEqual(gain, 10.0 * math.log10(1.5), delta=0.02)
            self.assertAlmostEqual(eirp, -16.0206 + gain, delta=1e-4)
            self.assertAlmostEqual(received, eirp - 46.2517 + 2.0, delta=1e-4)
        self.assertEqual(float(rows[1 + int(f["direction_deg"])][8]),
                         f["implant_to_reader"]["with_fading"]["margin_db"])
        self.assertEqual((folder / "link.png").read_bytes()[:8], b"\x89PNG\r\n\x1a\n")
        self.assertIn("= MARGIN [dB]", text)
        self.assertIn("not a compliance or clinical result", text)
        self.assertLess(max(map(len, text.splitlines())), 101)

    def test_out_of_tissue(self):
        folder = self.folder / "out"
        self.link("-o", folder, implant=CAPSULE, link=HAND)
        summary = dict_of((folder / "summary.json").read_text(encoding="utf-8"))
        answer = dict_of((folder / "link.json").read_text(encoding="utf-8"))
        basis = summary["link_basis"]
        # An ellipse of 40 and 35 mm about the origin, in cells of 2 mm.
        self.assertAlmostEqual(basis["to_skin_m"][0], 0.040, delta=0.003)
        self.assertAlmostEqual(basis["to_skin_m"][270], 0.035, delta=0.003)
        self.assertAlmostEqual(basis["body_extent_m"], 0.080, delta=0.005)
        self.assertEqual(answer["assumptions"], basis["assumptions"])
        self.assertIn("muscle 100 %", answer["assumptions"][2])
        for run, link in zip(summary["frequencies"], answer["frequencies"]):
            gain = run["antenna_gain"]
            self.assertEqual(link["implant_gain_dbi"], max(gain["gain_dbi"]))
            self.assertEqual(link["worst_implant_gain_dbi"], min(gain["gain_dbi"]))
            self.assertEqual(link["uncertainty_db"]["computed"],
                             gain["uncertainty_combined_db"])
            for eirp, dbi, u in zip(gain["eirp_w_per_a2m2"], gain["gain_dbi"],
                                    run["far_field"]["intensity_w_per_m_rad"]):
                self.assertAlmostEqual(
                    dbi, 10.0 * math.log10(eirp / gain["delivered_w_per_a2m2"]), delta=1e-9)
                # EIRP = |m_sphere/m_slice|^2 2 k U (docs/numerics.md, 16): one factor for all
                self.assertAlmostEqual(eirp / u, gain["eirp_w_per_a2m2"][0]
                                       / run["far_field"]["intensity_w_per_m_rad"][0],
                                       delta=1e-6 * eirp / u)
            margins = link["margin_db"]
            self.assertEqual(margins[int(link["direction_deg"])], max(margins))
            self.assertEqual(link["closes_deg"], sum(m >= 0.0 for m in margins))
            told = run["link"]  # what sweeps have of it
            faded = link["implant_to_reader"]["with_fading"]
            self.assertEqual(told["margin_db"], faded["margin_db"])
            self.assertEqual(told["received_power_dbm"], faded["received_power_dbm"])
            self.assertEqual(told["margin_back_db"],
                             link["reader_to_implant"]["with_fading"]["margin_db"])
            self.assertEqual(told["closes_deg"], link["closes_deg"])

    # The head of app/implant_gain.hpp: a wedge of 90 degrees has 1/4 of the near field's heat
    # about a dipole along the body; with w = 1 + (5/2) cos^2 phi about one in the plane that
    # points into it (pi/2 + (5/2) (pi/4 + 1/2))/(2 pi + 5 pi/2) = 0.338, across it 0.162.
    def test_the_tissue_around_the_capsule_is_weighted_by_the_near_field(self):
        body = slices.SECTIONS["body"] + """
    - tissue: fat_not_infiltrated
      polygon: [[0 mm, 0 mm], [32 mm, -32 mm], [32 mm, 32 mm]]"""
        for mode, source, share in [("TMz", "line_current", 25.0),
                                    ("TEz", "dipole, direction: 0 deg", 33.8),
                                    ("TEz", "dipole, direction: 90 deg", 16.2)]:
            implant = (f"{{position: [0 mm, 0 mm], source: {source}, "
                       "capsule: {radius: 6 mm, material: air}}")
            folder = self.run_slice(
                slices.scenario(mode=mode, implant=implant, body=body, outputs=None,
                                grid="{cell: 1 mm, size: [136 mm, 126 mm]}"),
                "--force")
            summary = dict_of((folder / "summary.json").read_text(encoding="utf-8"))
            around = summary["link_basis"]["assumptions"][2]
            self.assertAlmostEqual(float(re.search(r"fat_not_infiltrated (\d+) %", around)[1]),
                                   share, delta=1.0)
            for f in summary["frequencies"]:
                self.assertGreater(f["antenna_gain"]["uncertainty_db"]["surroundings"], 0.1)

    def test_the_link_of_another_file_is_none_of_the_run_that_is_stored(self):
        other = self.write("link: {transmit_power: 1 W, fading: none}\n", "other.yaml")
        folder = self.folder / "out"
        self.link("--scenario", other, "-o", folder, "--quiet", implant=CAPSULE, link=HAND)
        link = dict_of((folder / "link.json").read_text(encoding="utf-8"))["frequencies"][0]
        self.assertAlmostEqual(link["implant_to_reader"]["eirp_dbm"] - link["implant_gain_dbi"],
                               30.0, delta=1e-9)  # 1 W
        for f in dict_of((folder / "summary.json").read_text(encoding="utf-8"))["frequencies"]:
            self.assertIsNone(f["link"])
            self.assertIsNone(f["sar"]["transmit_power_w"])

    def test_a_stored_result_gives_the_same_link(self):
        folder = self.folder / "out"
        fresh = self.link("--json", implant=CAPSULE, link=HAND)
        self.link("-o", folder, "--quiet", implant=CAPSULE, link=HAND)
        self.assertEqual(self.succeeds("link", folder, "--json"), fresh)
        self.assertEqual((folder / "link.json").read_text(encoding="utf-8"), fresh)
        other = self.write("link: {reader: {distance: 4 m}, fading: none}\n", "other.yaml")
        with slices.unchanged(self, folder):
            again = dict_of(self.succeeds("link", folder, "--scenario", other, "--json"))
        for near, far in zip(dict_of(fresh)["frequencies"], again["frequencies"]):
            self.assertAlmostEqual(
                near["implant_to_reader"]["median"]["received_power_dbm"]
                - far["implant_to_reader"]["median"]["received_power_dbm"],
                20.0 * math.log10(2.0), delta=1e-9)

    def test_stored_results_without_a_gain(self):
        folder = self.run_slice(slices.scenario())
        message = self.fails(2, "link", folder)
        self.assertIn(f"{folder}: cannot make a link of this result: a short dipole in a "
                      "medium with losses", message)
        inside = self.write("link:\n  reader: {distance: 20 mm}\n", "other.yaml")
        folder = self.run_slice(slices.scenario(implant=CAPSULE), name="good")
        self.assertIn(f"{inside}:2:22: link.reader.distance: ",
                      self.fails(2, "link", folder, "--scenario", inside))
        self.assertIn("no such file", self.fails(2, "link", self.folder))

    @unittest.skipIf(h5py is None, "no h5py")
    def test_the_file_holds_the_gains(self):
        folder = self.run_slice(slices.scenario(implant=CAPSULE))
        summary = dict_of((folder / "summary.json").read_text(encoding="utf-8"))
        with h5py.File(folder / "result.h5") as file:
            group = file["antenna_gain"]
            self.assertIn("not a compliance", group.attrs["caution"])
            for row, f in enumerate(summary["frequencies"]):
                self.assertEqual(list(group["gain"][row]), f["antenna_gain"]["gain_dbi"])
                self.assertEqual(group["delivered"][row],
                                 f["antenna_gain"]["delivered_w_per_a2m2"])
            self.assertEqual(list(group["to_skin"]), summary["link_basis"]["to_skin_m"])
            self.assertEqual(list(group["assumption"].asstr()),
                             summary["link_basis"]["assumptions"])
            self.assertEqual(group["gain"].dims[1][0].name, "/antenna_gain/angle")

    def test_lines_name_formula_and_source(self):
        text = self.link("--lines", "2.45GHz", "--direction", "90deg", **AIR, link=HAND)
        self.assertIn("-20 log10(4 pi d/lambda)", text)
        self.assertIn("Rec. ITU-R P.525", text)
        self.assertIn("reader to implant", text)

    def test_links_that_cannot_be(self):
        self.refused("link.implant.gain", "60 dBi", "must be from -200 dBi to 10 dBi",
                     implant=CAPSULE, link="{implant: {gain: 60 dBi}}")
        self.refused("link.target.bit_error", "0.6", "as good as guessing",
                     implant=CAPSULE, link="{target: {bit_error: 0.6}}")
        self.refused("link.reader.bandwidth", "0 Hz}", "greater than 0",
                     implant=CAPSULE, link="{reader: {bandwidth: 0 Hz}}")
        self.refused("link.reader.distance", "20 mm}", "inside the body",
                     implant=CAPSULE, link="{reader: {distance: 20 mm}}")

    def test_scenarios_without_a_gain(self):
        self.refused("implant.source", "magnetic_line", "source: dipole", mode="TEz",
                     implant="{position: [10 mm, -5 mm], source: magnetic_line}", outputs=None)
        self.refused("implant.capsule", "{position: [10 mm, -5 mm], source",
                     "give the implant a capsule")
        self.refused("incident", "{plane_wave", "a plane wave is no transmitter", implant=None,
                     grid="{cell: 2 mm, size: [154 mm, 144 mm], absorbing_cells: 8}",
                     incident="{plane_wave: {angle: 30 deg}}")
        self.refused("grid.size", "[136 mm, 126 mm]", "no far field", implant=CAPSULE,
                     body="\n  background: air\n  shapes:\n    - tissue: muscle\n"
                          "      rectangle: {min: [-1 m, -1 m], max: [1 m, 10 mm]}")
        self.refused("mode", "1D", "write mode: TMz or TEz", mode="1D", grid="{cell: 2 mm, size: 80 mm}",
                     body="{layers: [{tissue: muscle, thickness: 20 mm}]}",
                     implant="{position: 10 mm}", outputs=None)

    def test_options_that_cannot_be(self):
        path = self.write(slices.scenario(implant=CAPSULE, link=HAND))
        for option, says in [(("--distance", "20mm"), "--distance: the reader would be inside"),
                             (("--distance", "2"), "has no unit"),
                             (("--lines", "868MHz"), "among the frequencies: 700 MHz, 915 MHz")]:
            self.assertIn(says, self.fails(2, "link", path, "--threads", 1, *option))
        self.holds("scenario.yaml")


if __name__ == "__main__":
    unittest.main()
