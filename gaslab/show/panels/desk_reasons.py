"""One candidate, step by step with reasons, and a mark changed by a person: only with a written reason."""

from __future__ import annotations

import ipywidgets

from gaslab.assess import desk, overrides
from gaslab.assess.overrides import Override, OverrideError
from gaslab.assess.results import Result
from gaslab.show.panels import controls as made
from gaslab.show.panels import desk_views
from gaslab.show.panels.desk_common import line_box, long_box

MOST_MARKS = 20


class ReasonsPart:
    """The part of the marking panel about one candidate. `panel` is the marking panel it belongs to."""

    def __init__(self, panel):
        self.panel = panel
        self.result: Result | None = None
        self.controls: dict[str, ipywidgets.Widget] = {
            "candidate": made.choice("Candidate", {"none yet": ""}),
            "why": made.button("Show the reasons"),
            "step": made.choice("Step to change", {"none yet": ""}),
            "new_marks": made.choice("New mark", {str(n): n for n in range(MOST_MARKS + 1)}),
            "reason": long_box("Reason, in words that hold in a year", rows=2),
            "initials": line_box("Your initials"),
            "change": made.button("Change this mark"),
        }
        panel.on_click(self.controls["why"], self.show)
        panel.on_click(self.controls["change"], self._change)
        self.widget = ipywidgets.VBox(list(self.controls.values()), layout={"width": "100%"}).add_class(
            "gl-stack"
        )

    def offer(self, candidates: list[str]) -> None:
        """Offer the candidates of a batch, keeping the one that was chosen where it is still there."""
        chosen = self.controls["candidate"].value
        self.controls["candidate"].options = [(name, name) for name in candidates] or [("none yet", "")]
        self.controls["candidate"].value = (
            chosen if chosen in candidates else self.controls["candidate"].options[0][1]
        )
        self._steps(None)

    def _steps(self, result: Result | None) -> None:
        self.result = result
        steps = [] if result is None else [
            (f"{s.item}, step {s.step}: {s.marks} of {s.most}", (s.item, s.step)) for s in result.steps
        ]  # fmt: skip
        self.controls["step"].options = steps or [("show the reasons first", "")]
        self.controls["step"].value = self.controls["step"].options[0][1]

    def find(self) -> Result:
        """Mark the chosen candidate's file again and return it."""
        wanted = self.controls["candidate"].value
        for each in self.panel.marked_one(wanted):
            if isinstance(each, Result) and each.candidate == wanted:
                return each
        raise OverrideError("That attempt is not in the folder any more. Mark the folder again.")

    def show(self) -> None:
        """Show every step of the chosen candidate with its rule and reason."""
        result = self.find()
        self._steps(result)
        self.panel.show_view(desk_views.reasons(result))

    def _change(self) -> None:
        chosen = self.controls["step"].value
        if self.result is None or not chosen:
            raise OverrideError("Show the reasons of a candidate first, then choose the step.")
        item, step = chosen
        most = next(s.most for s in self.result.steps if (s.item, s.step) == chosen)
        marks = self.controls["new_marks"].value
        if marks > most:
            raise OverrideError(f"That step gives at most {most}. Choose a mark up to it.")
        entry = Override(
            self.result.candidate, item, step, marks, self.controls["reason"].value.strip(),
            self.controls["initials"].value.strip(),
        )  # fmt: skip
        overrides.add(desk.assessor_file(self.panel.paper, desk.OVERRIDES), entry)
        candidate = entry.candidate
        self.panel.mark()
        self.controls["candidate"].value = candidate
        self.controls["reason"].value = ""
        self.show()
        self.panel.message.say(f"Changed. The old mark and your reason are kept for {candidate}.", "good")
