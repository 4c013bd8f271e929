"""The crib and the glossary: all from the data, escaped, with what stands behind each number in sight."""

import itertools
from html.parser import HTMLParser

import pytest
from tests_support import doctest_failures

from gaslab import tables
from gaslab.learn import reference
from gaslab.refit import limits

VOID = {"meta", "br"}


class Reader(HTMLParser):
    """Collects the text of each cell and checks that every element is closed in its order."""

    def __init__(self):
        super().__init__()
        self.open, self.cells, self.scripts = [], [], 0

    def handle_starttag(self, tag, attrs):
        if tag not in VOID:
            self.open.append(tag)
        self.scripts += tag == "script" or any(
            name.startswith("on") or name in ("src", "href") for name, _ in attrs
        )
        if tag in ("td", "dt", "dd"):
            self.cells.append("")

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if self.open and self.open[-1] in ("td", "dt", "dd"):
            self.cells[-1] += data


def read(page):
    reader = Reader()
    reader.feed(page)
    reader.close()
    assert reader.open == [] and reader.scripts == 0
    return reader.cells


def test_the_crib_holds_every_formula_and_every_limit_with_its_status():
    cells = read(reference.crib())
    for row in tables.records("formulas"):
        assert {row["title"], row["formula"], row["symbols"]} <= set(cells)
        assert any(tables.STATUS_WORDS[row["status"]] in cell for cell in cells)
    for limit in (each for found in limits.rows().values() for each in found):
        assert limit.quantity in cells and limit.backing() in cells


def test_a_limit_that_is_not_confirmed_shows_no_number():
    open_limits = [each for found in limits.rows().values() for each in found if each.status == "enter"]
    assert open_limits  # the permitted drop of the edition in force, at least
    for limit in open_limits:
        row = reference._limit_row(limit)
        assert row[3] == "not confirmed: enter it from the edition in force" and "not confirmed" in row[4]


def test_superseded_limits_say_so():
    superseded = [each for found in limits.rows().values() for each in found if each.superseded]
    assert superseded and all(reference._limit_row(limit)[4].endswith("superseded") for limit in superseded)


# Each by definition of the units: foot 0.3048 m, Btu 1055.056 J, kWh 3.6 MJ.
@pytest.mark.parametrize(
    ("this", "is_"),
    [
        ("1 mbar", "100 Pa"),
        ("1 m³", "35.315 ft³"),
        ("1 ft³", "0.028317 m³"),
        ("1 kWh", "3.6 MJ"),
        ("1 kW", "3412.1 Btu/h"),
        ("1 MJ/m³", "26.839 Btu/ft³"),
        ("1 %", "10000 ppm"),
        ("1 l/s", "3.6 m³/h"),
    ],
)
def test_conversions(this, is_):
    cells = read(reference.crib())
    pairs = set(itertools.pairwise(cells))
    assert (this, is_) in pairs


def test_the_glossary_has_each_term_once_in_order():
    terms = [term for term, _, _ in reference.glossary_terms()]
    assert len({term.casefold() for term in terms}) == len(terms) >= 50
    cells = read(reference.glossary())
    shown = cells[::2]
    assert shown == sorted(shown, key=str.casefold) and set(shown) == set(terms)
    for _, meaning, chapter in reference.glossary_terms():
        assert meaning.endswith(".") and len(chapter) == 2
        assert all(len(sentence.split()) <= 22 for sentence in meaning.split(". "))


def rows_of(monkeypatch, *rows):
    columns = ("term", "meaning", "chapter", "_row")
    monkeypatch.setattr(
        tables, "records", lambda table: tuple(dict(zip(columns, row, strict=True)) for row in rows)
    )


def test_a_term_that_stands_twice_is_told_by_its_row(monkeypatch):
    rows_of(monkeypatch, ("Gas", "A.", "01", "2"), ("gas", "B.", "01", "3"))
    with pytest.raises(tables.TableError, match=r"glossary\.csv, row 3, column term: 'gas' stands twice"):
        reference.glossary_terms()
    rows_of(monkeypatch, ("Gas", "", "01", "2"))
    with pytest.raises(tables.TableError, match="must be filled"):
        reference.glossary()


def test_text_from_the_data_is_escaped(monkeypatch):
    rows_of(monkeypatch, ("<script>alert(1)</script>", 'a "b" & <i>\u202e', "01", "2"))
    page = reference.glossary()
    assert "<script>" not in page and "&lt;script&gt;" in page and "\u202e" not in page
    assert read(page)[0] == "<script>alert(1)</script>"


def test_doctests():
    assert doctest_failures(reference) == 0
