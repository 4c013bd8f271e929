"""The list of all figures: complete against the files themselves, and honest about what is not known."""

import csv
import re
import tomllib

from gaslab import tables
from gaslab.learn import figures, items
from gaslab.refit import limits, provenance
from gaslab.show.panels.opening import SourcesPanel


def _count(name):
    with (tables.data_folder() / name).open(newline="", encoding="utf-8") as stream:
        return sum(1 for row in csv.reader(stream) if row) - 1


def test_every_row_of_every_table_is_listed():
    listed = provenance.figures()
    for table in provenance.LONG_TABLES:
        assert sum(figure.table == table for figure in listed) == _count(f"{table}.csv"), table
    limits = sum(_count(f"criteria/{name}") for name in tables.files("criteria", ".csv"))
    assert sum(figure.table == "limits" for figure in listed) == limits


def test_no_long_table_is_left_out():
    header = ",".join(tables.FACT_COLUMNS)
    long = {
        path.stem
        for path in tables.data_folder().glob("*.csv")
        if path.read_text(encoding="utf-8").startswith(header)
    }
    assert long == set(provenance.LONG_TABLES)


def test_each_figure_says_what_stands_behind_it():
    for figure in provenance.figures():
        assert figure.document and figure.status in tables.STATUSES and figure.value and figure.basis, figure


def test_the_drops_in_force_are_not_guessed():
    # The bands of the edition in force were not seen by anyone who wrote this course.
    found = [f for f in provenance.figures() if f.name.startswith("permitted-drop:") and f.status == "enter"]
    assert found and all(f.value == "not confirmed" for f in found)
    assert [m for m in provenance.edition_matters() if m.about.startswith("Permitted drop")]


def test_edition_matters_name_their_sources():
    matters = provenance.edition_matters()
    assert len(matters) == _count("editions.csv")
    assert all(m.source in tables.sources() and m.now and m.since for m in matters)


# Table -> why the list of figures leaves it out. A new file in data/ is in neither, and the test below says so.
LEFT_OUT = {
    "sources": "it is what stands behind the figures",
    "editions": "it has a table of its own on the same page",
    "glossary": "it holds words",
    "procedure": "it holds what comes before what",
    "records": "its numbers say how finely a reading is written down; what judges it is a limit, and listed",
    "site_checks": "its numbers say how finely a reading is written down; what judges it is a limit, and listed",
}


def _rows(name):
    with (tables.data_folder() / name).open(newline="", encoding="utf-8") as stream:
        return list(csv.DictReader(stream))


def test_every_csv_file_is_listed_or_has_a_reason():
    there = {p.relative_to(tables.data_folder()).as_posix() for p in tables.data_folder().rglob("*.csv")}
    listed = {figure.table for figure in provenance.figures()}
    for name in sorted(there):
        table = "limits" if name.startswith("criteria/") else name.removesuffix(".csv")
        assert (table in listed) != (table in LEFT_OUT), name
    assert {f"{table}.csv" for table in LEFT_OUT} <= there, "a reason for a file that is gone"
    # Only files whose numbers are steps of writing down may have a unit and stay out.
    with_unit = {t for t in LEFT_OUT if any("unit" in column for column in _rows(f"{t}.csv")[0])}
    assert with_unit == {"records", "site_checks"}


def test_every_formula_fault_and_finding_with_a_figure_is_listed():
    listed = provenance.figures()
    formulas = [(f.name, f.value, f.status) for f in listed if f.table == "formulas"]
    assert formulas == [(row["title"], row["formula"], row["status"]) for row in _rows("formulas.csv")]
    signs = [(f.value, f.unit, f.source, f.status) for f in listed if f.table == "faults"]
    # Let-by is seen at 0.2 mbar, from memory; its sizes are made up for the bench.
    assert signs[0] == ("at least 0.2", "mbar", "up1b-3", "memory")
    assert signs[1] == ("obvious 2; plain 0.5; marginal 0.11", "dm³/h", "bench", "invented")
    assert len(signs) == 2 * _count("faults.csv")
    found = {(f.value, f.status) for f in listed if f.table == "findings"}
    assert found == {("75 s", "practice"), ("109 %", "practice"), ("680 mm against 700 mm", "invented")}
    # What to do about a finding is the exercise of page 13.
    told = " ".join(" ".join((f.name, f.value, f.basis, f.note)) for f in listed if f.table == "findings")
    assert "put right" not in told and "make safe" not in told


def test_every_fact_of_a_question_is_listed_with_its_own_source():
    wanted = []
    for name in tables.files("families", ".toml"):
        raw = tomllib.loads((tables.data_folder() / "families" / name).read_text(encoding="utf-8"))
        places = list(raw.get("facts", {}).values())
        for drawn in raw["draw"].values():
            for option in drawn.get("choose", ()):
                places += [value for value in option.values() if isinstance(value, dict)]
        # A limit that a question reads stands among the limits, with its own source.
        assert all(p["criterion"] in limits.rows() for p in places if "criterion" in p), name
        facts = [p for p in places if "criterion" not in p]
        wanted += [(raw["title"], tables.fact(p["table"], p["key"], p["quantity"]).source) for p in facts]
    listed = [f for f in figures.family_figures() if f.basis != "limit of the question"]
    assert [(f.name.partition(": ")[0], f.source) for f in listed] == wanted and len(wanted) > 30
    # A U6 meter holds 8 dm³ (0.008 m³ in the table, from memory): the question shows it in dm³.
    meter = [f for f in listed if "a U6 diaphragm meter, volume" in f.name]
    assert [(f.value, f.unit, f.status_words) for f in meter] == [("8", "dm³", "from memory, check it")]


def test_every_limit_of_a_question_with_a_figure_of_its_own_is_listed():
    listed = [f for f in figures.family_figures() if f.basis == "limit of the question"]
    told = {(f.name, f.value, f.unit, f.source, f.status) for f in listed}
    # The boiler note's action level is 0.0040.
    title = items.family("co-ratio").title
    assert (f"{title}: Is the ratio at most 0.0040?", "at most 0.004", "", "boiler-note", "published") in told
    fixed = []
    for name in tables.files("families", ".toml"):
        raw = tomllib.loads((tables.data_folder() / "families" / name).read_text(encoding="utf-8"))
        for limit in raw.get("limits", ()):
            ends = [str(limit[end]) for end in ("low", "high") if end in limit]
            plain = any(set(re.findall(r"[a-z]\w*", end)) <= set(raw.get("facts", {})) for end in ends)
            if plain and limit["status"] != "given":
                fixed.append((raw["title"], limit["source"], limit["status"]))
    assert sorted((f.name.partition(": ")[0], f.source, f.status) for f in listed) == sorted(fixed) and fixed
    assert not any("{" in f.name for f in listed), "a figure was left out of the words"


def test_page_00_shows_source_and_status_of_what_changed_and_sifts_it_by_status():
    panel = SourcesPanel()
    which, status = panel.controls["which"], panel.controls["status"]
    file = _rows("editions.csv")
    assert which.value == "what changed between editions" and len(panel.model) == len(file)
    plain = {"memory": "from memory, check it", "practice": "common practice, no source"}
    for kept, words in plain.items():
        status.value = words
        assert [row[0] for row in panel.model] == [row["about"] for row in file if row["status"] == kept]
        assert {row[5] for row in panel.model} == {words} and words in panel.shown.value
    assert "Another nation&#x27;s cooking-appliance rule quoted, undated" in panel.shown.value
    status.value = "any"
    which.value = figures.QUESTIONS
    assert len(panel.model) == len(figures.family_figures())
    assert {"formulas", "faults", "findings"} <= set(dict(which.options))
