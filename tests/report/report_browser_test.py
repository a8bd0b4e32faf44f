"""Makes small results, reports of them, and opens these in a real browser.

usage: report_browser_test.py FOLDER    FOLDER keeps what npm installs
"""

import os
import pathlib
import shutil
import subprocess
import sys
import tempfile

HERE = pathlib.Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent / "cli"))

import cli  # noqa: E402
import report_cli_test as small  # noqa: E402
import slices  # noqa: E402

TOOLS = {"chromium": "chromium", "node": "nodejs", "npm": "npm", "pdftotext": "poppler-utils"}
SWEEP = """base: base.yaml
vary:
  implant.position[0]: [0 mm, 10 mm, 20 mm]
  materials.scale.muscle.conductivity: [0.9, 1.1]
"""


def install(folder):
    """The modules of the lock file; again only where it changed."""
    folder.mkdir(parents=True, exist_ok=True)
    lock = (HERE / "package-lock.json").read_bytes()
    mark = folder / "installed.json"
    if mark.exists() and mark.read_bytes() == lock:
        return
    for name in ("package.json", "package-lock.json"):
        shutil.copy(HERE / name, folder)
    done = subprocess.run(["npm", "ci", "--no-audit", "--no-fund", "--ignore-scripts"], cwd=folder,
                          capture_output=True, text=True, check=False)
    if done.returncode != 0:
        sys.exit("npm cannot fetch what drives the browser (tests/report/package-lock.json); it is "
                 "needed once: run the test again with a network\n" + done.stderr)
    mark.write_bytes(lock)


def made(folder, *arguments):
    done = cli.run(*arguments, cwd=folder)
    if done.returncode != 0:
        sys.exit(f"{arguments}: {done.stderr}")


def make_pages(folder):
    """A slice with a link, layers, a sweep."""
    slice_text = slices.scenario(
        implant=small.CAPSULE, link=small.LINK,
        outputs=slices.SECTIONS["outputs"] + "\n  images: {quantity: [sar]}")
    base = slices.scenario(
        grid="{cell: 4 mm, size: [152 mm, 144 mm], absorbing_cells: 4, allow_coarse: true}",
        duration="6 ns", materials="{fit: {poles: 1, max_error: 5 %}}", outputs="{sectors: 8}")
    for name, text in (("slice", slice_text), ("layers", small.ROW), ("base", base),
                       ("sweep", SWEEP)):
        (folder / f"{name}.yaml").write_text(text, encoding="utf-8")
    for name in ("slice", "layers"):
        made(folder, "run", f"{name}.yaml", "-o", name, "--quiet")
    made(folder, "sweep", "sweep.yaml", "-o", "sweep", "--quiet")
    pages = []
    for name in ("slice", "layers", "sweep"):
        made(folder, "report", name, "--quiet")
        pages.append(folder / name / "report.html")
    return pages


def main():
    missing = [f"{tool} (Debian package {package})" for tool, package in TOOLS.items()
               if shutil.which(tool) is None]
    if missing:
        print("skipped, there is no " + ", no ".join(missing))
        return 77
    modules = pathlib.Path(sys.argv[1])
    install(modules)
    with tempfile.TemporaryDirectory() as folder:
        pages = make_pages(pathlib.Path(folder))
        environment = {**os.environ, "NODE_MODULES": str(modules),
                       "TORSOWAVE_BROWSER": shutil.which("chromium")}
        return subprocess.run(["node", HERE / "report_page_test.mjs", *pages], env=environment,
                              timeout=500, check=False).returncode


if __name__ == "__main__":
    sys.exit(main())
