"""The bench's clock in the browser: play, pause and step; no frame is left waiting; one change of picture for each key.

Nothing here passes or fails by the time it takes: tests/benchmarks/bench_browser.py measures that.
"""

import re

import pytest
from at_panel import AtPanel
from sheet import Sheet
from tab import in_group

pytestmark = in_group("11")
BENCH, COOLING = "The bench: flame supervision", "Voltage over time"
PRESSES = 40
A_FRAME = 1.0  # s on the bench's clock at twenty times: a frame of 0.05 s
# One frame is with the kernel when the hand comes down, and the page keeps the newest one. More must not be waiting.
UNDER_WAY = 2 * A_FRAME
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
def page(tab):
    """Take the page on flame supervision once: it has the bench and a chart."""
    sheet = tab.ran("11")
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


def play_and_pause(bench: AtPanel, frames: int) -> tuple[float, float, float]:
    """Play some frames and pause, by keyboard; return what the clock shows on the pause, then, and a second later.

    Then is when the kernel has taken in all that the page had sent it.
    """
    before = clock(bench)
    play_button(bench).focus()
    bench.page.keyboard.press("Space")
    bench.until(lambda: clock(bench) >= before + frames * A_FRAME, "the clock does not run")
    play_button(bench).focus()
    bench.page.keyboard.press("Space")
    at_once = clock(bench)
    bench.settle()
    paused = clock(bench)
    bench.page.wait_for_timeout(1_000)  # nothing may happen
    return at_once, paused, clock(bench)


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
    at_once, paused, later = play_and_pause(bench, frames=20)
    assert paused - at_once <= UNDER_WAY, "frames were waiting when the clock was paused"
    assert later == paused, "frames went on after the pause"


def test_a_slow_browser_leaves_no_frame_waiting(page):
    bench = AtPanel(page, BENCH)
    slow = throttle(page, 8.0)
    try:
        at_once, paused, later = play_and_pause(bench, frames=10)
    finally:
        slow.send("Emulation.setCPUThrottlingRate", {"rate": 1})
        slow.detach()
    assert paused - at_once <= UNDER_WAY, "old frames were waiting behind a slow browser"
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
