"""Pictures of notebooks for a person to look at.

    .venv/bin/python tests/browser/shots.py notebooks/05-pipe-run.ipynb ...

One file a screen of 1280 x 800, in .test-output/pictures. Names of the files are printed.
"""

import sys
import tempfile
from pathlib import Path

from lab import BROWSER_FLAGS, NOTEBOOKS, PICTURES, Lab, browser_path
from playwright.sync_api import sync_playwright
from sheet import SCREEN, Sheet


def main(names: list[str]) -> int:
    paths = [Path(name).resolve() for name in names] or NOTEBOOKS
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        lab = Lab(Path(folder) / "lab", paths)
        try:
            browser = playwright.chromium.launch(executable_path=browser_path(), args=BROWSER_FLAGS)
            bad = [picture(lab, browser, path) for path in paths]
            browser.close()
        finally:
            lab.stop()
    return 1 if any(bad) else 0


def picture(lab: Lab, browser, path: Path) -> bool:
    """Print what one notebook shows; return True when something in it is wrong."""
    lab.empty_home()
    page = browser.new_context(viewport=SCREEN).new_page()
    sheet = Sheet(page, path.name)
    sheet.open(lab.url(path.name))
    sheet.run_all()
    for file in sheet.pictures(PICTURES):
        print(file)
    faults = [*sheet.errors(), *sheet.console, *sheet.nameless(), *sheet.clipped()]
    print("\n".join(f"  wrong: {fault}" for fault in faults) or "  nothing wrong seen")
    page.context.close()
    lab.end_kernels()
    return bool(faults)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
