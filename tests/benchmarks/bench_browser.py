"""From key press to changed picture in a real browser: our panels beside the usual `interact` page.

One notebook, made here, holds four panels that draw two pictures: the water gauge and the pipe loss
chart, each once ours and once the usual way, a slider of `interact` that makes a new pyplot figure. Keys are
pressed in turns, so that a busy moment hits all four. The page itself takes both times.
"""

import statistics
import sys
import tempfile
from pathlib import Path

import nbformat
from playwright.sync_api import Locator, Page, sync_playwright
from timing import said

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent / "browser"))  # the browser tests' own JupyterLab and page

from lab import BROWSER_FLAGS, Lab, browser_path  # noqa: E402
from sheet import SCREEN, Sheet  # noqa: E402

ROUNDS, PRESSES, WARM = 6, 10, 3  # presses in a row before the next panel's turn; the first of a turn warm it
AIM = 150.0  # ms: within this 95 of 100 key presses should be answered
CELLS = [
    f"""import sys
sys.path.insert(0, {str(HERE)!r})
import bench_show as shown
%matplotlib inline
from ipywidgets import FloatSlider, interact
import matplotlib.pyplot as plt
def slider():
    return FloatSlider(min=0, max=1, step=0.01, value=0.5)
def usual(draw):
    def move(x):
        draw(x)
        plt.show()
    interact(move, x=slider())""",
    "shown.panel_of(shown.gauges_of_x, step=0.01).widget",
    "usual(shown.usual_gauge_figure)",
    "shown.panel_of(shown.our_chart(), step=0.01).widget",
    "usual(shown.usual_chart_figure)",
]
# The picture has changed when the page draws what came: a frame after an `img` or the drawing was replaced.
_LISTEN = """area => {
    window.taken = [];
    const looks = () => {
        const images = area.querySelectorAll('.jp-OutputArea-output img, .gl-picture svg');
        return [...images].map(image => image.src || image.outerHTML).join();
    };
    let pressed = null, before = looks();
    if (window.heard) removeEventListener('keydown', window.heard, true);
    window.heard = () => { pressed = performance.now(); };
    addEventListener('keydown', window.heard, true);
    if (window.watched) window.watched.disconnect();
    window.watched = new MutationObserver(() => {
        const now = looks();
        if (!now || now === before) return;
        before = now;
        const start = pressed;
        if (start !== null) requestAnimationFrame(() => window.taken.push(performance.now() - start));
        pressed = null;
    });
    window.watched.observe(area, {childList: true, subtree: true, characterData: true, attributes: true});
}"""


def notebook(folder: Path) -> Path:
    """Write the notebook with the four panels, and return its file."""
    cells = [nbformat.v4.new_code_cell(source) for source in CELLS]
    path = folder / "side-by-side.ipynb"
    kernel = {"name": "python3", "display_name": "Python 3", "language": "python"}
    nbformat.write(nbformat.v4.new_notebook(cells=cells, metadata={"kernelspec": kernel}), path)
    return path


def press(page: Page, area: Locator, focus: Locator, key: str, count: int) -> list[float]:
    """Press a key so many times, each after the last was answered, and return the times taken [ms]."""
    area.scroll_into_view_if_needed()
    area.evaluate(_LISTEN)
    focus.focus()
    for at in range(count):
        page.keyboard.press(key)
        page.wait_for_function("at => window.taken.length > at", arg=at, timeout=10_000)
        page.wait_for_timeout(150)  # a person's pace, and the rest of the update is done
    return page.evaluate("window.taken")


def measure(sheet: Sheet) -> dict[str, list[float]]:
    """Return the times [ms] of each panel's presses, taken in turns."""
    names = ("instrument", "usual instrument", "chart", "usual chart")
    areas = [sheet.page.locator(".jp-Cell").nth(at) for at in (1, 2, 3, 4)]
    found: dict[str, list[float]] = {name: [] for name in names}
    for turn in range(ROUNDS):
        for name, area in zip(names, areas, strict=True):
            if name.startswith("usual"):
                focus, key = area.locator(".noUi-handle").first, "PageDown" if turn % 2 else "PageUp"
            else:
                focus = area.get_by_role("button", name="x: less" if turn % 2 else "x: more")
                key = "Space"
            found[name] += press(sheet.page, area, focus, key, PRESSES)[WARM:]
    return found


def main() -> int:
    with tempfile.TemporaryDirectory() as place, sync_playwright() as playwright:
        folder = Path(place)
        lab = Lab(folder, [notebook(folder)])
        try:
            browser = playwright.chromium.launch(executable_path=browser_path(), args=BROWSER_FLAGS)
            sheet = Sheet(browser.new_page(viewport=SCREEN), "side-by-side.ipynb")
            sheet.open(lab.url(sheet.name))
            sheet.run_all()
            if sheet.errors():
                raise SystemExit("\n".join(sheet.errors()))
            found = measure(sheet)
            browser.close()
        finally:
            lab.stop()
    print("From key press to changed picture, in the browser")
    middle = {name: statistics.median(times) for name, times in found.items()}
    for name, times in found.items():
        late = statistics.quantiles(times, n=20)[-1]
        aim = "" if name.startswith("usual") else f"(aim: under {AIM:.0f} ms)"
        print(f"  {name:<18} median {middle[name]:6.1f} ms, 95 % within {late:6.1f} ms of {len(times)} {aim}")
    for name in ("instrument", "chart"):
        times = middle["usual " + name] / middle[name]
        print(f"  {name}: {said(middle['usual ' + name] / 1e3)} the usual way, {times:.1f} times as long")
    return 0


if __name__ == "__main__":
    sys.exit(main())
