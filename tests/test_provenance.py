"""The list of all figures: complete against the files themselves, and honest about what is not known."""

import csv

from gaslab import tables
from gaslab.refit import provenance


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
