"""Let a browser draw a page, and see that it did. Run by the environment's Python:

    python gaslab/commands/draw_page.py BROWSER

Prints one of the words below. A browser that starts and shows nothing, or no letters, is no browser for the tests;
nor is one whose letters are wider than those that the pages ask for, because words would not fit their boxes.
"""

import io
import sys

from PIL import Image
from playwright.sync_api import Error, sync_playwright

FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip
DRAWN, NO_PICTURE, NO_LETTERS = "drawn", "no picture", "no letters"
OTHER_LETTERS = "letters of another width than Arial's: the fonts are missing"
# Ten times m, 100 pixels high: 0.833 of the height each, in Arial and in the fonts made to its measure.
# Read off the fonts' own tables (advance 1706 of 2048 units).
WIDTH, MEASURE = 833.0, "m" * 10
BLUE = (0, 0, 255)
PAGE = """<body style="margin:0; background:#fff">
<div style="width:200px; height:100px; background:rgb(0,0,255)"></div>
<p style="margin:0; font:40px/100px Arial,'Liberation Sans',Helvetica,sans-serif">Gas 21 mbar</p>"""
_MEASURE = """words => {
    const pen = document.createElement('canvas').getContext('2d');
    pen.font = "100px Arial, 'Liberation Sans', Helvetica, sans-serif";
    return pen.measureText(words).width;
}"""
LIMIT = 30_000.0  # ms


def draw(browser: str) -> tuple[Image.Image, float]:
    """Return the page as the browser draws it, and how wide its letters are [pixels]."""
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=browser, args=FLAGS, timeout=LIMIT)
        page = started.new_page(viewport={"width": 400, "height": 200})
        page.set_content(PAGE)
        shot, width = page.screenshot(timeout=LIMIT), page.evaluate(_MEASURE, MEASURE)
        started.close()
    return Image.open(io.BytesIO(shot)).convert("RGB"), width


def seen(drawn: Image.Image, width: float) -> str:
    """Return what a picture of the page shows, its letters being so wide."""
    if drawn.getpixel((100, 50)) != BLUE or drawn.getpixel((300, 50)) == BLUE:
        return NO_PICTURE
    dark_pixels = sum(drawn.crop((0, 100, 400, 200)).convert("L").histogram()[:100])
    if not dark_pixels:
        return NO_LETTERS
    return DRAWN if abs(width - WIDTH) < 5.0 else OTHER_LETTERS


def main() -> int:
    """Print whether the browser named on the command line draws a page; return 0 when it does."""
    try:
        told = seen(*draw(sys.argv[1]))
    except Error as error:
        lines = [line.strip() for line in str(error).splitlines() if line.strip()]
        reasons = [line for line in lines if "shared libraries" in line or "not found" in line.lower()]
        told = f"{NO_PICTURE}: {(reasons or lines)[0][-160:]}"
    print(told)
    return 0 if told == DRAWN else 1


if __name__ == "__main__":
    sys.exit(main())
