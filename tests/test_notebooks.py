"""What every notebook keeps to: thin, hidden code, plain words, no stored state, nothing given away."""

import ast
import json
import re
import statistics
from pathlib import Path

import pytest

from gaslab import tables

from reading import measure, syllables

ROOT = Path(__file__).resolve().parent.parent
FOLDER = ROOT / "notebooks"
NAMES = """00-start-here 01-units-and-gauges 02-the-gas 03-survey 04-tightness-test 05-pipe-run 06-room-and-air
07-cut-and-clear 08-retest-and-purge 09-pressures 10-gas-rate 11-flame-supervision 12-combustion-and-co
13-decide-and-report 14-handover 15-whole-job 20-classroom 30-setting-questions 31-marking-and-analysis""".split()
TRAINEE = [name for name in NAMES if name < "16"]
NEVER_IN_A_CELL = (
    ast.FunctionDef, ast.AsyncFunctionDef, ast.ClassDef, ast.Lambda, ast.For, ast.While, ast.AsyncFor,
    ast.ListComp, ast.DictComp, ast.SetComp, ast.GeneratorExp, ast.Try, ast.With,
)  # fmt: skip
# These cells come before the trainee has answered, so what they print must give no number away.
ASKING = (".predict(", ".practise(", ".entry(", ".recall(", ".decide(")


def book(name: str) -> dict:
    return json.loads((FOLDER / f"{name}.ipynb").read_text(encoding="utf-8"))


def cells(name: str, kind: str) -> list[dict]:
    return [cell for cell in book(name)["cells"] if cell["cell_type"] == kind]


def source(cell: dict) -> str:
    return "".join(cell["source"])


def printed(cell: dict) -> str:
    """Return the plain text that a cell's stored results show."""
    shown = []
    for output in cell["outputs"]:
        shown.append("".join(output.get("text", "")))
        shown.append("".join(output.get("data", {}).get("text/plain", "")))
    return "\n".join(shown)


def prose(name: str) -> str:
    return "\n\n".join(source(cell) for cell in cells(name, "markdown"))


def terms() -> tuple[str, ...]:
    return tuple(row["term"] for row in tables.records("glossary"))


def test_the_course_is_whole():
    assert sorted(path.stem for path in FOLDER.glob("*.ipynb")) == sorted(NAMES)
    assert sorted(path.name for path in FOLDER.iterdir() if not path.name.startswith(".")) == sorted(
        f"{name}.ipynb" for name in NAMES
    )


@pytest.mark.parametrize("name", NAMES)
def test_the_first_code_cell_is_one_import(name):
    first = ast.parse(source(cells(name, "code")[0])).body
    assert len(first) == 1
    assert isinstance(first[0], (ast.Import, ast.ImportFrom))


@pytest.mark.parametrize("name", NAMES)
def test_cells_are_thin(name):
    lengths = [len(source(cell).splitlines()) for cell in cells(name, "code")]
    assert max(lengths) <= 8
    assert statistics.median(lengths) <= 2


@pytest.mark.parametrize("name", NAMES)
def test_cells_hold_no_program(name):
    for cell in cells(name, "code"):
        code = source(cell)
        for node in ast.walk(ast.parse(code)):
            assert not isinstance(node, NEVER_IN_A_CELL), code
        assert not re.search(r"^\s*[!%]|https?://|[\"'](/|[A-Za-z]:\\)", code, re.M), code


@pytest.mark.parametrize("name", NAMES)
def test_code_is_hidden_and_its_first_line_is_a_title(name):
    for cell in cells(name, "code"):
        first = source(cell).splitlines()[0]
        assert re.fullmatch(r"# ▶ [A-Z][^\d]*", first), f"{first!r}: a title with no number in it"
        assert cell["metadata"]["jupyter"]["source_hidden"] is True
        assert "remove-input" in cell["metadata"]["tags"]
    for cell in book(name)["cells"]:
        assert cell["metadata"]["editable"] is False
        assert cell["metadata"]["deletable"] is False


@pytest.mark.parametrize("name", NAMES)
def test_nothing_but_plain_text_is_stored(name):
    whole = book(name)
    assert set(whole["metadata"]) == {"kernelspec", "language_info"}, "widget state, or an editor's own notes"
    assert whole["metadata"]["language_info"] == {"name": "python"}
    for number, cell in enumerate(cells(name, "code"), start=1):
        assert cell["execution_count"] == number, (
            "not one run from top to bottom: python3 gaslab/course.py stamp"
        )
        for output in cell["outputs"]:
            assert output["output_type"] in {"stream", "display_data", "execute_result"}
            assert set(output.get("data", {"text/plain": ""})) == {"text/plain"}
            assert output.get("name", "stdout") == "stdout", "a warning is no lesson"
        assert not re.search(
            r"Traceback|Warning|0x[0-9a-f]{6}|\w+\(value=|<gaslab|/(home|root|tmp|work)/", printed(cell)
        )


@pytest.mark.parametrize("name", NAMES)
def test_what_is_stored_gives_no_answer_away(name):
    """Before the trainee has answered, the only numbers in sight are those of the question itself."""
    for cell in cells(name, "code"):
        if any(call in source(cell) for call in ASKING):
            asked = tables.toml_file(f"chapters/{name[:2]}.toml").get("predict", {}).get("question", "")
            told = set(re.findall(r"\d+(?:\.\d+)?", printed(cell))) - set(re.findall(r"\d+(?:\.\d+)?", asked))
            assert told == set(), f"{source(cell)}\n{printed(cell)}"


@pytest.mark.parametrize("name", NAMES)
def test_every_cell_says_something_when_it_is_opened_cold(name):
    """An untrusted fresh download shows only this text."""
    for cell in cells(name, "code")[1:]:
        text = printed(cell).strip()
        if source(cell).splitlines()[-1].startswith("page"):
            assert len(text.split()) >= 3, (
                f"{source(cell)}\nshows {text!r}; run: python3 gaslab/course.py stamp"
            )


@pytest.mark.parametrize("name", [name for name in TRAINEE if name not in ("00-start-here", "15-whole-job")])
def test_a_worked_example_ends_in_a_number(name):
    worked = [cell for cell in cells(name, "code") if ".worked(" in source(cell)]
    assert worked
    for cell in worked:
        assert re.search(r"\d", (printed(cell).strip().splitlines() or [""])[-1]), (
            "nbval would compare no number"
        )


@pytest.mark.parametrize("name", NAMES)
def test_a_chapter_opens_its_own_data(name):
    opened = re.findall(r"open_chapter\(\"(\d\d)\"", "\n".join(source(cell) for cell in cells(name, "code")))
    assert set(opened) <= {name[:2]}
    assert prose(name).startswith(f"# {name[:2]} ")


@pytest.mark.parametrize("name", TRAINEE)
def test_the_words_are_easy_to_read(name):
    counted = measure(prose(name), terms())
    assert counted.grade <= 8, f"grade {counted.grade:.1f}"
    assert counted.words_in_a_sentence <= 15
    assert counted.longest <= 35


def words_of(value) -> list[str]:
    """Return every sentence in a chapter's data."""
    if isinstance(value, dict):
        return [
            text
            for key, part in value.items()
            if key not in ("families", "source", "unit")
            for text in words_of(part)
        ]
    if isinstance(value, list):
        return [text for part in value for text in words_of(part)]
    return [value] if isinstance(value, str) and len(value.split()) > 4 else []


@pytest.mark.parametrize("file", tables.files("chapters", ".toml"))
def test_the_words_in_the_data_are_easy_to_read(file):
    text = "\n\n".join(words_of(tables.toml_file(f"chapters/{file}")))
    counted = measure(text, terms())
    assert counted.grade <= 8, f"grade {counted.grade:.1f}"
    assert counted.words_in_a_sentence <= 15


@pytest.mark.parametrize("name", TRAINEE)
def test_work_that_can_hurt_has_its_caution(name):
    if name not in ("00-start-here",):
        first = source(cells(name, "markdown")[0])
        assert "⚠" in first
        assert "registered engineer" in first and "maker's instructions" in first and "ocal codes" in first
    else:
        assert "0800 111 999" in prose(name)
        assert "training" in prose(name).lower()


@pytest.mark.parametrize("name", NAMES)
def test_links_lead_somewhere(name):
    for target in re.findall(r"\]\(([^)]+)\)", prose(name)):
        assert not target.startswith("http"), f"{target}: a page must work with no internet"
        assert (FOLDER / target.split("#")[0]).exists(), target


# Counted by ear and by a dictionary, not by this program.
COUNTED = {
    "gas": 1, "pipe": 1, "hob": 1, "flame": 1, "the": 1, "tight": 1, "lose": 1, "bigger": 2, "kitchen": 2,
    "boiler": 2, "pressure": 2, "meter": 2, "oven": 2, "open": 2, "little": 2, "being": 2, "fitted": 2,
    "turned": 1, "locked": 1, "area": 3, "period": 3, "volume": 2, "radio": 3, "idea": 3, "emergency": 4,
    "regulator": 4, "carbon": 2, "installation": 4, "engineer": 3, "registered": 3, "pieces": 2, "makes": 1,
    "changes": 2, "table": 2, "only": 2, "any": 2, "do": 1, "go": 1, "family": 3, "temperature": 4,
}  # fmt: skip


def test_the_measure_counts_as_a_person_does():
    """The counter may be one off on odd words; on these it may miss at most one in twenty, and never by two."""
    off = {word: syllables(word) - right for word, right in COUNTED.items() if syllables(word) != right}
    assert len(off) <= len(COUNTED) // 20, off
    assert all(abs(miss) == 1 for miss in off.values()), off


def test_the_measure_grades_as_the_formula_says():
    """Worked by hand: 6 words, 1 sentence, 6 syllables; then 8 words, 1 sentence, 24 syllables."""
    assert measure("The cat sat on the mat.").grade == pytest.approx(0.39 * 6 + 11.8 - 15.59)
    hard = measure("Temperature regulation necessitates considerable metrological installation expertise.")
    assert hard.grade > 20
    assert measure("Use the temperature.", ("temperature",)).grade < measure("Use the temperature.").grade
