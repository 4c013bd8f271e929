"""An assessor's own question: paste a small data file, and be told in plain sentences what is wrong with it."""

from __future__ import annotations

from gaslab.assess import desk, own_item
from gaslab.show.panels import controls as made
from gaslab.show.panels.desk_common import DeskPanel, long_box

LONGEST = 50_000
EXAMPLE = """family = "own-hob-heat"
version = 1
chapter = "10"
title = "Heat input of a hob"
source = "iso-6976"
stem = "A hob test passes {volume} of gas in {time}. The gross CV is {cv}."

[draw.volume]
unit = "m3"
low = 0.040
high = 0.090
step = 0.001

[draw.time]
unit = "s"
low = 130
high = 290
step = 1

[draw.cv]
unit = "MJ/m3"
low = 38.1
high = 39.9
step = 0.1

[[steps]]
id = "rate"
kind = "set-up"
ask = "What is the gas rate?"
value = "volume * 3600 / time"
unit = "m3/h"
units_offered = ["m3/h", "m3/s"]
figures = 3
plausible = [0.3, 3.0]
cue = "Bring it to one hour."
worked = "{volume} in {time} is {rate}."
[[steps.slips]]
id = "per-minute"
value = "volume * 60 / time"
says = "That is the rate for one minute."
[[steps.slips]]
id = "upside-down"
value = "time / (volume * 3600)"
says = "Volume goes on top, time below."

[[steps]]
id = "heat"
kind = "sum"
ask = "What is the gross heat input?"
value = "rate * cv / 3.6"
unit = "kW"
units_offered = ["kW", "MJ", "kWh"]
places = 1
plausible = [3.0, 40.0]
cue = "One kilowatt hour is 3.6 MJ."
worked = "{rate} times {cv}, divided by 3.6, is {heat}."
[[steps.slips]]
id = "not-divided"
value = "rate * cv"
says = "That is megajoules in an hour, not kilowatts."
[[steps.slips]]
id = "cv-left-out"
value = "rate * 3.6"
says = "The calorific value is missing."
"""


class OwnItemPanel(DeskPanel):
    """A box for the file of a question, a checker, and a place to keep what passes."""

    def __init__(self):
        super().__init__(
            "Write or paste a question, and check it. Nothing in it is run.", "A question of your own"
        )
        self.controls.update(
            text=long_box("Your question", rows=14),
            example=made.button("Put an example in the box"),
            check=made.button("Check it", main=True),
            keep=made.button("Keep it for papers"),
        )
        for name, handler in (("example", self._example), ("check", self._check), ("keep", self._keep)):
            self.on_click(self.controls[name], handler)
        self.side.layout.max_width = "100%"
        self.side.children = tuple(self.controls.values())
        self.widget.children = (self.style, self.head, self.side, self.message, self.lines)

    def _example(self) -> None:
        if self.controls["text"].value.strip():
            self.message.say("The box is not empty. Clear it first, so that nothing of yours is lost.", "bad")
            return
        self.controls["text"].value = EXAMPLE
        self.message.say("Change its name, words, ranges and formulas, then check it.")

    def _text(self) -> str | None:
        text = self.controls["text"].value
        if len(text.strip()) > 0 and len(text) <= LONGEST:
            return text
        self.message.say(
            "The box is empty." if not text.strip() else f"A question holds at most {LONGEST} characters.",
            "bad",
        )
        return None

    def _check(self) -> None:
        text = self._text()
        if text is None:
            return
        self.model = own_item.check(text)
        self.tell(*self.model.problems, *self.model.notes)
        head, tone = (
            ("The question cannot be used yet.", "bad")
            if self.model.problems
            else ("The question can be used.", "good")
        )
        self.message.say(head, tone)

    def _keep(self) -> None:
        text = self._text()
        if text is not None:
            family = desk.keep_question(text)
            self.tell()
            self.message.say(
                f"Kept as {family.id}. Find it under “Your own questions” when you set a paper.", "good"
            )


TOPICS = {"own-question": lambda page: OwnItemPanel()}
SCENES: dict = {}
