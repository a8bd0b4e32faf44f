"""Small scenarios for the tests of this folder: an invented round body, coarse and quick."""

import contextlib
import os
import pathlib
import tempfile

import cli

# 68 x 63 cells; muscle is sampled with 21 cells in a wavelength at 915 MHz.
SECTIONS = {
    "title": "Invented small slice",
    "mode": "TMz",
    "grid": "{cell: 2 mm, size: [136 mm, 126 mm], absorbing_cells: 8}",
    "body": """
  background: air
  shapes:
    - tissue: muscle
      ellipse: {center: [0 mm, 0 mm], semi_axes: [40 mm, 35 mm]}
    - tissue: skin_dry
      shell: {thickness: 2 mm}""",
    "implant": "{position: [10 mm, -5 mm], source: line_current}",
    "waveform": "{type: pulse, center: 915 MHz, bandwidth: 1.4 GHz}",
    "frequencies": "[700 MHz, 915 MHz]",
    "duration": "{decay: 30 dB}",
    "outputs": """
  snapshots: {field: Ez, every: 0.5 ns, stride: 2}
  phasors: [Ez]
  probes:
    - {name: front, position: [0 mm, 45 mm]}
    - {name: left-1, position: [45 mm, 1 mm]}
  sectors: 36""",
}


def scenario(**changes):
    """The text of the scenario with sections replaced, added or (None) left out."""
    sections = {**SECTIONS, **changes}
    return "".join(f"{key}: {value}\n" for key, value in sections.items() if value is not None)


def place(text, fragment):
    """ "LINE:COLUMN" of the one place where `fragment` stands in `text`, from 1."""
    assert text.count(fragment) == 1, (text.count(fragment), fragment)
    before = text[:text.index(fragment)]
    return f"{before.count(chr(10)) + 1}:{len(before) - before.rfind(chr(10))}"


class SliceTest(cli.CliTest):
    """A folder of its own for each test, and runs in it."""

    def setUp(self):
        self.folder = pathlib.Path(self.enterContext(tempfile.TemporaryDirectory()))

    def write(self, text, name="scenario.yaml"):
        path = self.folder / name
        path.write_text(text, encoding="utf-8")
        return path

    def run_slice(self, text, *arguments, name="out", threads=1):
        """The folder of results of a run that must end well.

        One thread by default: with more, a grid as small as this is slow on a busy machine.
        """
        path = self.write(text, f"{name}.yaml")
        result = self.folder / name
        self.succeeds("run", path, "-o", result, "--quiet", "--threads", threads, *arguments)
        return result

    def holds(self, *names):
        """The test's folder holds these files and nothing else, hidden ones included."""
        self.assertEqual(sorted(os.listdir(self.folder)), sorted(names))


@contextlib.contextmanager
def unchanged(test, folder):
    """Whatever happens inside, all files below `folder` stay as they are."""
    def contents():
        return {path: path.read_bytes() if path.is_file() else None
                for path in pathlib.Path(folder).rglob("*")}
    before = contents()
    yield
    test.assertEqual(contents().keys(), before.keys())
    test.assertEqual(contents(), before)
