"""A question reads its limit from the row in force: band, words and truth move with data/criteria."""

import dataclasses
import re
import tomllib
from pathlib import Path

import pytest

from gaslab.learn import item_file
from gaslab.refit import criteria, limits

FAMILIES = Path(__file__).resolve().parent.parent / "data" / "families"
# Limits typed in the file, each with its reason.
TYPED = {
    "cut-out-margins": "given for the exercise",
    "static-gain": "given for the exercise: the plate's pressure",
}


def text_of(name: str) -> str:
    return (FAMILIES / f"{name}.toml").read_text(encoding="utf-8")


def reads_a_limit() -> list[tuple[str, str, str]]:
    """Return (family, key of the limit, end) of each fact that is a limit without a case to choose."""
    found = []
    for path in sorted(FAMILIES.glob("*.toml")):
        facts = tomllib.loads(text_of(path.stem)).get("facts", {})
        plain = [
            f for f in facts.values() if "criterion" in f and not {"edge", "edition", "no_sign"} & set(f)
        ]
        found += [(path.stem, fact["criterion"], fact["end"]) for fact in plain]
    return found


@pytest.mark.parametrize(("name", "key", "end"), reads_a_limit())
def test_a_new_edition_moves_the_band_and_the_words(name, key, end, monkeypatch):
    """The documented way: the old rows are marked superseded, and a new row stands beside them."""
    before = item_file.read_text(text_of(name), name)
    rows = limits.rows()
    old = [dataclasses.replace(row, flags=("superseded",)) for row in rows[key]]
    grown = [
        dataclasses.replace(
            row,
            low=None if row.low is None else row.low * 2.0 + 1.0,
            high=None if row.high is None else row.high * 2.0 + 1.0,
            value="..".join(f"{2.0 * end + 1.0:g}" for end in (row.low, row.high) if end is not None),
        )
        for row in rows[key]
        if not row.superseded
    ]
    assert all(row.superseded for row in old) and not any(row.superseded for row in grown)
    for module in (limits, criteria):
        monkeypatch.setattr(module, "rows", lambda: {**rows, key: (*old, *grown)})
    after = item_file.read_text(text_of(name), name)
    moved = {fact for fact in before.facts if before.facts[fact].value != after.facts[fact].value}
    assert moved, "the question did not follow"
    said = [[plan.with_facts(limit.ask) for limit in plan.limits] for plan in (before, after)]
    asked = {name for limit in before.limits for name in limit.ask.names}
    assert (said[0] != said[1]) == bool(asked & moved)


def test_at_least_a_dozen_questions_read_a_limit():
    assert len({name for name, _, _ in reads_a_limit()}) >= 12


def test_no_question_types_a_limit_without_a_reason():
    typed = set()
    for path in FAMILIES.glob("*.toml"):
        for limit in tomllib.loads(text_of(path.stem)).get("limits", []):
            if any(re.fullmatch(r"[\d.]+", str(limit.get(end, ""))) for end in ("low", "high")):
                typed.add(path.stem)
    assert typed == set(TYPED)


BAD = {
    'criterion = "no-such-limit"': "no limit is called",
    'criterion = "supervision-time"\nend = "low"': "has no low end",
    'criterion = "supervision-time"\nend = "middle"': 'must be "low" or "high"',
    'criterion = "permitted-drop"': "not confirmed yet",
    'criterion = "oven-gap"\nend = "low"': "maker's figure",
}


@pytest.mark.parametrize("wrong", BAD)
def test_a_wrong_limit_in_a_question_file_is_told(wrong):
    lines = wrong if "end" in wrong else f'{wrong}\nend = "high"'
    spoilt = text_of("supervision-judge").replace('criterion = "supervision-time"\nend = "high"', lines)
    assert spoilt != text_of("supervision-judge")
    with pytest.raises(item_file.ItemFileError, match=re.escape(BAD[wrong])):
        item_file.read_text(spoilt, "supervision-judge")
