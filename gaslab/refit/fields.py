"""How a part of a site is declared, read from its file, and changed.

Each field of a part says once what it may hold: a number with unit and range, a
choice, a yes or no, a few words, a count, or further parts. Reading the file and
changing a value go through the same check, so nothing else can get in.
In the file a number is written with its unit and what stands behind it:
`[3.6, "m", "invented"]`. Inside it is a plain float in SI.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any

from gaslab import tables, units
from gaslab.guard import InputError, Number, checked

MOST_WORDS = 300  # characters of free text in one field


class SiteError(ValueError):
    """A value that the site cannot take: which field, what was read, what is needed."""

    def __init__(self, path: str, read: object, need: str):
        self.path, self.read, self.need = path, read, need
        text = repr(read) if isinstance(read, str) else str(read)
        super().__init__(f"{path}: read {text[:80]}; needed {need}.")


@dataclasses.dataclass(frozen=True)
class Origin:
    """A number as the file gives it, and what stands behind it."""

    value: float
    unit: str
    status: str


@dataclasses.dataclass(frozen=True)
class Kind:
    """What a field holds. `check(path, value)` returns the value to keep or raises SiteError."""

    check: Callable[[str, Any], Any] | None = None
    number: Number | None = None
    part: type | None = None
    many: bool = False
    counts: bool = False


def _field(kind: Kind, default: Any = dataclasses.MISSING) -> Any:
    return dataclasses.field(metadata={"kind": kind}, default=default)


def number(spec: Number) -> Any:
    """Declare a number: its SI unit, its range and what it means."""

    def check(path: str, value):
        try:
            value = checked("site", path, spec, value)
        except InputError as error:
            raise SiteError(path, error.got, error.need) from None
        if not isinstance(value, float):
            raise SiteError(path, value, "one number, not a list")
        return value

    return _field(Kind(check, number=spec))


def choice(*allowed: str, table: str = "") -> Any:
    """Declare one of a few words, or one of the keys of a data table."""

    def check(path: str, value):
        known = tables.keys(table) if table else allowed
        if not isinstance(value, str) or value not in known:
            raise SiteError(path, value, f"one of {', '.join(known)}")
        return value

    return _field(Kind(check))


def yes_no() -> Any:
    """Declare a yes or no."""

    def check(path: str, value):
        if not isinstance(value, bool):
            raise SiteError(path, value, "true or false")
        return value

    return _field(Kind(check))


def words() -> Any:
    """Declare a few words of text."""

    def check(path: str, value):
        if not isinstance(value, str) or not value.strip():
            raise SiteError(path, value, "some words")
        if len(value) > MOST_WORDS or not value.isprintable():
            raise SiteError(path, value, f"at most {MOST_WORDS} plain characters on one line")
        return value

    return _field(Kind(check))


def label() -> Any:
    """Declare a short name that paths can use: small letters, figures and hyphens."""

    def check(path: str, value):
        if not isinstance(value, str) or not re.fullmatch(r"[a-z0-9][a-z0-9-]{0,39}", value):
            raise SiteError(path, value, "a short name of small letters, figures and hyphens")
        return value

    return _field(Kind(check))


def counts(most: int, *names: str) -> Any:
    """Declare whole numbers by name, such as fittings on a run."""

    def check(path: str, value):
        name = path.rpartition(".")[2]
        if name not in names:
            raise SiteError(path, name, f"one of {', '.join(names)}")
        plain = isinstance(value, (int, float)) and not isinstance(value, bool)
        if not plain or not 0 <= value <= most or value != int(value):
            raise SiteError(path, value, f"a whole number from 0 to {most}")
        return int(value)

    return _field(Kind(check, counts=True))


def one(part: type) -> Any:
    """Declare one further part."""
    return _field(Kind(part=part))


def many(part: type) -> Any:
    """Declare a row of further parts, each with its own id."""
    return _field(Kind(part=part, many=True))


def _kinds(part) -> dict[str, Kind]:
    return {f.name: f.metadata["kind"] for f in dataclasses.fields(part) if "kind" in f.metadata}


def build(part: type, raw: Any, path: str, origins: dict[str, Origin]) -> Any:
    """Return `part` read from the raw dictionary of a file, noting each number's origin."""
    if not isinstance(raw, Mapping):
        raise SiteError(path or "the file", raw, "named values in braces")
    kinds = _kinds(part)
    for name in raw:
        if name not in kinds:
            raise SiteError(_join(path, name), "this name", f"one of {', '.join(kinds)}")
    values = {}
    for name, kind in kinds.items():
        place = _join(path, name)
        if name not in raw:
            raise SiteError(place, "nothing", "a value")
        values[name] = _read(kind, raw[name], place, origins)
    return part(**values)


def _read(kind: Kind, raw, place: str, origins: dict[str, Origin]):
    if kind.part is not None:
        return (_read_many if kind.many else build)(kind.part, raw, place, origins)
    assert kind.check is not None, f"{place}: a field that is no part says how it is checked"
    if kind.counts:
        if not isinstance(raw, Mapping):
            raise SiteError(place, raw, "counts by name in braces")
        found = {
            name: kind.check(_join(place, name), _number(leaf, _join(place, name), origins))
            for name, leaf in raw.items()
        }
        return MappingProxyType(found)
    if kind.number:
        return kind.check(place, _number(raw, place, origins, kind.number.unit))
    return kind.check(place, raw)


def _read_many(part: type, raw, place: str, origins: dict[str, Origin]) -> tuple:
    if not isinstance(raw, list):
        raise SiteError(place, raw, "a list of entries")
    found, seen = [], set()
    for index, entry in enumerate(raw):
        name = entry.get("id", str(index)) if isinstance(entry, Mapping) else str(index)
        if name in seen:
            raise SiteError(_join(place, name), "the same id twice", "an id of its own for each entry")
        seen.add(name)
        found.append(build(part, entry, _join(place, name), origins))
    return tuple(found)


def _number(leaf, place: str, origins: dict[str, Origin], si_unit: str = "1") -> float:
    if not isinstance(leaf, list) or len(leaf) != 3:
        raise SiteError(place, leaf, "a number written as [value, unit, status]")
    value, unit, status = leaf
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise SiteError(place, value, "a number")
    if status not in tables.STATUSES:
        raise SiteError(place, status, f"a status: {', '.join(tables.STATUSES)}")
    try:
        si = units.convert(float(value), unit, si_unit)
    except units.UnitError as error:
        raise SiteError(place, unit, f"a unit like {si_unit} ({error})") from None
    origins[place] = Origin(float(value), unit, status)
    return si


def _join(path: str, name: str) -> str:
    return f"{path}.{name}" if path else name


def member(parts: tuple, name: str, path: str) -> tuple[int, Any]:
    """Return (index, part) of the part called `name`: its id, or its place in the row."""
    known = [getattr(part, "id", str(index)) for index, part in enumerate(parts)]
    if name not in known:
        raise SiteError(path, name, f"one of {', '.join(known)}")
    return known.index(name), parts[known.index(name)]


def replaced(part: Any, steps: list[str], value: Any, path: str) -> Any:
    """Return a copy of `part` with the value at `steps` changed and checked."""
    name, rest = steps[0], steps[1:]
    # A part may take a value that it works out, and turn it into what it holds.
    worked_out = isinstance(getattr(type(part), name, None), property)
    setter = getattr(part, f"with_{name}", None) if worked_out else None
    if setter and not rest:
        return setter(path, value)
    kind = _kinds(part).get(name)
    if kind is None:
        raise SiteError(path, name, f"one of {', '.join(_kinds(part))}")
    held = getattr(part, name)
    new: Any
    if kind.many and rest:
        index, inner = member(held, rest[0], path)
        if len(rest) < 2:
            raise SiteError(path, "a whole part", "one of its values: name a field after it")
        new = (*held[:index], replaced(inner, rest[1:], value, path), *held[index + 1 :])
    elif kind.counts and kind.check and len(rest) == 1:
        new = MappingProxyType({**held, rest[0]: kind.check(path, value)})
    elif kind.part and not kind.many and rest:
        new = replaced(held, rest, value, path)
    elif kind.check and not rest and not kind.counts and name != "id":
        new = kind.check(path, value)
    else:
        raise SiteError(
            path, "a path that does not end at a value", "the name of one value that may be changed"
        )
    return dataclasses.replace(part, **{name: new})


def value_at(part: Any, steps: list[str], path: str) -> Any:
    """Return the value that stands at `steps` inside `part`."""
    for step in steps:
        if isinstance(part, tuple):
            part = member(part, step, path)[1]
        elif isinstance(part, Mapping) and step in part:
            part = part[step]
        elif dataclasses.is_dataclass(part) and not step.startswith("_") and hasattr(part, step):
            part = getattr(part, step)
        else:
            raise SiteError(path, step, "the name of a value in the site")
    return part
