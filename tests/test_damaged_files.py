"""A damaged file of the user's own stops no page: it is set aside, named in a sentence, and nothing in it is lost."""

from __future__ import annotations

import json
from types import SimpleNamespace

import pytest
from desk_support import hand_in, html_faults, set_paper
from own_questions import GOOD

from gaslab.assess import desk, folders, pack
from gaslab.assess.variants import PaperError
from gaslab.refit import overlay
from gaslab.show.panels.desk_marking import MarkingPanel
from gaslab.show.panels.desk_own import OwnItemPanel
from gaslab.show.panels.desk_setting import OWN, SettingPanel
from gaslab.show.panels.desk_standard import SealPanel, StandardPanel
from gaslab.show.panels.limits import EnterLimit
from gaslab.show.panels.sitting import SittingPanel

BAD_JSON = [
    b"", b"{", b"\xff\xfe{}", b"[]", b"5", b"{}", b'{"cut":NaN,"error":1}', b'{"cut":"9","error":1}',
    b'{"cut":true,"error":1}', b'{"cut":-1,"error":1}', b'{"cut":1e999,"error":1}',
    b'{"cut":1' + b"0" * 400 + b',"error":1}', b"[" * 5000,
]  # fmt: skip
BAD_TOML = [b"", b"\xff\xfe", b"family = ", b'family = "x"\n', b"a = " + b"[" * 3000, b"x" * 50_000]


def set_aside(path) -> list[bytes]:
    """What lies beside a file under its name of a damaged one."""
    return [found.read_bytes() for found in path.parent.glob(f"{path.stem}.damaged-*{path.suffix}")]


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    """One paper set by its panel, for every case of a damaged cut."""
    home = tmp_path_factory.mktemp("home")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("GASLAB_HOME", str(home))
        set_paper()
    return home


@pytest.mark.parametrize("data", BAD_JSON)
def test_a_damaged_cut_is_set_aside_and_the_marking_opens(built, monkeypatch, data):
    monkeypatch.setenv("GASLAB_HOME", str(built))
    (folder,) = desk.known_papers().values()
    path = desk.assessor_file(folder, desk.STANDARD)
    path.write_bytes(data)
    before = len(set_aside(path))
    panel = MarkingPanel()
    assert "standard.json" in panel.message.sentence and "standard.damaged-" in panel.message.sentence
    assert not path.exists() and len(set_aside(path)) == before + 1 and data in set_aside(path)
    assert panel.controls["cut"].value == "" and panel.controls["paper"].value == folder.name
    assert html_faults(panel) == []
    assert MarkingPanel().message.sentence == "", "it is said once; then the paper has no cut"
    SealPanel()
    StandardPanel()


def test_a_damaged_cut_does_not_stand_in_the_way_of_a_new_one(built, monkeypatch):
    monkeypatch.setenv("GASLAB_HOME", str(built))
    (folder,) = desk.known_papers().values()
    path = desk.assessor_file(folder, desk.STANDARD)
    path.write_bytes(b"{half")
    panel = StandardPanel()
    count = len(next(iter(desk.key_of_folder(folder).forms.values())))
    panel.controls["ratings"].value = f"J1 {'0.5 ' * count}\nJ2 {'0.7 ' * count}"
    panel.controls["keep"].click()
    assert "set aside as standard.damaged-" in panel.message.sentence and "Kept" in panel.message.sentence
    assert desk.standard_of(folder) is not None and b"{half" in set_aside(path)
    path.unlink()


@pytest.mark.parametrize("data", BAD_TOML)
def test_a_damaged_question_is_set_aside_and_the_others_are_offered(own_home, data):
    desk.keep_question(GOOD)
    (good,) = (own_home / desk.QUESTIONS).glob("*.toml")
    path = good.with_name("half.toml")
    path.write_bytes(data)
    with pytest.raises(PaperError, match=r"half\.toml"):
        desk.own_bank()
    panel = SettingPanel()
    assert "half.toml" in panel.message.sentence and "half.damaged-" in panel.message.sentence
    assert set_aside(path) == [data] and not path.exists() and good.exists()
    panel.controls["chapter"].value = OWN
    assert [value for _, value in panel.controls["family"].options] == [good.stem]
    assert html_faults(panel) == []
    assert SettingPanel().message.sentence == "" and len(set_aside(path)) == 1
    OwnItemPanel()


def test_every_damaged_question_is_named(own_home):
    place = own_home / desk.QUESTIONS
    place.mkdir(parents=True)
    for name in ("one.toml", "two.toml"):
        (place / name).write_bytes(b"\xff")
    said = SettingPanel().message.sentence
    assert "one.toml" in said and "two.toml" in said


def test_a_question_whose_name_the_course_has_taken_is_set_aside(own_home):
    place = own_home / desk.QUESTIONS
    place.mkdir(parents=True)
    text = GOOD.replace(GOOD.split('"')[1], "co-ratio", 1).encode()
    (place / "co-ratio.toml").write_bytes(text)
    assert "co-ratio.toml" in SettingPanel().message.sentence
    assert set_aside(place / "co-ratio.toml") == [text]


@pytest.mark.parametrize(
    "data", [b"", b"\xff", b"[]", b"{}", b'{"schema":"gaslab-limits-1","limits":[5]}',
             b'{"schema":"gaslab-limits-1","limits":[{"key":"x"}]}',
             json.dumps({"schema": overlay.SCHEMA, "limits": [{
                 "key": "permitted-drop", "value": 10**400, "unit": "mbar", "edition": "4", "clause": "1",
                 "entered_by": "AB", "entered_on": "2031-05-05",
             }]}).encode()],
)  # fmt: skip
def test_damaged_limits_are_set_aside_and_named(own_home, data):
    own_home.mkdir(parents=True, exist_ok=True)
    path = own_home / overlay.FILE
    path.write_bytes(data)
    panel = EnterLimit(SimpleNamespace())
    assert "limits.json" in panel.message.sentence and "limits.damaged-" in panel.message.sentence
    assert set_aside(path) == [data] and not path.exists()
    assert "No limit has been entered" in panel.text
    assert EnterLimit(SimpleNamespace()).message.sentence == ""


@pytest.mark.parametrize("data", [b"", b"\xff", b"{", b"[]", b'{"kind":"gaslab paper"}'])
def test_a_damaged_paper_file_is_told_and_stays_where_it_is(own_home, tmp_path, data):
    path = tmp_path / pack.JSON_NAME
    path.write_bytes(data)
    panel = SittingPanel(path)
    assert panel.sheet is None and "paper" in panel.message.sentence
    assert path.read_bytes() == data, "it belongs to whoever handed it out"


def test_whole_files_are_left_alone(built, monkeypatch):
    monkeypatch.setenv("GASLAB_HOME", str(built))
    (folder,) = desk.known_papers().values()
    kept = json.dumps({"cut": 4.5, "most": 9, "error": 0.5, "ratings": {}}).encode()
    path = desk.assessor_file(folder, desk.STANDARD)
    path.write_bytes(kept)
    panel = MarkingPanel()
    assert panel.controls["cut"].value == "4.50" and panel.message.sentence == ""
    assert path.read_bytes() == kept
    path.unlink()
    sat = SittingPanel(folder / folders.HAND_OUT / "form-a" / pack.JSON_NAME)
    sat.controls["candidate"].value = "GAS-0001"
    sat.controls["begin"].click()
    assert "-" in hand_in(sat)
