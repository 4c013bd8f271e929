"""How sure a reading is: GUM's figures, advice that decides nothing, and why a short gas-rate run says little.

Digital step: JCGM 100, F.2.2.1 (u = 0.29 of the step). One digit of a 7 kW hob: 9 % in 60 s, 4.6 % in 120 s (computed
outside this program with 39 MJ/m3).
"""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from gaslab import tables, units
from gaslab.physics import metering
from gaslab.refit import checks, criteria, doubt, lenses, limits, site, tosheet
from gaslab.refit.job import Job
from gaslab.show.chapter import open_chapter

ALDER = site.load("alder-court")
HOB = 7_000.0  # W gross, the trade's example of a small hob
QUIET = settings(deadline=None, max_examples=60, derandomize=True)


def test_one_reading_is_an_even_spread_and_a_difference_a_triangle():
    # scipy's uniform and triangular distributions of one step; GUM F.2.2.1 prints 0.29 for the first.
    assert metering.digital_uncertainty(1.0) == pytest.approx(stats.uniform(0, 1).std(), rel=1e-12)
    assert metering.digital_uncertainty(1.0) == pytest.approx(0.29, abs=0.005)
    assert metering.drop_uncertainty(1.0) == pytest.approx(stats.triang(0.5, -1, 2).std(), rel=1e-12)


@pytest.mark.parametrize(
    "kind, step, spread",
    [
        ("reading", 10.0, stats.uniform(0, 10.0).std()),
        ("difference", 10.0, stats.triang(0.5, -10.0, 20.0).std()),
        # Two presses of the watch, each anywhere within 0.2 s (teaching value), and the last digit of the watch.
        ("time", 1.0, math.sqrt(stats.triang(0.5, -0.4, 0.8).std() ** 2 + stats.uniform(0, 1).var())),
    ],
)
def test_the_expanded_uncertainty_is_twice_the_spread(kind, step, spread):
    assert doubt.expanded(kind, step) == pytest.approx(2.0 * spread, rel=1e-12)


def test_a_count_has_no_doubt_and_an_unknown_kind_is_refused():
    assert doubt.expanded("", 1.0) is None
    with pytest.raises(ValueError, match="kind of reading"):
        doubt.expanded("guess", 1.0)


@pytest.mark.parametrize(("seconds", "percent"), [(60.0, 9.0), (120.0, 4.6)])
def test_one_digit_of_a_seven_kilowatt_hob(seconds, percent):
    # Published as 9 % and 4.6 % of the volume that passes; to the digits printed.
    passed = HOB / 39e6 * seconds
    assert 100.0 * 0.001 / passed == pytest.approx(percent, abs=0.5 if percent == 9.0 else 0.05)
    # The lesson's own lens counts whole digits, so its share may differ by the one digit that was cut off.
    found = lenses.timed_rate(ALDER, HOB, seconds)
    whole = math.floor(HOB / ALDER.cv_gross * seconds / 0.001)
    assert found.digit_share == pytest.approx(1.0 / whole, rel=1e-9)
    assert abs(1.0 / found.digit_share - passed / 0.001) < 1.5


def test_a_minute_on_a_small_hob_is_limited_by_the_digit():
    """The index alone is wider than the lower side of the band for a minute; ten minutes bring it down."""
    minute, ten = (lenses.timed_rate(ALDER, HOB, seconds) for seconds in (60.0, 600.0))
    meter = tables.si("meters", ALDER.meter.type, "class_error")
    press = tables.si("practice", "stopwatch", "reaction_time")
    index_only = 2.0 * metering.rate_uncertainty(minute.volume, 60.0, 0.001, 0.0, 0.0)
    the_rest = 2.0 * metering.rate_uncertainty(minute.volume, 60.0, 0.0, meter, press)
    assert index_only > 3.0 * the_rest
    assert index_only == pytest.approx(2.0 * 0.001 / math.sqrt(6.0) / minute.volume, rel=1e-9)
    assert minute.uncertainty > 0.05  # wider than the upper side of the band, +5 % (common practice)
    assert ten.uncertainty < minute.uncertainty / 3.0


def test_the_same_burner_is_judged_after_a_long_run_and_not_after_a_short_one():
    """At 4 % below the plate: the doubt of a minute reaches over -10 %; that of ten minutes does not."""
    share = {}
    for seconds in (60.0, 600.0):
        found = lenses.timed_rate(ALDER, HOB, seconds)
        share[seconds] = criteria.judge("gas-rate-band", -0.04, uncertainty=found.uncertainty)
    assert share[60.0].outcome == criteria.IN_DOUBT and share[600.0].outcome == criteria.MEETS
    assert "for longer" in share[60.0].advice and not share[600.0].advice


def test_a_late_press_of_the_watch_counts_less_in_a_longer_run():
    # Drawn, not computed: two presses, each anywhere within 0.2 s of the true moment (teaching value).
    draw = np.random.default_rng(5)
    press = tables.si("practice", "stopwatch", "reaction_time")
    late = draw.uniform(-press, press, (2, 200_000))
    for seconds in (30.0, 60.0, 120.0):
        spread = np.std(seconds / (seconds + late[1] - late[0]))
        found = metering.rate_uncertainty(0.01, seconds, 0.0, 0.0, press)
        assert found == pytest.approx(spread, rel=0.01)


@given(st.floats(3_000.0, 12_000.0), st.floats(60.0, 240.0), st.floats(1.0, 100.0))
@QUIET
def test_what_the_index_shows_is_within_its_doubt(heat, seconds, start):
    """The rate read is never further from the true one than one digit: the bound behind the figure."""
    found = lenses.timed_rate(ALDER, heat, seconds, start=start)
    assert abs(found.volume - heat / ALDER.cv_gross * seconds) <= found.digit * (1.0 + 1e-6)


def test_only_rows_that_ask_for_it_turn_doubt_into_cannot_tell():
    """At its own limit and with doubt around it, a row decides nothing only when it is marked so."""
    marked = set()
    for key, rows in limits.rows().items():
        for row in rows:
            if not row.known or row.superseded:
                continue
            end = row.low if row.high is None else row.high
            asked = criteria._compared(row, units.to_si(end, row.unit), 1e-9)
            assert (asked.outcome == criteria.IN_DOUBT) == ("doubt counts" in row.flags), key
            assert asked.advice
            marked |= {key} if "doubt counts" in row.flags else set()
    assert marked == {"gas-rate-band"}


def test_on_the_sheet_doubt_stands_beside_the_finding_as_advice(tmp_path):
    """18.5 mbar meets 18.5 to 23 (IGEM/G/13) as read, and the step of the gauge is told beside it."""
    job = Job.load(tmp_path)
    edge = tosheet.put(job, "working-pressure", 18.5)
    assert edge.outcome == criteria.MEETS and "finer tool" in edge.advice
    assert edge.uncertainty == pytest.approx(2.0 * 10.0 / math.sqrt(12.0))  # 0.1 mbar steps, in Pa
    clear = tosheet.put(job, "working-pressure", 21.0)
    assert clear.outcome == criteria.MEETS and not clear.advice
    assert tosheet.put(job, "flames-lost", 0.0).uncertainty is None
    kept = [record for record in Job.load(tmp_path).findings if record.key == "meter-working"]
    assert kept[-1].uncertainty == pytest.approx(clear.uncertainty)


def test_a_drop_on_the_sheet_has_the_doubt_of_a_difference(tmp_path):
    found = tosheet.put(Job.load(tmp_path), "second-test-drop", 0.1)
    assert found.uncertainty == pytest.approx(2.0 * 10.0 / math.sqrt(6.0))


def test_a_gas_rate_on_the_sheet_has_the_doubt_of_its_run(tmp_path):
    """At the plate's own rate a minute cannot tell and ten can: the index and the meter's class, by hand."""
    job, plate = Job.load(tmp_path), ALDER.hob().plate_input()
    minute = tosheet.put(job, "gas-rate", 0.0, run=60.0)
    assert minute.outcome == criteria.IN_DOUBT and "for longer" in minute.advice
    ten = tosheet.put(job, "gas-rate", 0.0, run=600.0)
    assert ten.outcome == criteria.MEETS
    volume = math.floor(plate / ALDER.cv_gross * 600.0 / 0.001) * 0.001
    index, meter, watch = (
        0.001 / math.sqrt(6.0) / volume,
        0.015 / math.sqrt(3.0),
        0.2 * math.sqrt(2 / 3) / 600.0,
    )
    assert ten.uncertainty == pytest.approx(2.0 * math.sqrt(index**2 + meter**2 + watch**2), rel=1e-6)
    assert tosheet.put(job, "gas-rate", 0.0).uncertainty is None  # no run told: nothing is worked out


def test_the_sheet_asks_how_long_the_meter_was_watched(tmp_path, monkeypatch):
    monkeypatch.setenv("GASLAB_HOME", str(tmp_path))
    panel = open_chapter("10").record()
    panel.controls["value"].value = "0"
    for text, words in (
        ("", "box is empty"),
        ("5", "needed 10 to 3600 s"),
        ("2 mbar", "How long you watched"),
    ):
        panel.controls["run"].value = text
        panel.controls["put"].click()
        assert words in panel.message.sentence
        assert not panel.job.readings
    panel.controls["run"].value = "60"
    panel.controls["put"].click()
    assert "cannot tell" in panel.message.sentence.lower()
    other = open_chapter("09").record()
    assert other.controls["run"].layout.display == "none"


def test_a_check_that_is_measured_has_a_doubt_and_a_count_has_none(tmp_path):
    job = Job.load(tmp_path)
    assert checks.answer(job, "oven-projection", 30.0).uncertainty == pytest.approx(
        2.0 * 0.001 / math.sqrt(12.0)
    )
    spaced = checks.answer(job, "clips", 1.25, more={"way": "horizontal", "pipe": "copper-15"})
    assert spaced.uncertainty == pytest.approx(2.0 * 0.01 / math.sqrt(12.0))
    assert job.readings[-1].value == 1.25 and job.readings[-1].resolution == 0.01
    assert checks.answer(job, "relit", 0.0).uncertainty is None
