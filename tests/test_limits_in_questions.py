"""A question types the figure of its limit in its own words. Each such figure is held to the row in force.

A new edition changes a row of data/criteria; this test then names every question that must change with it.
"""

import re
import tomllib
from pathlib import Path

import pytest

from gaslab.refit import criteria

FAMILIES = Path(__file__).resolve().parent.parent / "data" / "families"
HOUSE = {"low_supply": False, "room_volume": 8.0}
# Family, place of its limit, end of it, key of the limit, what the limit asks to know, and how the words print it.
TYPED = [
    ("meter-outlet-judge", 0, "low", "meter-working", HOUSE, "18.5"),
    ("meter-outlet-judge", 0, "high", "meter-working", HOUSE, "23"),
    ("let-by-rise", 0, "high", "let-by-rise", {"gauge": "electronic-2"}, "0.25"),
    ("noise-exposure", 0, "high", "noise-upper", {}, "85"),
    ("vibration-exposure", 0, "high", "vibration-action", {}, "2.5"),
    ("vibration-exposure", 1, "high", "vibration-limit", {}, "5"),
    ("pipe-drop-total", 0, "high", "pipe-drop", {}, "1"),
    ("regulator-droop", 0, "high", "meter-lock-up", {}, "30"),
    ("room-volume", 0, "low", "room-no-opening", {}, "10"),
    ("wobbe-number", 0, "low", "wobbe-lower", {}, "46.50"),
    ("wobbe-number", 1, "high", "wobbe-upper", {}, "51.41"),
]
# Families whose ends come from [facts] print them in their words too; the words are held to the same rows.
IN_WORDS = [
    ("supervision-judge", "supervision-time", "high", "60 s"),
    ("drop-out-time", "supervision-time", "high", "60 s"),
    ("emf-reading", "supervision-time", "high", "60 s"),
    ("gas-rate-band", "gas-rate-band", "high", "5 %"),
    ("working-pressure-loss", "pipe-drop", "high", "one millibar"),
]
# Typed figures that are held to no row of data/criteria, each with its reason.
NO_ROW = {
    "co-ratio": "a boiler's figure; no row of data/criteria judges a boiler",
    "cut-out-margins": "given for the exercise",
    "relative-density": "no row of data/criteria judges the relative density of the gas",
    "static-gain": "given for the exercise: the plate's pressure",
    "vent-area-cooker": "the bound between two rows of the ventilation table, not a limit of its own",
    "working-pressure-loss": "held by its words below",
}


def family(name: str) -> dict:
    return tomllib.loads((FAMILIES / f"{name}.toml").read_text(encoding="utf-8"))


@pytest.mark.parametrize(("name", "place", "end", "key", "known", "printed"), TYPED)
def test_a_typed_limit_is_the_one_in_force(name, place, end, key, known, printed):
    limit = family(name)["limits"][place]
    row = criteria.criterion(key, known, entries=())
    assert float(limit[end]) == getattr(row, end), f"data/families/{name}.toml: mend {end} and its words"
    assert float(printed) == getattr(row, end)
    assert re.search(rf"(?<![\d.]){re.escape(printed)}(?![\d.]*\d)", limit["ask"]), limit["ask"]


@pytest.mark.parametrize(("name", "key", "end", "words"), IN_WORDS)
def test_the_words_print_the_limit_in_force(name, key, end, words):
    row = criteria.criterion(key, {}, entries=())
    figure = 1.0 if words.startswith("one ") else float(words.split()[0])
    assert figure == getattr(row, end), f"data/families/{name}.toml: mend its words"
    assert words in family(name)["limits"][0]["ask"]


def test_the_dust_limits_of_the_question_are_the_ones_in_force():
    found = {
        limit["text"]: float(limit["limit"]) for limit in family("dust-average")["draw"]["wood"]["choose"]
    }
    for text, value in found.items():
        wood = "hardwood" if "hardwood" in text else "softwood"
        assert value == criteria.criterion(f"dust-{wood}", {"wood": wood}, entries=()).high, text


def test_every_typed_limit_is_held_or_says_why_not():
    typed = set()
    for path in FAMILIES.glob("*.toml"):
        for limit in family(path.stem).get("limits", []):
            if any(re.fullmatch(r"[\d.]+", str(limit.get(end, ""))) for end in ("low", "high")):
                typed.add(path.stem)
    assert typed == {case[0] for case in TYPED} | set(NO_ROW)
