"""What a marked batch can show: each view gives a sentence, a table of rows, and a picture where there is one."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from gaslab import units
from gaslab.assess import analysis, pictures, results, standard
from gaslab.assess.analysis import Interval
from gaslab.assess.cohort import Cohort
from gaslab.assess.results import Result, StepResult
from gaslab.show.drawings import cohort as drawn

MOST_ROWS = 500  # a page shows no more; the exported tables hold all


@dataclass(frozen=True)
class View:
    """One screen of results."""

    lines: tuple[str, ...]
    heads: tuple[str, ...] = ()
    rows: tuple[tuple, ...] = ()
    svg: str = ""


@dataclass(frozen=True)
class Batch:
    """A marked batch with its cut, if one is set, and the error that makes a score borderline."""

    cohort: Cohort
    cut: float | None
    error: float | None
    error_words: str

    @property
    def most(self) -> int:
        return sum(self.cohort.most)

    def decisions(self) -> Mapping[str, standard.Decision]:
        return {} if self.cut is None else self.cohort.decisions(self.cut, self.error)


def batch_of(cohort: Cohort, cut: float | None) -> Batch:
    """Return the batch with the error of its cut: of measurement, or binomial where the batch is too small."""
    found = cohort.analysis()
    most = sum(cohort.most)
    if cut is None:
        return Batch(cohort, None, None, "No cut is set, so nobody passes or fails yet.")
    if cut > most:
        raise standard.StandardError(f"The paper gives {most} marks, so the cut cannot be {cut:g}.")
    if found.error_of_measurement is not None:
        words = f"The error of a score is {found.error_of_measurement:.1f}, from this batch."
        return Batch(cohort, cut, found.error_of_measurement, words)
    error = standard.binomial_error(cut, most)
    return Batch(cohort, cut, error, f"The error of a score is {error:.1f}, from the number of marks alone.")


def scores(batch: Batch) -> View:
    """Every candidate with score and decision, over the distribution."""
    decisions = batch.decisions()
    rows = tuple(
        (name, f"{score} of {batch.most}", made.outcome if made else "–", made.reason if made else "–")
        for name, score in zip(batch.cohort.candidates, batch.cohort.scores(), strict=True)
        for made in (decisions.get(name),)
    )
    made = pictures.score_distribution(batch.cohort.scores(), batch.most, batch.cut, batch.error)
    lines = (made.sentence, batch.error_words)
    return View(lines, ("candidate", "score", "decision", "reason"), rows, drawn.score_chart(made))


def borderline(batch: Batch) -> View:
    """Scores nearer the cut than its error: these are for a person."""
    if batch.cut is None:
        return View((batch.error_words,))
    every = zip(batch.cohort.candidates, batch.cohort.scores(), strict=True)
    found = standard.borderline(
        [(name, float(score), batch.cohort.missed.get(name, ())) for name, score in every],
        batch.cut,
        batch.error,
    )
    rows = tuple((each.candidate, f"{each.score:.0f}", each.reason) for each in found)
    head = f"{len(rows)} on the borderline. A person decides, with a fresh form of the paper."
    return View((head, batch.error_words), ("candidate", "score", "reason"), rows)


def critical(batch: Batch) -> View:
    """Candidates who missed a critical question, and answers that are consistent but unsafe."""
    missed = batch.cohort.missed
    rows = [(name, ", ".join(items), "critical, not right in truth") for name, items in missed.items()]
    rows += [(name, f"{item}, step {step}", words) for name, item, step, words in batch.cohort.unsafe]
    head = f"{len(missed)} missed a critical question. They do not pass, whatever the score."
    unsafe = f"{len(batch.cohort.unsafe)} answers would pass what fails in truth."
    return View((head, unsafe), ("candidate", "where", "what"), tuple(rows))


def refused(batch: Batch) -> View:
    """Files that were not marked, each with its reason."""
    rows = tuple((one.file, one.reason) for one in batch.cohort.refused)
    return View((f"{len(rows)} files were not marked. The rest were.",), ("file", "reason"), rows)


def items(batch: Batch) -> View:
    """The item analysis, or the sentence that there are too few attempts."""
    found = batch.cohort.analysis()
    made = pictures.item_map(found)
    if found.refused:
        return View((found.refused,))
    rows = tuple(
        (one.name, interval(one.facility), interval(one.discrimination), number(one.upper_lower),
         number(one.alpha_without), " ".join(one.flags) or "–")
        for one in found.items
    )  # fmt: skip
    error = found.error_of_measurement
    lines = [
        made.sentence,
        f"Reliability (alpha): {interval(found.alpha)}. Standard error: {number(error)} marks.",
    ]
    if found.kr20 is not None:
        lines.append(f"KR-20: {number(found.kr20)}. Every item here is right or wrong, so alpha is the same.")
    if batch.cut is not None and found.alpha.value is not None:
        at_cut = analysis.livingston(batch.cohort.table().sum(axis=1), found.alpha.value, batch.cut)
        lines.append(f"How well the cut is served (Livingston): {number(at_cut)}.")
    heads = ("item", "facility", "item and rest", "upper less lower", "alpha without it", "look again")
    return View(tuple(lines), heads, rows, drawn.item_chart(made))


def slips(batch: Batch) -> View:
    """Slips by family, the commonest first, and what to teach next."""
    counted = batch.cohort.slips()
    made = pictures.slip_heat(counted)
    rows = tuple((s.family, s.step, s.slip, s.count, s.answers, f"{s.share:.0%}") for s in counted)
    heads = ("family", "step", "slip", "made", "answers", "share")
    return View((made.sentence, *results.teach_next(counted)), heads, rows, drawn.heat_chart(made))


def profile(batch: Batch) -> View:
    """Marks won by kind of step."""
    made = batch.cohort.profile()
    rows = tuple((kind, interval(share)) for kind, share in zip(made.kinds, made.shares, strict=True))
    return View((made.sentence,), ("kind of step", "share of marks"), rows, drawn.profile_chart(made))


VIEWS: dict[str, Callable[[Batch], View]] = {
    "scores and decisions": scores,
    "borderline": borderline,
    "critical and unsafe": critical,
    "files not marked": refused,
    "item analysis": items,
    "slips": slips,
    "marks by kind of step": profile,
}


def reasons(result: Result) -> View:
    """One attempt, step by step, with its rule and reason."""
    rows = tuple(
        (
            f"{s.item}, step {s.step}",
            answered(s),
            f"{s.marks} of {s.most}",
            s.rule,
            s.words,
            precision(s.precise),
        )
        for s in result.steps
    )
    kept, judged = result.precision
    head = f"{result.candidate}, {result.form}: {result.score} of {result.most}. Receipt {result.receipt}."
    precise = f"Given as precisely as asked: {kept} of {judged}. It is kept apart from the marks."
    heads = ("step", "answer", "marks", "rule", "reason", "precision")
    return View((head, precise, *result.notes), heads, rows)


def answered(step: StepResult) -> str:
    """Return an answer as typed, with its unit as printed; a unit that is not listed stays as it came."""
    unit = units.printed(step.unit) if step.unit in units.TRADE_UNITS else step.unit
    return f"{step.text} {unit}".strip() or "–"


def precision(kept: bool | None) -> str:
    """Return how the precision of an answer is told."""
    return {True: "as asked", False: "not as asked", None: "–"}[kept]


def number(value: float | None) -> str:
    """Return a figure with two decimals, or a dash."""
    return "–" if value is None else f"{value:.2f}"


def interval(found: Interval) -> str:
    """Return a figure with its interval, or why there is none."""
    if found.value is None:
        return found.why or "–"
    if found.low is None:
        return f"{found.value:.2f}"
    return f"{found.value:.2f} ({found.low:.2f} to {found.high:.2f})"
