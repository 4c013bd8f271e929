"""Questions: a family and a handful of numbers make a variant, always the same one.

Practice pages, papers, keys, marking and exports all come from `Variant`.
"""

from __future__ import annotations

import functools
import math
from collections import Counter
from collections.abc import Mapping
from types import MappingProxyType

from gaslab import tables, units
from gaslab.learn import filters
from gaslab.learn.bands import Band, Workings
from gaslab.learn.chance import Chance
from gaslab.learn.family import Chosen, Drawn, Family, Precision, print_number
from gaslab.learn.formulas import FormulaError, evaluate
from gaslab.learn.item_file import FOLDER, read_course_family
from gaslab.learn.variant import ItemError, Limit, Params, Reading, Shown, Slip, Step, Variant

TRIES = 2_000
Ends = tuple[float | None, float | None]


@functools.cache
def families() -> Mapping[str, Family]:
    """Return every family of the course by its id."""
    found = (read_course_family(file) for file in tables.files(FOLDER, ".toml"))
    return MappingProxyType({family.id: family for family in found})


def family(family_id: str) -> Family:
    """Return one family of the course."""
    try:
        return families()[family_id]
    except KeyError:
        raise ItemError(f"There is no question family called {family_id!r}.") from None


def draw(family_id: str, chance: Chance) -> Variant:
    """Return a new variant of a course family. It has passed every filter."""
    return draw_from(family(family_id), chance)


def draw_from(plan: Family, chance: Chance, rejects: Counter | None = None) -> Variant:
    """Return a new variant of any family. `rejects`, when given, counts the draws turned away by reason."""
    for _ in range(TRIES):
        try:
            return _built(plan, _drawn(plan, chance))
        except filters.Rejected as rejected:
            if rejects is not None:
                rejects[rejected.reason] += 1
    raise ItemError(f"{plan.id}: {TRIES} draws in a row were turned away. Give its numbers other ranges.")


def variant(family_id: str, params: Params) -> Variant:
    """Return the variant of a course family with these numbers: the same every time."""
    return build(family(family_id), params)


def build(plan: Family, params: Params) -> Variant:
    """Return the variant of any family with these numbers, or raise ItemError."""
    missing = {part.name for part in plan.drawn} ^ set(params)
    if missing:
        raise ItemError(f"{plan.id} needs the numbers {', '.join(p.name for p in plan.drawn)}.")
    try:
        return _built(plan, params)
    except filters.Rejected as rejected:
        raise ItemError(f"{plan.id} cannot be asked with these numbers: {rejected}.") from None


def _drawn(plan: Family, chance: Chance) -> dict[str, float | str]:
    return {
        part.name: part.value(chance.below(part.count))
        if isinstance(part, Drawn)
        else chance.pick(part.texts)
        for part in plan.drawn
    }


def scene(plan: Family, params: Params) -> dict[str, float]:
    """Return every number the question shows, as displayed; hidden ones are left out."""
    names: dict[str, float] = {name: fact.value for name, fact in plan.facts.items()}
    hidden = []
    for part in plan.drawn:
        given = params[part.name]
        if isinstance(part, Chosen):
            if given not in part.texts:
                raise ItemError(f"{plan.id}: {part.name} has no choice {str(given)[:40]!r}.")
            names.update(part.numbers[part.texts.index(given)])
        elif isinstance(given, bool) or not isinstance(given, (int, float)):
            raise ItemError(f"{plan.id}: {part.name} must be a number.")
        else:
            names[part.name] = float(given)
            if not part.hidden and not math.isclose(
                round(given, part.places), given, rel_tol=1e-12, abs_tol=1e-12
            ):
                # The sum must be worked from the number that the trainee sees.
                raise ItemError(
                    f"{plan.id}: {part.name} = {given} cannot be shown with {part.places} decimals."
                )
            if part.hidden:
                hidden.append(part.name)
    for number in plan.shown:
        names[number.name] = round(evaluate(number.tree, names), number.precision.places)
    for name in hidden:
        del names[name]
    return names


def _built(plan: Family, params: Params) -> Variant:
    """Make the variant, cheapest refusals first: text is written only for a draw that passed."""
    try:
        shown = scene(plan, params)
        workings = Workings(plan, shown)
        bands, slips = _bands(plan, workings)
        ends = _limit_ends(plan, workings, bands)
    except FormulaError:
        raise filters.Rejected(filters.NOT_A_NUMBER, plan.id) from None
    filters.check_conditions(plan, shown)
    printed = _printed(plan, params, workings)
    stem = plan.stem.filled(printed)
    limits = _limits(plan, ends, bands, printed)
    asks = [step.ask.filled(printed) for step in plan.steps]
    numbers = filters.numbers_in([stem, *asks])
    reading = _reading(plan, shown)
    on_instrument = {s.value for s in reading.shows} if reading else set()
    for step in plan.steps:
        # The number on the instrument is the very answer of a step that asks for a reading.
        seen = numbers if step.kind == "reading" else numbers | on_instrument
        filters.check_given_away(step, bands[step.id], seen)
    steps = tuple(
        Step(
            s.id, s.kind, ask, s.unit, s.units_offered, bands[s.id].value, bands[s.id].lo, bands[s.id].hi,
            s.precision.places, s.precision.figures,
            tuple(Slip(x.id, x.band.value, x.says, x.band.lo, x.band.hi) for x in slips[s.id]),
            s.cue.filled(printed), s.worked.filled(printed), s.plausible,
        )
        for s, ask in zip(plan.steps, asks, strict=True)
    )  # fmt: skip
    return Variant(
        plan.id, plan.version, plan.chapter, plan.title, MappingProxyType(dict(params)), stem, reading, steps, limits,
        plan.critical, plan.source, plan,
    )  # fmt: skip


def _bands(
    plan: Family, workings: Workings
) -> tuple[dict[str, Band], dict[str, tuple[filters.SlipBand, ...]]]:
    bands: dict[str, Band] = {}
    slips: dict[str, tuple[filters.SlipBand, ...]] = {}
    for step in plan.steps:
        band = bands[step.id] = workings.band(step.tree, step.precision)
        filters.check_plausible(step, band)
        found = [filters.SlipBand(s.id, workings.band(s.tree, step.precision), s.says) for s in step.slips]
        filters.check_collision(step, band, found)
        slips[step.id] = filters.merged(found)
        workings.step_done(step)
    return bands, slips


def _limit_ends(plan: Family, workings: Workings, bands: Mapping[str, Band]) -> list[Ends]:
    """Return the low and the high end of each limit, or refuse a draw that stands on an edge."""
    found = [filters.limit_values(part, workings.exact) for part in plan.limits]
    for part, ends in zip(plan.limits, found, strict=True):
        filters.check_knife_edge(part.step, bands[part.step], ends)
    return found


def _limits(
    plan: Family, ends: list[Ends], bands: Mapping[str, Band], printed: Mapping[str, tuple[str, str]]
) -> tuple[Limit, ...]:
    limits = []
    for part, (low, high) in zip(plan.limits, ends, strict=True):
        limit = Limit(
            part.step, part.ask.filled(printed), low, high, plan.step(part.step).unit, False,
            part.meets.filled(printed), part.fails.filled(printed), part.source, part.status,
        )  # fmt: skip
        met = limit.met_by(bands[part.step].value)
        limits.append(Limit(**{**vars(limit), "meets": met}))
    return tuple(limits)


def _printed(plan: Family, params: Params, workings: Workings) -> dict[str, tuple[str, str]]:
    """Return name -> (number, unit) as texts print them."""
    printed = plan.printed_facts()
    for part in plan.drawn:
        if isinstance(part, Chosen):
            printed[part.name] = (str(params[part.name]), "")
            index = part.texts.index(params[part.name])
            printed |= {name: (f"{value:.6g}", "") for name, value in part.numbers[index].items()}
        elif not part.hidden:
            text = print_number(workings.exact[part.name], Precision(places=part.places))
            printed[part.name] = (text, units.printed(part.unit))
    for number in (*plan.shown, *plan.on_the_way):
        text = print_number(workings.exact[number.name], number.precision)
        printed[number.name] = (text, units.printed(number.unit))
    for step in plan.steps:
        printed[step.id] = (print_number(workings.exact[step.id], step.precision), units.printed(step.unit))
    return printed


def _reading(plan: Family, shown: Mapping[str, float]) -> Reading | None:
    if plan.instrument is None:
        return None
    return Reading(plan.instrument, tuple(_shown(plan, each.name, each.label, shown) for each in plan.shows))


def _shown(plan: Family, name: str, label: str, shown: Mapping[str, float]) -> Shown:
    for part in (*plan.drawn, *plan.shown):
        if not isinstance(part, Chosen) and part.name == name:
            places = part.places if isinstance(part, Drawn) else part.precision.places or 0
            return Shown(name, label, shown[name], part.unit, places)
    raise ItemError(f"{plan.id}: an instrument cannot show {name!r}; show a number that is drawn or shown.")


def own_figures(variant: Variant, step_id: str, own: Mapping[str, float]) -> tuple[Band, tuple[Slip, ...]]:
    """Return the band and the slips of a step when worked from the trainee's own earlier answers."""
    workings = Workings(variant.plan, scene(variant.plan, variant.params), own)
    for step in variant.plan.steps:
        if step.id == step_id:
            bands = [(s, workings.band(s.tree, step.precision)) for s in step.slips]
            slips = tuple(Slip(s.id, band.value, s.says, band.lo, band.hi) for s, band in bands)
            return workings.band(step.tree, step.precision), slips
        workings.step_done(step)
    raise ItemError(f"The question {variant.family} has no step {step_id!r}.")
