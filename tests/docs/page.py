"""A page of docs: its commands, its Python, the numbers and the pictures that it shows.

A page is run as a reader would: the blocks marked `sh` and `python` in their order, in an
empty folder beside `scenarios`, with the program on the PATH. A number that the tool must
confirm stands before a comment that names it and that readers do not see: 122.4<!--in_air-->.
"""

import contextlib
import io
import os
import pathlib
import re
import subprocess
import warnings

ROOT = pathlib.Path(__file__).resolve().parents[2]
os.environ["MPLBACKEND"] = "Agg"  # no window
BLOCK = re.compile(r"^```(\w+)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
NUMBER = re.compile(r"(?P<text>-?\d[\d,]*(?:\.\d+)?)<!--(?P<name>[\w.]+)-->")
PICTURE = re.compile(r"!\[[^\]]*\]\(([^)]+\.png)\)")


class Number:
    """A number of a page, as printed: its line, name, text and value."""

    def __init__(self, line, name, text):
        self.line, self.name, self.text = line, name, text
        self.value = float(text.replace(",", ""))
        self.decimals = len(text.partition(".")[2])

    def agrees(self, value):
        """Whether `value` rounds to the printed digits. Other instruction sets round otherwise
        in the single precision of slices: hence the hair's breadth beyond half a digit."""
        return abs(value - self.value) <= 0.5 * 10.0 ** -self.decimals + 2e-6 * abs(value)

    def as_printed(self, value):
        return f"{value:{',' if ',' in self.text else ''}.{self.decimals}f}"


class Page:
    """One page of Markdown."""

    def __init__(self, path):
        self.path = pathlib.Path(path)
        self.text = self.path.read_text(encoding="utf-8")

    def blocks(self):
        """(language, text) of each block of code, in order."""
        return BLOCK.findall(self.text)

    def numbers(self):
        return [Number(line, match["name"], match["text"])
                for line, words in enumerate(self.text.splitlines(), 1)
                for match in NUMBER.finditer(words)]

    def pictures(self):
        """The pictures shown, as files of the repository."""
        return [(self.path.parent / name).resolve() for name in PICTURE.findall(self.text)]

    def with_numbers(self, values):
        """The page's text with `values` in the place of the numbers that they name."""
        def replaced(match):
            number = Number(0, match["name"], match["text"])
            if number.name not in values or number.agrees(values[number.name]):
                return match[0]
            return f"{number.as_printed(values[number.name])}<!--{number.name}-->"
        return NUMBER.sub(replaced, self.text)


class Work:
    """A folder in which a page has been run. `printed` holds what each block printed."""

    def __init__(self, page, folder, program):
        self.folder = pathlib.Path(folder)
        self.program = program
        (self.folder / "scenarios").symlink_to(ROOT / "scenarios")
        tools = self.folder / "tools"
        tools.mkdir()
        (tools / "torsowave").symlink_to(pathlib.Path(program).resolve())
        self.environment = dict(os.environ, PATH=f"{tools}:{os.environ['PATH']}",
                                OMP_NUM_THREADS="1")  # the same results, and other tests run
        self.printed = [self._command(text) if language == "sh" else self._python(text)
                        for language, text in page.blocks() if language in ("sh", "python")]

    def _command(self, text):
        done = subprocess.run(["bash", "-euo", "pipefail", "-c", text], cwd=self.folder,
                              env=self.environment, text=True, encoding="utf-8",
                              stdin=subprocess.DEVNULL, capture_output=True, timeout=240,
                              check=False)
        if done.returncode != 0:
            raise AssertionError(f"ended with {done.returncode}:\n{text}\n{done.stderr}")
        return done.stdout

    def _python(self, text):
        """As in a process of its own, but for the seconds that loading libraries takes."""
        printed = io.StringIO()
        with contextlib.chdir(self.folder), contextlib.redirect_stdout(printed), \
                warnings.catch_warnings(action="error"):
            # As NumPy itself has it: libraries built with another release of it.
            warnings.filterwarnings("ignore", message="numpy.ndarray size changed")
            exec(compile(text, "block", "exec"), {"__name__": "__main__"})
        return printed.getvalue()
