"""What an instructor uses: the classroom screen, a secret fault, handouts, lesson cards and the class picture."""

from __future__ import annotations

from pathlib import Path

import ipywidgets

from gaslab.assess import handout
from gaslab.assess.variants import PaperError
from gaslab.learn import chapters, class_picture, items, lesson_card
from gaslab.refit.folder import FileFault, user_data_folder
from gaslab.show import stage
from gaslab.show.panels import controls as made
from gaslab.show.panels.base import Frame
from gaslab.show.panels.common import Listing, paragraphs
from gaslab.show.panels.hands import CLASS_FOLDER, ShowOfHands
from gaslab.show.panels.learning import chance
from gaslab.show.panels.opening import download, table
from gaslab.show.panels.page import Page, Scenes, Topics
from gaslab.show.panels.question import QuestionPanel
from gaslab.show.panels.secret import NUMBER, SecretFault, job_number

INSTRUMENT, QUESTION = "an instrument", "a question"


class ScreenPanel(Frame):
    """One press makes every panel of this page large enough for the back of the room."""

    def __init__(self):
        super().__init__(
            "One press makes all on this page large enough for the back row.", "The classroom screen"
        )
        self.picture.layout.display = "none"
        self.controls.update(
            on=made.button("Classroom screen on", main=True), off=made.button("Back to my own screen")
        )
        self.on_click(
            self.controls["on"],
            lambda: self._turn(stage.on, "On. Hide the side bar of the browser page too."),
        )
        self.on_click(
            self.controls["off"], lambda: self._turn(stage.off, "Off. The page looks as it did before.")
        )
        self.side.children = tuple(self.controls.values())

    def _turn(self, call, words: str) -> None:
        call()
        self.message.say(words, "good")


class ShowPanel(Frame):
    """One instrument or one question, alone on the screen. What is answered here is kept in nobody's progress."""

    def __init__(self, page, topics):
        super().__init__("Choose one thing to show. It stands alone below.", "One thing on the screen")
        self.page, self.topics, self.luck = page, topics, chance()
        self.picture.layout.display = "none"
        names = {name.replace("-", " ").capitalize(): name for name in sorted(topics)}
        sums = {one.title: family for family, one in sorted(items.families().items())}
        self.controls.update(
            kind=made.choice("Show", [INSTRUMENT, QUESTION]),
            topic=made.choice("Instrument", names),
            family=made.choice("Question", sums),
            put=made.button("Put it on the screen", main=True),
        )
        self.controls["kind"].observe(lambda change: self._stand(), "value")
        self.on_click(self.controls["put"], self._put)
        self.place = ipywidgets.VBox()
        self.side.children = tuple(self.controls.values())
        self.widget.children = (*self.widget.children, self.place)
        self.shown: Frame | None = None
        self._stand()

    def _stand(self) -> None:
        wanted = "topic" if self.controls["kind"].value == INSTRUMENT else "family"
        for name in ("topic", "family"):
            self.controls[name].layout.display = "" if name == wanted else "none"

    def _put(self) -> None:
        if self.shown is not None:
            self.shown.put_away()
        if self.controls["kind"].value == INSTRUMENT:
            self.shown = self.topics[self.controls["topic"].value](self.page)
        else:
            family = items.family(self.controls["family"].value)
            self.shown = QuestionPanel(lambda: items.draw(family.id, self.luck), title=family.title)
        self.place.children = (self.shown.widget,)


class HandoutPanel(Frame):
    """A page of questions to print, and the answers on a page of their own, from one job number."""

    def __init__(self):
        super().__init__("The same job number gives the same two pages again.", "Handout and answer sheet")
        self.picture.layout.display = "none"
        withsums = [n for n in chapters.numbers() if chapters.words(n).families]
        self.controls.update(
            chapter=made.choice("Chapter", {f"{n} {chapters.words(n).title}": n for n in withsums}),
            number=made.entry("Job number"),
            make=made.button("Make both pages", main=True),
        )
        self.on_click(self.controls["make"], self._make)
        self.links = ipywidgets.HTML()
        self.side.children = (*self.controls.values(), self.links)

    def _make(self) -> None:
        number = job_number(self.controls["number"].value)
        if number is None:
            self.message.say(NUMBER, "bad")
            return
        self.links.value = ""
        try:
            sheet = handout.make(self.controls["chapter"].value, number)
            pages = (("handout", handout.handout_html(sheet)), ("answers", handout.answers_html(sheet)))
        except PaperError as fault:
            self.message.say(str(fault), "bad")
            return
        self.model = sheet
        # The answers sit behind a link in this page: make them on a screen that the class does not see.
        self.links.value = "".join(
            download(
                f"{kind}-{sheet.chapter}-{number}.html",
                page.decode("utf-8"),
                "text/html",
                f"Save the {kind} to print",
            )
            for kind, page in pages
        )
        left = "".join(f" Left out: {items.family(family).title}. {why}" for family, why in sheet.left_out)
        self.message.say(
            f"{len(sheet.items)} questions. The answers stand only on the answer sheet.{left}", "good"
        )


class LessonCards(Listing):
    """A card for each chapter, and all of them as one page to print."""

    def __init__(self):
        super().__init__("Choose a chapter to see its card.", "Lesson cards")
        titles = {f"{n} {chapters.words(n).title}": n for n in chapters.numbers()}
        self.controls["chapter"] = made.choice("Chapter", titles)
        self.controls["chapter"].observe(lambda change: self._show(), "value")
        link = download(
            "lesson-cards.html", lesson_card.cards_page(), "text/html", "Save all cards as a page to print"
        )
        self.side.children = (self.controls["chapter"], ipywidgets.HTML(link))
        self._show()

    def _show(self) -> None:
        card = lesson_card.card(self.controls["chapter"].value)
        self.model = card
        self.tell(*(f"{name}: {words}" for name, words in lesson_card.card_lines(card)))


class ClassPanel(Listing):
    """The class picture from a folder of exported progress files."""

    def __init__(self):
        super().__init__("Put the saved copies of your class in one folder.", "The class picture")
        self.controls.update(folder=made.entry("Folder"), look=made.button("Look at the class", main=True))
        self.controls["folder"].placeholder = "type a folder"
        self.controls["folder"].add_class("gl-wide")
        self.controls["folder"].value = str(user_data_folder() / CLASS_FOLDER)
        self.on_click(self.controls["look"], self._look)
        self.side.children = tuple(self.controls.values())
        self.side.layout.max_width = "100%"

    def _look(self) -> None:
        self.tell()
        try:
            seen = class_picture.read_class(Path(self.controls["folder"].value.strip()))
        except FileFault as fault:
            self.message.say(f"{fault}.", "bad")
            return
        self.model = seen
        self.tell(*(str(one) for one in seen.refused))
        self.lines.value += class_tables(seen)
        count = len(seen.trainees)
        self.message.say(
            f"{count} {'trainee' if count == 1 else 'trainees'} in the folder.", "good" if count else "doubt"
        )


def class_tables(seen: class_picture.ClassPicture) -> str:
    """Return the class picture as HTML: what to teach next, who is stuck where, the common slips."""
    title, chapter = class_picture.title_of, class_picture.chapter_of
    coming = [(title(n.family), chapter(n.family), n.stuck, f"{n.right} of {n.tries}") for n in seen.next]
    stuck = [(s.name, title(s.family), f"{s.right} of the last {s.tries} right") for s in seen.stuck]
    slips = [(title(s.family), s.says or s.slip, s.trainees, s.times) for s in seen.slips]
    parts = (
        ("Teach this next", ("sum", "where", "stuck", "first tries right"), coming, "Nobody is stuck."),
        ("Who is stuck where", ("trainee", "sum", "so far"), stuck, "Nobody is stuck."),
        ("Common slips", ("sum", "what to say", "trainees", "times"), slips, "No slips yet."),
    )
    return "".join(
        table(caption, heads, rows) if rows else paragraphs(f"{caption}: {none}")
        for caption, heads, rows, none in parts
    )


def room(name: str, page: Page, topics: Topics, scenes: Scenes) -> Frame:
    """Return a panel of the classroom page by its name."""
    made_by = {
        "screen": ScreenPanel,
        "show-of-hands": lambda: ShowOfHands(page, scenes),
        "show": lambda: ShowPanel(page, topics),
        "secret-fault": lambda: SecretFault(page),
        "handout": HandoutPanel,
        "lesson-cards": LessonCards,
        "class-picture": ClassPanel,
    }
    if name not in made_by:
        raise ValueError(f"There is no classroom panel called {name!r}. There are: {', '.join(made_by)}.")
    return made_by[name]()
