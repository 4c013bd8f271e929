"""One question, step by step: worked steps first, then the trainee's, with feedback in its order.

Where the answer is held against a limit, the decision is asked last: yes or no. What to say after
each try comes from `learn.feedback`, and on a decision from `learn.marking`; this panel only shows it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

import ipywidgets

from gaslab import units
from gaslab.assess.pack import precision_words
from gaslab.escape import html_text
from gaslab.learn import feedback, figures, marking
from gaslab.learn.answers import read_answer
from gaslab.learn.items import Step, Variant
from gaslab.learn.variant import NO, YES, Limit, decision_name
from gaslab.show.drawings.readings import instrument
from gaslab.show.panels import controls as made
from gaslab.show.panels.base import Frame

_TONE = {feedback.PRAISE: "good", feedback.SLIP: "bad", feedback.ASK: "bad"}


class QuestionPanel(Frame):
    """Asks one variant. `draw_variant()` gives the numbers, and new ones when the trainee asks for them.

    `worked` is how many steps, from the first, are shown worked; the rest are the trainee's.
    `on_mark(variant, step, mark, value, unit)` is told of every marked try, `on_show(variant, step)`
    of a step that was shown on request, `on_decide(variant, name, limit, mark)` of each decision on a
    limit, and `on_done(variant, progression)` of a finished question, its decisions made.
    `model` is the progression.
    """

    def __init__(
        self, draw_variant: Callable[[], Variant], *, worked: int = 0, title: str = "",
        on_mark: Callable | None = None, on_show: Callable | None = None,
        on_decide: Callable | None = None, on_done: Callable | None = None,
    ):  # fmt: skip
        super().__init__("Work the sum one step at a time. Check each step.", title)
        self._draw_variant, self._worked = draw_variant, worked
        self._on_mark, self._on_show = on_mark, on_show
        self._on_decide, self._on_done = on_decide, on_done
        self.stem, self.steps, self.ask = ipywidgets.HTML(), ipywidgets.HTML(), ipywidgets.HTML()
        self.behind = ipywidgets.HTML()
        self.controls.update(
            answer=made.entry("Your answer"),
            unit=made.choice("Unit", ["1"]),
            check=made.button("Check", main=True),
            show=made.button("Show me this step"),
            new=made.button("New numbers"),
            decision=made.reasons([YES, NO], "Your decision"),
            decide=made.button("That is my decision", main=True),
        )
        self.on_click(self.controls["check"], self._check)
        self.on_click(self.controls["show"], self._give_up)
        self.on_click(self.controls["new"], self.new_numbers)
        self.on_click(self.controls["decide"], self._decide)
        self.limit_ask = ipywidgets.HTML()
        self.deciding = ipywidgets.VBox(
            [self.limit_ask, self.controls["decision"], self.controls["decide"]],
            layout={"align_items": "flex-start"},
        )
        buttons = ipywidgets.HBox(
            [self.controls[n] for n in ("check", "show", "new")], layout={"flex_flow": "row wrap"}
        )
        self.side.children = (
            self.stem,
            self.steps,
            self.ask,
            self.controls["answer"],
            self.controls["unit"],
            buttons,
            self.message,
            self.deciding,
            self.behind,
        )
        self.widget.children = self.widget.children[:3]
        self.new_numbers()

    @property
    def step(self) -> Step:
        """The step that is being asked."""
        return self.variant.steps[self.model.step]

    @property
    def text(self) -> str:
        return f"{self.variant.stem} {self.message.sentence}".strip()

    def new_numbers(self) -> None:
        """Start again with another variant."""
        self.variant = self._draw_variant()
        first = min(self._worked, len(self.variant.steps) - 1)
        self.model = feedback.Progression(step=first)
        self._said: dict[str, str] = {step.id: step.worked for step in self.variant.steps[:first]}
        self._given: dict[str, tuple[Decimal, str]] = {}
        self._limits = list(self.variant.limits)
        self.deciding.layout.display = "none"
        self.message.clear()
        self.stem.value = f"<p>{html_text(self.variant.stem)}</p>"
        self._say_behind()
        self._picture()
        self._ask()

    def _say_behind(self, *more: str) -> None:
        """Say quietly where the question comes from, and whatever else is asked now."""
        words = " ".join((figures.question_words(self.variant), *more))
        self.behind.value = f'<p class="gl-quiet">{html_text(words)}</p>'

    def _picture(self) -> None:
        reading = self.variant.reading
        self.picture.layout.display = "" if reading else "none"
        self.draw(instrument(reading) if reading else "")

    def _ask(self) -> None:
        """Show what is behind, and the step to answer now."""
        lines = []
        for n, step in enumerate(self.variant.steps, 1):
            if step.id in self._said:
                lines.append(
                    f"<p><b>Step {n}.</b> {html_text(step.ask)}<br>{html_text(self._said[step.id])}</p>"
                )
        self.steps.value = "".join(lines)
        done = self.model.done
        for name in ("answer", "unit", "check", "show"):
            self.controls[name].layout.display = "none" if done else ""
        self.ask.layout.display = "none" if done else ""
        if done:
            return
        number, count = self.model.step + 1, len(self.variant.steps)
        self.ask.value = (
            f'<p class="gl-quiet">Step {number} of {count}</p><p><b>{html_text(self.step.ask)}</b> '
            f"{html_text(precision_words(self.step))}</p>"
        )
        self.controls["answer"].description = f"Your answer, step {number}"
        self.controls["answer"].value = ""
        offered = [(units.printed(u) or "no unit", u) for u in self.step.units_offered]
        self.controls["unit"].options = [("choose a unit", ""), *offered] if len(offered) > 1 else offered
        self.controls["unit"].value = self.controls["unit"].options[0][1]

    def _check(self) -> None:
        if self.model.done:
            return
        unit = self.controls["unit"].value
        answer = read_answer(self.controls["answer"].value, unit)
        if answer.value is not None and not unit:
            self.message.say(f"{answer.echo} Now choose the unit.".strip(), "bad")
            return
        step, at = self.step, self.model.step
        mark = marking.mark_step(step, answer, unit or step.unit, self._given, self.variant)
        if self._on_mark is not None and answer.value is not None:
            self._on_mark(self.variant, step, mark, answer.value, unit)
        self.model, said = feedback.after(self.variant, self.model, mark)
        if mark.earned:
            assert answer.value is not None, "only a number earns a step"
            self._given[step.id] = (answer.value, unit)
            self._said[step.id] = f"✓ {answer.value} {units.printed(unit)}".rstrip()
        self._say(answer.echo, said, step, at)

    def _give_up(self) -> None:
        step, at = self.step, self.model.step
        if self._on_show is not None:
            self._on_show(self.variant, step)
        self.model, said = feedback.give_up(self.variant, self.model)
        self._say("", said, step, at)

    def _say(self, echo: str, said: tuple[feedback.Message, ...], step: Step, at: int) -> None:
        for part in said:
            if part.part == feedback.WORKED:
                self._said[step.id] = part.words
        moved = self.model.step != at or self.model.done
        if moved:
            self._ask()
        tone = next((_TONE[part.part] for part in said if part.part in _TONE), "plain")
        mark = {"good": "✓", "bad": "✗"}[tone] if tone != "plain" and said[0].part != feedback.ASK else ""
        last = " That is the whole sum." if self.model.done else ""
        self.message.say(
            " ".join(filter(None, [mark, echo, *(part.words for part in said)])).strip() + last, tone
        )
        if not self.model.done:
            self.controls["answer"].focus()
            return
        self._ask_decision()

    def _ask_decision(self) -> None:
        """Ask for the next decision on a limit. If none is left the question is finished."""
        self.deciding.layout.display = "" if self._limits else "none"
        if self._limits:
            self.limit_ask.value = (
                f'<p class="gl-quiet">Now decide</p><p><b>{html_text(self._limits[0].ask)}</b></p>'
            )
            self.controls["decision"].value = None
            self._say_behind(figures.limit_words(self._limits[0]))
        elif self._on_done is not None:
            self._on_done(self.variant, self.model)

    def _decide(self) -> None:
        if not self._limits:  # a second click that was on its way
            return
        chosen = self.controls["decision"].value
        if chosen is None:
            self.message.say("Choose yes or no first.", "bad")
            return
        limit = self._limits.pop(0)
        name = decision_name(len(self.variant.limits) - len(self._limits))
        marked = marking.mark_decision(limit, chosen == YES, self._own_figure(limit))
        if self._on_decide is not None:
            self._on_decide(self.variant, name, limit, marked)
        if not marked.right:
            self.model = replace(self.model, helped=(*self.model.helped, name))
        passed = " On site that would pass something that does not meet the limit." if marked.unsafe else ""
        tone = "bad" if not marked.right else "good" if marked.consistent else "doubt"
        self.message.say(f"{'✓' if marked.right else '✗'} {marked.words}{passed}", tone)
        self._ask_decision()

    def _own_figure(self, limit: Limit) -> float:
        """Return what the trainee holds against the limit: their own answer, or the worked one."""
        return marking.own_value(self.variant.step(limit.step), *self._given.get(limit.step, (None, "")))

    def restyle(self) -> None:
        super().restyle()
        if self.model is not None:
            self._picture()
