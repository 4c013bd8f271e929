"""The filters, each with a family made to trip it, and faults in a question file told by their place."""

import pytest

from gaslab.learn import filters, item_file, items
from gaslab.learn.chance import Chance
from gaslab.learn.item_table import ItemFileError

PLAIN = """
family = "plain"
version = 1
chapter = "01"
title = "Plain"
source = "practice"
stem = "Given are {a} and {b}."
[draw.a]
low = 2
high = 9
step = 1
unit = "m"
[draw.b]
low = 20
high = 90
step = 1
unit = "m"
[[steps]]
id = "sum"
kind = "sum"
ask = "Together?"
unit = "m"
units_offered = ["m", "m2"]
places = 1
value = "a + b"
plausible = [10, 200]
cue = "Add."
worked = "{a} + {b} = {sum}"
slips = [
  { id = "times", value = "a * b", says = "Add them." },
  { id = "minus", value = "a - b", says = "Do not take away." },
]
"""


def plain(*changes):
    text = PLAIN
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    return item_file.read_text(text)


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        (('value = "a * b"', 'value = "a + b + 0.1"'), filters.COLLISION),
        (
            ('value = "a * b"', 'value = "a + b - 0.14"'),
            filters.COLLISION,
        ),  # outside the band, nearer than its width
        (("plausible = [10, 200]", "plausible = [10, 29]"), filters.IMPLAUSIBLE),
        (('value = "a + b"', 'value = "a / (b - 20)"'), filters.NOT_A_NUMBER),
        (("Given are {a} and {b}.", "Given are {a} and {b}, not 30."), filters.GIVEN_AWAY),
        (('"Together?"', '"Together, is it 30?"'), filters.GIVEN_AWAY),
    ],
)
def test_a_filter_turns_the_draw_away(change, reason):
    with pytest.raises(items.ItemError, match=reason):
        items.build(plain(change), {"a": 10, "b": 20})
    assert items.build(plain(), {"a": 10, "b": 20}).step("sum").value == 30


def test_a_slip_whose_own_band_reaches_the_right_one_is_refused():
    """a = 10 is read to within 1, so 70 becomes 29 to 111; the right band is 28.95 to 31.05."""
    plan = plain(
        ('unit = "m"\n[draw.b]', 'unit = "m"\nresolution = 2\n[draw.b]'),
        ('value = "a * b"', 'value = "a + b + 40 * (a - 9)"'),
    )
    with pytest.raises(items.ItemError, match=filters.COLLISION):
        items.build(plan, {"a": 10, "b": 20})


@pytest.mark.parametrize(("kind", "passes"), [("sum", False), ("set-up", False), ("reading", True)])
def test_what_an_instrument_shows_is_the_answer_of_a_reading_only(kind, passes):
    shows = '\n[reading]\ninstrument = "tape"\nshows = [{ name = "b", label = "B" }]\n[[steps]]'
    text = (
        PLAIN.replace("\n[[steps]]", shows)
        .replace(" and {b}", "")
        .replace('value = "a + b"', 'value = "max(a, b)"')
    )
    plan = item_file.read_text(text.replace('kind = "sum"', f'kind = "{kind}"'))
    if passes:
        assert items.build(plan, {"a": 3, "b": 50}).step("sum").value == 50
    else:
        with pytest.raises(items.ItemError, match=filters.GIVEN_AWAY):
            items.build(plan, {"a": 3, "b": 50})


def test_a_slip_just_beyond_a_band_width_is_allowed():
    """The band is 29.95 to 30.05, its width 0.1: 29.84 lies beyond 29.85, and its own band ends at 29.89."""
    plan = plain(('value = "a * b"', 'value = "a + b - 0.16"'))
    assert items.build(plan, {"a": 10, "b": 20}).step("sum").slips[0].value == pytest.approx(29.84)


LIMIT = """
[[limits]]
step = "sum"
ask = "?"
high = "30.04"
meets = "Yes."
fails = "No."
source = "practice"
status = "given"
"""


def test_knife_edge():
    plan = item_file.read_text(PLAIN + LIMIT)
    with pytest.raises(items.ItemError, match=filters.KNIFE_EDGE):
        items.build(plan, {"a": 10, "b": 20})
    assert items.build(plan, {"a": 9, "b": 20}).limits[0].meets
    assert not items.build(plan, {"a": 11, "b": 20}).limits[0].meets


def difference(precision):
    """Return a family that asks for a - b, with the two slips turned round to fit."""
    text = PLAIN.replace('value = "a - b"', 'value = "b + a"').replace('value = "a + b"', 'value = "a - b"')
    text = text.replace("step = 1", "step = 0.1").replace("[10, 200]", "[0.1, 100]")
    return item_file.read_text(text.replace("places = 1", precision))


def test_conditioning_is_refused_for_figures_and_allowed_for_places():
    """a = 20.3, b = 19.9: condition number 20.3 / 0.4 = 50.75."""
    near = {"a": 20.3, "b": 19.9}
    assert items.build(difference("places = 1"), near).step("sum").value == pytest.approx(0.4)
    assert filters.conditions(difference("places = 1"), near)["sum"] == pytest.approx(50.75, rel=1e-3)
    with pytest.raises(items.ItemError, match=filters.CONDITION):
        items.build(difference("figures = 2"), near)


def test_slips_that_cannot_be_told_apart_are_joined():
    plan = plain(('value = "a - b"', 'value = "b * a + 0.01"'))
    slips = items.build(plan, {"a": 10, "b": 20}).step("sum").slips
    assert [slip.id for slip in slips] == ["times-or-minus"] and slips[
        0
    ].says == "Add them. Or: Do not take away."


def test_a_family_that_can_never_pass_says_so():
    with pytest.raises(items.ItemError, match="turned away"):
        items.draw_from(plain(('value = "a * b"', 'value = "a + b"')), Chance(b"x"))


def test_a_number_that_would_print_otherwise_is_refused():
    with pytest.raises(items.ItemError, match="cannot be shown"):
        items.build(plain(), {"a": 10.04, "b": 20})
    for params in (
        {"a": 10},
        {"a": 10, "b": 20, "c": 1},
        {"a": "10", "b": 20},
        {"a": True, "b": 20},
        {"a": float("nan"), "b": 2},
    ):
        with pytest.raises(items.ItemError):
            items.build(plain(), params)


# --- faults in a file are told by their place ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new", "place", "problem"),
    [
        ('cue = "Add."', "", "steps 1, cue", "is missing"),
        ("version = 1", 'version = "one"', "version", "needs a whole number"),
        ('chapter = "01"', 'chapter = "1"', "chapter", "two figures"),
        ('source = "practice"', 'source = "hearsay"', "source", "not a key in sources.csv"),
        ('title = "Plain"', 'titel = "Plain"', "title", "is missing"),
        ('title = "Plain"', 'title = "Plain"\ncolour = "red"', "colour", "is not known here"),
        ("{a} and {b}", "{a} and {c}", "stem", "{c} stands in the text"),
        ("{a} and {b}", "{a} and {B}", "stem", "does not begin a {name}"),
        ('unit = "m"\n[draw.b]', 'unit = "yard"\n[draw.b]', "draw, a, unit", "not a listed unit"),
        ("low = 2\n", "low = 12\n", "draw, a, step", "low below high"),
        ('step = 1\nunit = "m"\n[draw.b]', 'step = 0\nunit = "m"\n[draw.b]', "draw, a, step", "above zero"),
        ("[draw.b]", "[draw.sqrt]", "draw, sqrt", "no function's name"),
        ('kind = "sum"', 'kind = "guess"', "steps 1, kind", "must be one of set-up, sum, reading"),
        ('["m", "m2"]', '["m"]', "steps 1, units_offered", "at least one wrong one"),
        ('["m", "m2"]', '["m2", "m3"]', "steps 1, units_offered", "needs the right unit"),
        ("places = 1", "places = 1\nfigures = 3", "steps 1, places", "either places"),
        ('value = "a + b"', 'value = "a + c"', "steps 1, value", "is called 'c'"),
        (
            'value = "a + b"',
            'value = "a +"',
            "steps 1, value",
            "a number or a name is missing, at character 4",
        ),
        ('value = "a + b"', 'value = "__import__"', "steps 1, value", "not part of a formula"),
        ('value = "a * b"', 'value = "a ** b"', "steps 1, slips 1, value", "is missing"),
        ('says = "Add them."', 'says = "Add them"', "steps 1, slips 1, says", "full stop"),
        ('id = "minus"', 'id = "times"', "steps 1, slips", "name of its own"),
        ('id = "minus"', 'id = "<b>"', "steps 1, slips 2, id", "small letters"),
        ("plausible = [10, 200]", "plausible = [200, 10]", "steps 1, plausible", "smaller number first"),
        ("plausible = [10, 200]", "plausible = [10, nan]", "steps 1, plausible", "usable size"),
        ('id = "sum"', 'id = "a"', "steps 1", "used twice"),
        ('worked = "{a} + {b} = {sum}"', 'worked = "{total}"', "steps 1, worked", "{total} stands"),
        ('cue = "Add."', 'cue = "Is it {sum}?"', "steps 1, cue", "{sum} stands"),
    ],
)
def test_a_fault_is_told_by_file_and_place(old, new, place, problem):
    assert old in PLAIN
    with pytest.raises(ItemFileError) as caught:
        item_file.read_text(PLAIN.replace(old, new, 1), "mine.toml")
    assert (
        caught.value.place.startswith(place)
        and problem in caught.value.problem
        and str(caught.value).startswith("mine.toml, ")
    )


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("a = ", "not readable as TOML"),
        ("x" * 50_000, "longer than"),
        ("a=" + "[" * 5000, "TOML|nested"),
        ("", "needs at least one number"),
    ],
)
def test_a_file_that_is_no_family_is_refused(text, problem):
    with pytest.raises(ItemFileError, match=problem):
        item_file.read_text(text)


def test_a_family_without_a_version_is_its_first():
    assert item_file.read_text(PLAIN.replace("version = 1\n", "")).version == 1


def test_a_reading_may_not_be_printed_and_hidden_numbers_may_not_be_used():
    shows = '\n[reading]\ninstrument = "tape"\nshows = [{ name = "a", label = "A" }]\n[[steps]]'
    with pytest.raises(ItemFileError, match=r"stem: \{a\} stands in the text"):
        item_file.read_text(PLAIN.replace("\n[[steps]]", shows, 1))
    hidden = PLAIN.replace('unit = "m"\n[draw.b]', 'unit = "m"\nhidden = true\n[draw.b]', 1)
    with pytest.raises(ItemFileError, match="nothing that a trainee can use here is called 'a'"):
        item_file.read_text(hidden)
