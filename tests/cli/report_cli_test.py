"""torsowave report: one page of a result or a sweep, with the numbers of the other commands."""

import json
import re
import shutil
import unittest

import cli
import slices

LINK = """
  transmit_power: 25 uW
  reader: {distance: 1 m, gain: 2 dBi, noise_figure: 6 dB, bandwidth: 300 kHz}
  data_rate: 20 kbit/s"""
CAPSULE = "{position: [10 mm, -5 mm], source: line_current, capsule: {radius: 6 mm, material: air}}"
HOSTILE = "Invented </script><script>alert(1)</script> & 'slice'"
TEZ = slices.scenario(
    mode="TEz", implant="{position: [10 mm, -5 mm], source: magnetic_line}",
    outputs="{sectors: 12, phasors: [Hz]}")
ROW = """title: Invented layers
mode: 1D
grid: {cell: 0.5 mm, size: 60 mm}
body: {background: air, layers: [{tissue: fat_not_infiltrated, thickness: 10 mm},
                                 {tissue: muscle, thickness: 15 mm}]}
incident: {plane_wave: {angle: 0 deg}}
waveform: {type: pulse, center: 2 GHz, bandwidth: 3 GHz}
frequencies: [1 GHz, 2 GHz]
duration: {decay: 40 dB}
outputs: {snapshots: {every: 0.1 ns}, phasors: [Ez]}
"""


def data_of(page):
    """What a page shows, and its text."""
    text = page.read_text(encoding="utf-8")
    return json.loads(re.search(r'id="data">(.*?)</script>', text, re.S).group(1)), text


def section(data, name):
    return next(part for part in data["sections"] if part["id"] == name)


class ReportTest(slices.SliceTest):
    def report(self, folder, *arguments):
        self.succeeds("report", folder, *arguments)
        return data_of(folder / "report.html")

    def test_the_page_of_a_slice_says_what_the_commands_say(self):
        out = self.folder / "out"
        path = self.write(slices.scenario(title=json.dumps(HOSTILE), implant=CAPSULE, link=LINK))
        self.succeeds("run", path, "-o", out, "--quiet")
        told = self.succeeds("report", out)
        self.assertIn("report.html", told)
        data, text = data_of(out / "report.html")
        self.assertEqual(data["title"], HOSTILE)
        self.assertNotIn("<script>alert", text)
        self.assertEqual(text.count("</script>"), 3)
        ids = [part["id"] for part in data["sections"]]
        self.assertEqual(ids, ["slice", "wave", "fields", "powers", "surface", "far-field", "link",
                               "sar", "materials", "uncertainty", "scenario", "provenance"])
        self.assertEqual([part["id"] for part in data["sections"] if part.get("caution")],
                         ["link", "sar"])
        # Loss and margin of every frequency as summary.json and link.json have them.
        link = json.loads(self.succeeds("link", out, "--json"))
        for card, at in zip(data["cards"], link["frequencies"]):
            margin = at["implant_to_reader"]["with_fading"]["margin_db"]
            self.assertIn(f"{margin:+.2f} dB", [figure["value"] for figure in card["figures"]])
        budget = section(data, "link")["tables"][0]
        printed = self.succeeds("link", out)
        for row in budget["rows"]:
            self.assertIn(row[0], printed)
            for cell in row[1:]:
                self.assertIn(cell, printed)
        self.assertEqual(section(data, "scenario")["listing"], path.read_text(encoding="utf-8"))
        # Nothing of when or how it was made: the same result gives the same page.
        self.succeeds("report", out, "-o", self.folder / "deep" / "again.html", "--quiet")
        self.assertEqual((self.folder / "deep" / "again.html").read_text(encoding="utf-8"), text)
        self.assertEqual(sorted(p.name for p in out.iterdir() if "part" in p.name), [])

    def test_layers_and_other_modes_have_pages_too(self):
        row = self.folder / "row"
        self.succeeds("run", self.write(ROW, "row.yaml"), "-o", row, "--quiet")
        data, _ = self.report(row)
        self.assertEqual(section(data, "wave")["film"]["kind"], "row")
        summary = json.loads((row / "summary.json").read_text())["frequencies"][0]["slab"]
        reflected = data["cards"][0]["figures"][0]
        self.assertEqual(reflected["label"], "reflected")
        self.assertEqual(reflected["value"], f"{100 * summary['reflectance']:.4g} %")
        tez = self.folder / "tez"
        self.succeeds("run", self.write(TEZ, "tez.yaml"), "-o", tez, "--quiet")
        data, _ = self.report(tez)
        film = section(data, "wave")["film"]
        self.assertIn("steady oscillation", film["note"])
        self.assertEqual(len(film["times"]), 24)

    def test_a_folder_without_a_whole_result_is_refused(self):
        self.assertIn("is no folder", self.fails(2, "report", self.folder / "none"))
        self.assertIn("torsowave run", self.fails(2, "report", self.folder))
        out = self.folder / "row"
        self.succeeds("run", self.write(ROW, "row.yaml"), "-o", out, "--quiet")
        self.assertIn("is a folder", self.fails(2, "report", out, "-o", self.folder))
        shutil.move(out / "summary.json", self.folder / "kept.json")
        self.assertIn("run the scenario again", self.fails(2, "report", out))
        (out / "summary.json").write_text("{}")
        self.assertIn("summary.json", self.fails(2, "report", out))
        shutil.move(self.folder / "kept.json", out / "summary.json")
        (out / "result.h5").write_bytes((out / "result.h5").read_bytes()[:3000])
        self.fails(2, "report", out)
        self.assertFalse((out / "report.html").exists())

    def test_a_sweep_has_a_page_of_its_table(self):
        base = slices.scenario(
            grid="{cell: 4 mm, size: [152 mm, 144 mm], absorbing_cells: 4, allow_coarse: true}",
            duration="6 ns", materials="{fit: {poles: 1, max_error: 5 %}}", outputs="{sectors: 8}")
        self.write(base, "base.yaml")
        sweep = self.write("base: base.yaml\nvary:\n  implant.position[0]: [0 mm, 10 mm, 70 mm]\n"
                           "  materials.scale.muscle.conductivity: [0.9, 1.1]\n", "sweep.yaml")
        out = self.folder / "out"
        out.mkdir()
        shutil.copy(sweep, out)
        self.assertIn("--collect", self.fails(2, "report", out))
        done = cli.run("sweep", sweep, "-o", out, "--quiet", "--keep-faulty")
        self.assertEqual(done.returncode, 1, done.stderr)  # 70 mm is outside the body
        data, _ = self.report(out, "--quiet")
        cases, trouble = section(data, "cases")["tables"]
        self.assertTrue(cases["sortable"])
        self.assertEqual(len(cases["rows"]), 4 * 2 + 2)
        self.assertEqual([row[1] for row in trouble["rows"]], ["failed", "failed"])
        self.assertIn("4 cases are done, 2 failed", data["answer"][0])
        effect = section(data, "effects")["charts"][0]
        # Mean over the other key, of the table itself.
        head = (out / "table.csv").read_text().splitlines()
        names = head[0].split(",")
        loss, frequency = names.index("loss_db [dB]"), names.index("frequency_hz [Hz]")
        position = names.index("implant.position[0] [mm]")
        chosen = [float(line.split(",")[loss]) for line in head[1:]
                  if line.split(",")[frequency] == "700000000"
                  and float(line.split(",")[position]) == 0.0]
        self.assertEqual(len(chosen), 2)
        self.assertAlmostEqual(effect["series"][0]["points"][0][1], sum(chosen) / 2, places=9)


if __name__ == "__main__":
    unittest.main()
