"""One job, many kernels: a pipe changed in chapter 05 in one kernel is seen by 04, 09 and 14 in others."""

import pytest
from kernel import Kernel

CHANGE = """
from gaslab.show.chapter import open_chapter
panel = open_chapter("05").panel("pipe-sizing")
panel.controls["length"].value = 12.5
panel.controls["keep"].click()
print(panel.message.sentence)
"""
LOOK = {
    "04": """page = open_chapter("04")
print(round(page.panel("leak-and-drop").model["trapped"].volume, 6))""",
    "09": """page = open_chapter("09")
print(round(page.panel("pressures").model["at_hob"], 2))""",
    "14": """sheet = open_chapter("14").panel("sheet")
sheet.fresh()
print("12.50 m" in sheet.model["page"])""",
}


@pytest.fixture
def run(tmp_path, monkeypatch):
    """Return a function that runs code in a kernel of its own and returns what it printed."""
    monkeypatch.setenv("GASLAB_HOME", str(tmp_path))
    started = []

    def in_new_kernel(code):
        started.append(Kernel())
        return started[-1].printed(code)

    yield in_new_kernel
    for kernel in started:
        kernel.close()


def test_a_pipe_changed_in_05_is_seen_in_04_09_and_14(run):
    opened = "from gaslab.show.chapter import open_chapter\n"
    before = {chapter: run(opened + look) for chapter, look in LOOK.items()}
    assert "Kept in your job" in run(CHANGE)
    after = {chapter: run(opened + look) for chapter, look in LOOK.items()}
    # 10.4 m more of 15 mm pipe by the trade's table (0.00014 m3/m), and a tenth for fittings.
    assert float(after["04"]) - float(before["04"]) == pytest.approx(10.4 * 0.00014 * 1.1, abs=2e-6)
    assert float(after["09"]) < float(before["09"])
    assert (before["14"], after["14"]) == ("False", "True")
