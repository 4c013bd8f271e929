"""Reads a question family from TOML and checks every part of it, so that a fault is told by its place.

An assessor's own question goes through the same door (`read_text`).
"""

from __future__ import annotations

import re
import tomllib
from types import MappingProxyType

from gaslab import tables, units
from gaslab.learn.family import (
    INSTRUMENTS,
    KINDS,
    Chosen,
    Drawn,
    Family,
    Known,
    LimitPlan,
    Precision,
    Shows,
    SlipPlan,
    StepPlan,
    Template,
    Worked,
    template,
)  # fmt: skip
from gaslab.learn.item_facts import read_fact
from gaslab.learn.item_table import ItemFileError, Table
from gaslab.learn.trade_functions import FUNCTIONS

FOLDER = "families"
MOST_STEPS, FEWEST_SLIPS, MOST_CORNERS = 3, 2, 8
LONGEST_FILE = 40_000
MOST_VALUES = 100_000_000
DEFAULT_CEILING = 15.0
_STATUSES = tuple(status for status in tables.STATUSES if status != "enter")


def read_course_family(file: str) -> Family:
    """Return one of the course's own families by its file name."""
    family = _family(Table(tables.toml_file(f"{FOLDER}/{file}"), f"{FOLDER}/{file}"))
    if file != f"{family.id}.toml":
        raise ItemFileError(f"{FOLDER}/{file}", "family", f"must be the file's own name; found {family.id!r}")
    return family


def read_text(text: str, name: str = "your question") -> Family:
    """Return a family written by an assessor, or raise ItemFileError with the place that needs mending."""
    if len(text) > LONGEST_FILE:
        raise ItemFileError(name, "", f"is longer than {LONGEST_FILE} characters")
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise ItemFileError(name, "", f"is not readable as TOML: {error}") from None
    except RecursionError:
        raise ItemFileError(name, "", "is nested too deep") from None
    return _family(Table(raw, name))


def _family(top: Table) -> Family:
    facts = _facts(top.table("facts"))
    editions = {f"{name}_edition" for name, fact in facts.items() if fact.edition}
    known = set(facts)
    drawn = tuple(_drawn(name, top.table("draw", name), known) for name in top.names("draw"))
    if not drawn:
        raise top.fault("draw", "needs at least one number to draw")
    shown = tuple(_worked(name, top.table("shown", name), known, True) for name in top.names("shown"))
    hidden = {n.name for n in drawn if isinstance(n, Drawn) and n.hidden}
    known -= hidden  # a trainee can use only what is shown
    way = tuple(
        _worked(name, top.table("on_the_way", name), known, False) for name in top.names("on_the_way")
    )
    before_steps = set(known) | editions | {n.name for n in drawn if isinstance(n, Chosen)}
    steps = tuple(_step(part, known) for part in top.tables("steps"))
    if not 1 <= len(steps) <= MOST_STEPS:
        raise top.fault("steps", f"needs 1 to {MOST_STEPS} steps; found {len(steps)}")
    texts = before_steps | {step.id for step in steps}
    instrument, shows = _reading(top.table("reading"), before_steps)
    stem = template(top.text("stem", 1_200).strip())
    in_stem = before_steps - {s.name for s in shows} - {w.name for w in way}
    _check_template(top, "stem", stem, in_stem)
    for index, step in enumerate(steps, start=1):
        for field, part in (("ask", step.ask), ("cue", step.cue)):
            _check_template(top, f"steps {index}, {field}", part, before_steps - {s.name for s in shows})
        _check_template(top, f"steps {index}, worked", step.worked, texts)
    limits = tuple(
        _limit(part, {step.id for step in steps}, known) for part in top.tables("limits", required=False)
    )
    for index, limit in enumerate(limits, start=1):
        for field, part in (("ask", limit.ask), ("meets", limit.meets), ("fails", limit.fails)):
            _check_template(top, f"limits {index}, {field}", part, in_stem)
    family = Family(
        id=top.key("family"), version=top.whole("version", 1, 10_000) if top.has("version") else 1,
        chapter=_chapter(top),
        title=top.text("title", 80), source=_source(top), critical=top.flag("critical"), stem=stem,
        instrument=instrument, shows=shows, drawn=drawn, shown=shown, facts=MappingProxyType(facts),
        on_the_way=way, steps=steps, limits=limits,
    )  # fmt: skip
    corners = len(family.read) + len(way) + len(steps) - 1
    if corners > MOST_CORNERS:
        raise top.fault(
            "draw", f"at most {MOST_CORNERS} numbers may be read or rounded on the way; found {corners}"
        )
    top.finish()
    return family


def _chapter(top: Table) -> str:
    chapter = top.text("chapter", 2)
    if not re.fullmatch(r"[0-9]{2}", chapter):
        raise top.fault("chapter", f'must be two figures, such as "04"; found {chapter!r}')
    return chapter


def _source(part: Table) -> str:
    source = part.text("source", 40)
    if source not in tables.sources():
        raise part.fault("source", f"{source!r} is not a key in sources.csv")
    return source


def _new_name(part: Table, name: str, known: set[str]) -> str:
    if not re.fullmatch(r"[a-z][a-z0-9_]{0,30}", name) or name in FUNCTIONS:
        raise part.fault(
            "", f"{name!r} cannot be a name: use small letters, figures and _, and no function's name"
        )
    if name in known:
        raise part.fault("", f"the name {name!r} is used twice")
    known.add(name)
    return name


def _facts(part: Table) -> dict[str, Known]:
    """Return the course's own numbers that a family uses, each in the unit it asks for."""
    found: dict[str, Known] = {}
    for name in part.own_names():
        _new_name(part, name, set(found))
        found[name] = read_fact(part.table(name))
    return found


def _drawn(name: str, part: Table, known: set[str]) -> Drawn | Chosen:
    if part.has("choose"):
        return _chosen(name, part, known)
    _new_name(part, name, known)
    low, high, step = part.number("low"), part.number("high"), part.number("step")
    if not (step > 0 and high > low):
        raise part.fault("step", "needs low below high and a step above zero")
    places = part.whole("places", 0, 6) if part.has("places") else _places_of(step)
    count = int((high - low) / step + 1e-6) + 1
    if count > MOST_VALUES:
        raise part.fault("step", f"gives more than {MOST_VALUES} values")
    resolution = part.number("resolution") if part.has("resolution") else None
    drawn = Drawn(name, part.unit(), places, low, step, count, part.flag("hidden"), resolution)
    for value in (low, drawn.value(1)):
        if not drawn.hidden and abs(round(value, places) - value) > 1e-9 * max(1.0, abs(value)):
            raise part.fault("places", f"{places} decimals would not show {value:g} as it is")
    part.finish()
    return drawn


def _places_of(step: float) -> int:
    text = f"{step:.6f}".rstrip("0")
    return len(text.split(".")[1])


def _chosen(name: str, part: Table, known: set[str]) -> Chosen:
    if not re.fullmatch(r"[a-z][a-z0-9_]{0,30}", name) or name in known:
        raise part.fault("", f"{name!r} cannot be a name, or is used twice")
    texts, numbers = [], []
    for option in part.tables("choose"):
        texts.append(option.text("text", 80))
        found: dict[str, float] = {}
        for field in option.own_names():
            if field != "text":
                value = (
                    read_fact(option.table(field)).value if option.is_table(field) else option.number(field)
                )
                found[f"{name}_{field}"] = value
        numbers.append(MappingProxyType(found))
        option.finish()
    if len(texts) < 2 or len(set(texts)) != len(texts) or any(set(n) != set(numbers[0]) for n in numbers):
        raise part.fault(
            "choose", "needs two or more options with texts of their own and the same numbers in each"
        )
    for extra in numbers[0]:
        _new_name(part, extra, known)
    part.finish()
    return Chosen(name, tuple(texts), tuple(numbers))


def _precision(part: Table) -> Precision:
    if part.has("places") == part.has("figures"):
        raise part.fault("places", "give either places (decimals) or figures (significant figures)")
    if part.has("places"):
        return Precision(places=part.whole("places", 0, 6))
    return Precision(figures=part.whole("figures", 1, 6))


def _worked(name: str, part: Table, known: set[str], shown: bool) -> Worked:
    tree = part.formula("value", known)
    _new_name(part, name, known)
    resolution = part.number("resolution") if shown and part.has("resolution") else None
    precision = _precision(part)
    if shown and precision.places is None:
        raise part.fault("places", "a number that is shown needs places")
    worked = Worked(name, tree, part.unit(), precision, shown, resolution)
    part.finish()
    return worked


def _step(part: Table, known: set[str]) -> StepPlan:
    tree = part.formula("value", known)
    slips = tuple(_slip(slip, known) for slip in part.tables("slips"))
    if len(slips) < FEWEST_SLIPS or len({slip.id for slip in slips}) != len(slips):
        raise part.fault("slips", f"needs {FEWEST_SLIPS} or more slips, each with a name of its own")
    step_id = _new_name(part, part.text("id", 30), known)
    kind, unit = part.text("kind", 20), part.unit()
    if kind not in KINDS:
        raise part.fault("kind", f"must be one of {', '.join(KINDS)}; found {kind!r}")
    offered = part.texts("units_offered")
    if unit not in offered or len(set(offered)) < 2 or set(offered) - set(units.TRADE_UNITS):
        raise part.fault(
            "units_offered", "needs the right unit and at least one wrong one, all of them listed units"
        )
    if {"K", "degC"} <= set(offered):
        raise part.fault("units_offered", "a warming is the same in K and degC, so offer one of them")
    low, high = part.numbers("plausible", 2)
    if low >= high:
        raise part.fault("plausible", "needs the smaller number first")
    ceiling = part.number("condition_ceiling") if part.has("condition_ceiling") else DEFAULT_CEILING
    step = StepPlan(
        step_id, kind, template(part.text("ask", 300)), unit, offered, _precision(part), tree, (low, high), ceiling,
        slips, template(part.text("cue", 200)), template(part.text("worked", 600).strip()),
    )  # fmt: skip
    part.finish()
    return step


def _slip(part: Table, known: set[str]) -> SlipPlan:
    slip = SlipPlan(part.key("id"), part.formula("value", known), part.sentence("says"))
    part.finish()
    return slip


def _limit(part: Table, steps: set[str], known: set[str]) -> LimitPlan:
    step = part.text("step", 30)
    if step not in steps:
        raise part.fault("step", f"there is no step {step!r}")
    low = part.formula("low", known) if part.has("low") else None
    high = part.formula("high", known) if part.has("high") else None
    if low is None and high is None:
        raise part.fault("low", "needs low, high or both")
    status = part.text("status", 20)
    if status not in (*_STATUSES, "given"):
        raise part.fault("status", f"must be one of {', '.join((*_STATUSES, 'given'))}; found {status!r}")
    limit = LimitPlan(
        step, template(part.text("ask", 200)), low, high, template(part.sentence("meets")),
        template(part.sentence("fails")), _source(part), status,
    )  # fmt: skip
    part.finish()
    return limit


def _reading(part: Table, known: set[str]) -> tuple[str | None, tuple[Shows, ...]]:
    if part.empty:
        return None, ()
    instrument = part.text("instrument", 30)
    if instrument not in INSTRUMENTS:
        raise part.fault("instrument", f"must be one of {', '.join(INSTRUMENTS)}; found {instrument!r}")
    shows = []
    for each in part.tables("shows"):
        shows.append(Shows(each.text("name", 30), each.text("label", 60)))
        if shows[-1].name not in known:
            raise each.fault("name", f"nothing is called {shows[-1].name!r}")
        each.finish()
    part.finish()
    return instrument, tuple(shows)


def _check_template(top: Table, place: str, text: Template, allowed: set[str]) -> None:
    for name in sorted(text.names - allowed):
        raise top.fault(place, f"{{{name}}} stands in the text, but no such number may be shown there")
    if "{" in "".join(before for before, _, _ in text.parts):
        raise top.fault(place, "has a { that does not begin a {name}")
