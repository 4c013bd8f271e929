"""The bench's clock in the browser: play, pause and step; no frame is left waiting; one change of picture for each key.

Nothing here passes or fails by the time it takes: tests/benchmarks/bench_browser.py measures that.
"""

import re

import pytest
from at_panel import AtPanel
from sheet import Sheet

BENCH, COOLING = "The bench: flame supervision", "Voltage over time"
PRESSES = 40
_COUNT = """picture => {
    window.changes = 0;
    let pressed = false;
    addEventListener('keydown', () => { pressed = true; }, true);
    new MutationObserver(() => {
        window.changes += pressed;
        pressed = false;
    }).observe(picture, {childList: true, subtree: true, characterData: true, attributes: true});
}"""


@pytest.fixture(scope="module")
def page(visit):
    """Open the page on flame supervision once: it has the bench and a chart."""
    sheet = visit("11")
    yield sheet
    assert (sheet.errors(), sheet.console) == ([], [])


def clock(bench: AtPanel) -> float:
    """Return what the bench's clock shows [s]."""
    found = re.search(r"Clock (?:(\d+) h )?(\d+) min (\d+) s", bench.words())
    assert found, bench.words()
    hours, minutes, seconds = (int(part or 0) for part in found.groups())
    return 3600.0 * hours + 60.0 * minutes + seconds


def play_button(bench: AtPanel):
    return bench.root.locator(".widget-play button").first


def throttle(sheet: Sheet, times: float):
    """Make the browser work that many times slower than the machine can."""
    session = sheet.page.context.new_cdp_session(sheet.page)
    session.send("Emulation.setCPUThrottlingRate", {"rate": times})
    return session


def play_for(bench: AtPanel, page_milliseconds: int) -> tuple[float, float, float]:
    """Play and pause by keyboard; return the clock before, just after the pause, and 2.5 s later."""
    before = clock(bench)
    play_button(bench).focus()
    bench.page.keyboard.press("Space")
    bench.page.wait_for_timeout(page_milliseconds)
    bench.until(lambda: clock(bench) > before, "the clock did not start")
    play_button(bench).focus()
    bench.page.keyboard.press("Space")
    bench.page.wait_for_timeout(500)  # one frame may be on its way when the hand comes down
    paused = clock(bench)
    bench.page.wait_for_timeout(2_500)
    return before, paused, clock(bench)


def test_the_clock_stands_until_it_is_started(page):
    bench = AtPanel(page, BENCH)
    assert clock(bench) == 0.0
    page.page.wait_for_timeout(1_000)
    assert clock(bench) == 0.0


def test_a_step_is_a_step(page):
    bench = AtPanel(page, BENCH)
    before = clock(bench)
    bench.pick("Step", "10 seconds")
    bench.press("Let that pass")
    bench.until(lambda: clock(bench) == before + 10.0, "ten seconds did not pass")
    bench.press("Let that pass")
    bench.until(lambda: clock(bench) == before + 20.0, "a second step did not pass")


def test_play_and_pause_leave_no_frame_waiting(page):
    """The clock runs at twenty times, so one frame too many would show as whole seconds."""
    bench = AtPanel(page, BENCH)
    bench.pick("Clock runs", "twenty times")
    before, paused, later = play_for(bench, 1_500)
    assert paused > before
    assert later == paused, "frames went on after the pause"


def test_a_slow_browser_leaves_no_frame_waiting(page):
    bench = AtPanel(page, BENCH)
    slow = throttle(page, 8.0)
    try:
        before, paused, later = play_for(bench, 4_000)
    finally:
        slow.send("Emulation.setCPUThrottlingRate", {"rate": 1})
        slow.detach()
    assert paused > before
    assert later == paused, "old frames were waiting behind a slow browser"
    bench.press("Let that pass")
    bench.until(lambda: clock(bench) == later + 10.0, "a step after the pause is not just a step")


def test_work_goes_on_while_the_clock_runs(page):
    """Acting must not wait for the clock: a window is opened between two frames."""
    bench = AtPanel(page, BENCH)
    bench.pick("What do you do?", "open window")
    play_button(bench).focus()
    page.page.keyboard.press("Space")
    bench.press("Do it")
    bench.until(lambda: "Window open" in bench.words(), "the window stays shut")
    play_button(bench).focus()
    page.page.keyboard.press("Space")


def test_each_key_changes_the_picture_once(page):
    panel = AtPanel(page, COOLING)
    picture = panel.root.locator(".gl-picture").first
    picture.evaluate(_COUNT)
    panel.control("Time constant: more").focus()
    for turn in range(PRESSES):
        if turn == PRESSES // 2:
            panel.control("Time constant: less").focus()
        page.page.keyboard.press("Space")
        panel.until(
            lambda turn=turn: page.page.evaluate("window.changes") == turn + 1, "the picture did not follow"
        )
    assert page.page.evaluate("window.changes") == PRESSES
