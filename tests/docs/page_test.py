"""Runs a page of docs and compares its numbers with the tool's and with formulas.

usage: page_test.py [--update] [--within SECONDS] PAGE...

--update writes the tool's numbers and pictures into the repository instead of failing where
the page has others: for authors, who then read the page again. The program is that of the
environment variable TORSOWAVE_PROGRAM.
"""

import argparse
import importlib.util
import os
import shutil
import sys
import tempfile

for module in ("h5py", "matplotlib", "netCDF4", "xarray"):  # what the pages need
    if not importlib.util.find_spec(module):
        print(f"skipped: no {module}")
        sys.exit(77)

import answers
from page import Page, Work


def number_faults(page, values):
    """A line for each number of the page that is not the tool's, and for each left out."""
    printed = page.numbers()
    for number in printed:
        where = f"{page.path}:{number.line}: {number.name}: "
        if number.name not in values:
            yield where + "tests/docs/answers.py has no such number"
        elif not number.agrees(values[number.name]):
            yield where + (f"the page says {number.text}, the tool "
                           f"{number.as_printed(values[number.name])} ({values[number.name]:.8g})")
    for name in values.keys() - {number.name for number in printed}:
        yield f"{page.path}: the number {name} is computed but not on the page"


def picture_faults(page, work):
    for picture in page.pictures():
        if not (work.folder / picture.name).is_file():
            yield f"{page.path}: no command of the page draws {picture.name}"
        if not picture.is_file():
            yield f"{page.path}: {picture} is missing"


def check_faults(page, checks):
    if not checks:
        yield f"{page.path}: is compared with no formula"
    for check in checks:
        if not check.holds():
            yield f"{page.path}: {check}"


def update(page, work, values):
    page.path.write_text(page.with_numbers(values), encoding="utf-8")
    for picture in page.pictures():
        picture.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(work.folder / picture.name, picture)
    return Page(page.path)


def processor_seconds():
    """Of this process and those that it waited for: other work on the machine does not count."""
    times = os.times()
    return times.user + times.system + times.children_user + times.children_system


def faults_of(path, options):
    page = Page(path)
    begin = processor_seconds()
    with tempfile.TemporaryDirectory() as folder:
        work = Work(page, folder, os.environ["TORSOWAVE_PROGRAM"])
        seconds = processor_seconds() - begin
        found = answers.PAGES[page.path.stem](work)
        if options.update:
            page = update(page, work, found.numbers)
        yield from number_faults(page, found.numbers)
        yield from picture_faults(page, work)
        yield from check_faults(page, found.checks)
    for check in found.checks:
        print(check)
    print(f"{page.path.name}: {len(page.numbers())} numbers, {len(found.checks)} checks, "
          f"{seconds:.1f} s")
    if seconds > options.within:
        yield f"{page.path}: takes {seconds:.1f} s, more than {options.within:g} s"


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--update", action="store_true")
    parser.add_argument("--within", type=float, default=float("inf"),
                        help="what the commands of a page may take, of one processor [s]")
    parser.add_argument("pages", nargs="+")
    options = parser.parse_args()
    faults = [fault for page in options.pages for fault in faults_of(page, options)]
    for fault in faults:
        print(fault, file=sys.stderr)
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
