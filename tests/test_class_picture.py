"""A class picture from a folder: worked by hand on made-up trainees, and against files broken in many ways."""

import json
from datetime import datetime, timedelta

import pytest

from gaslab.learn import class_picture, items
from gaslab.learn.boxes import Attempt
from gaslab.learn.progress import Progress
from gaslab.refit.folder import FileFault

FAMILY = "leak-from-drop"
OTHER = "gas-rate-metric"


def tries(
    family: str, pattern: str, start: int = 0, slip: str = "no-hour", step: str = "leak"
) -> list[Attempt]:
    """Return first tries: R right, S slipped, and a lower-case s for a second try that slipped."""
    found = []
    for n, letter in enumerate(pattern, start):
        when = (datetime(2026, 3, 2, 9) + timedelta(minutes=n)).isoformat()
        right = letter == "R"
        found.append(
            Attempt(
                f"{abs(hash((family, pattern, n))) % 16**16:016x}", when, family, step, "sum",
                "right" if right else "slip", "" if right else slip, letter.isupper(), letter.isupper(),
            )
        )  # fmt: skip
    return found


def trainee(name: str, *groups: list[Attempt]) -> class_picture.Trainee:
    return class_picture.Trainee(name, tuple(attempt for group in groups for attempt in group))


@pytest.mark.parametrize(
    ("pattern", "stuck"),
    [
        ("SS", None),  # two tries say too little
        ("SSR", (1, 3)),
        ("SRR", None),
        ("RSSRR", None),  # the last four: two of four is not under half
        ("RRRRSSSR", (1, 4)),  # what was right long ago does not count
        ("SSSSRRRR", None),  # nor what was wrong long ago
        ("SsSsSs", (0, 3)),  # a second try is no first try
    ],
)
def test_who_is_stuck_is_counted_from_the_last_four_first_tries(pattern, stuck):
    found = class_picture.stuck_on(trainee("07", tries(FAMILY, pattern)))
    assert [(one.right, one.tries) for one in found] == ([stuck] if stuck else [])


def test_a_class_of_three_by_hand():
    """07 and 08 are stuck on the leak; 09 is stuck on the rate. Worked on paper."""
    class_of_three = [
        trainee("07", tries(FAMILY, "SSS"), tries(OTHER, "RRRR")),
        trainee("08", tries(FAMILY, "SSRS")),
        trainee("09", tries(FAMILY, "RRR", slip=""), tries(OTHER, "SSSS", slip="per-minute", step="rate")),
    ]
    seen = class_picture.picture(class_of_three)
    assert [(s.name, s.family) for s in seen.stuck] == [("07", FAMILY), ("08", FAMILY), ("09", OTHER)]
    assert [(n.family, n.stuck, n.right, n.tries) for n in seen.next] == [
        (FAMILY, 2, 4, 10),
        (OTHER, 1, 4, 8),
    ]
    assert [(s.slip, s.trainees, s.times) for s in seen.slips] == [("no-hour", 2, 6), ("per-minute", 1, 4)]
    # The sentence is the one that its author wrote in the family's own file.
    assert "hour" in seen.slips[0].says
    backwards = [trainee(t.name, list(reversed(t.attempts))) for t in class_of_three]
    assert class_picture.picture(backwards) == seen


def test_slips_that_share_a_name_give_both_sentences_even_when_the_name_was_cut():
    step = items.family(FAMILY).step("leak")
    first, second = step.slips[0], step.slips[1]
    both = class_picture.slip_says(FAMILY, "leak", f"{first.id}-or-{second.id[:-2]}")
    assert first.says in both and second.says in both
    assert class_picture.slip_says("own-question", "leak", "x") == ""


def written(folder, name: str, groups) -> None:
    progress = Progress(folder / "none.json", {a.id: a for a in groups}, [])
    (folder / name).write_text(progress.export_text(), encoding="utf-8")


BROKEN = {
    "cut.json": lambda text: text[: len(text) // 2],
    "empty.json": lambda text: "",
    "list.json": lambda text: "[]",
    "other.json": lambda text: text.replace("gaslab progress", "another thing"),
    "newer.json": lambda text: text.replace('"schema":1', '"schema":99'),
    "twice.json": lambda text: text.replace('{"kind"', '{"schema":1,"kind"'),
    "outcome.json": lambda text: text.replace(',"leak",', ',"<script>",'),
    "deep.json": lambda text: '{"kind":' + "[" * 100_000,
    "nan.json": lambda text: text.replace('"schema":1', '"schema":NaN'),
    "words.txt": lambda text: text,
}


@pytest.mark.parametrize("name", BROKEN)
def test_a_damaged_file_is_named_and_skipped_and_the_rest_is_read(tmp_path, name):
    written(tmp_path, "07.json", tries(FAMILY, "SSS"))
    whole = (tmp_path / "07.json").read_text(encoding="utf-8")
    broken = BROKEN[name](whole)
    assert broken != whole or name.endswith(".txt")
    (tmp_path / name).write_text(broken, encoding="utf-8")
    seen = class_picture.read_class(tmp_path)
    assert seen.trainees == ("07",)
    assert [one.file for one in seen.refused] == [name]
    assert len(str(seen.refused[0]).split()) > 5


def test_files_that_are_no_text_are_named_and_skipped(tmp_path):
    written(tmp_path, "07.json", tries(FAMILY, "SSS"))
    (tmp_path / "08.json").write_bytes(b"\xff\xfe\x00x")
    (tmp_path / "09.json").symlink_to(tmp_path / "nowhere.json")
    (tmp_path / ".hidden.json").write_text("no", encoding="utf-8")
    seen = class_picture.read_class(tmp_path)
    assert seen.trainees == ("07",)
    assert [one.file for one in seen.refused] == ["08.json"]


def test_two_exports_of_one_trainee_count_once(tmp_path):
    early, late = tries(FAMILY, "SS"), tries(FAMILY, "S", start=7)
    written(tmp_path, "07.json", early)
    written(tmp_path, "07 again.json", early + late)
    seen = class_picture.read_class(tmp_path)
    assert seen.trainees == ("07 again",)
    assert [(s.right, s.tries) for s in seen.stuck] == [(0, 3)]
    assert "07 again" in seen.refused[0].why


def test_a_folder_that_is_not_there_is_a_sentence(tmp_path):
    with pytest.raises(FileFault, match="no folder"):
        class_picture.read_class(tmp_path / "nowhere")


def test_what_a_trainees_notebook_exports_can_be_read(tmp_path):
    """The real way round: recorded by one, exported, put in a folder."""
    own = Progress.load(tmp_path / "home")
    for _ in range(3):
        own.record(FAMILY, "leak", "sum", "slip", "no-hour", first=True, last_step=True)
    folder = tmp_path / "class"
    folder.mkdir()
    (folder / "12.json").write_text(own.export_text(), encoding="utf-8")
    seen = class_picture.read_class(folder)
    assert json.loads(own.export_text())["kind"] == "gaslab progress"
    assert [(s.name, s.family, s.right, s.tries) for s in seen.stuck] == [("12", FAMILY, 0, 3)]
