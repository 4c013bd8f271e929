"""Every number in data/ says its unit, basis, source and status; a bad row is named by file, row and column."""

import csv
import io
import json
import shutil
from pathlib import Path

import pytest

from gaslab import tables, units

DATA = tables.data_folder()
NUMBERED = sorted(p.relative_to(DATA).as_posix() for p in DATA.rglob("*.csv") if p.name != "sources.csv")


def table_of(file: str) -> str:
    """Return the schema a file follows: its own name, or its folder's."""
    folder, _, name = file.rpartition("/")
    return folder or name.removesuffix(".csv")


def has_facts(file: str) -> bool:
    return tables.SCHEMAS.get(table_of(file), tables.FACT_COLUMNS) == tables.FACT_COLUMNS


def read(file: str) -> None:
    """Read a table as the course reads it."""
    if has_facts(file):
        tables.facts(table_of(file))
    else:
        tables.records(table_of(file), file)


@pytest.fixture
def copied_data(tmp_path, monkeypatch):
    """Return a copy of data/ that the course reads in place of its own."""
    copy = tmp_path / "data"
    shutil.copytree(DATA, copy)
    monkeypatch.setattr(tables, "data_folder", lambda: copy)
    forget()
    yield copy
    monkeypatch.undo()
    forget()


def forget() -> None:
    """Let go of what was read, so that the next reading is a fresh one."""
    for reader in (tables.sources, tables.facts, tables.records, tables._text):
        reader.cache_clear()


def rows_of(path: Path) -> list[list[str]]:
    return list(csv.reader(io.StringIO(path.read_text(encoding="utf-8-sig"))))


def write_rows(path: Path, rows: list[list[str]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream, lineterminator="\n").writerows(rows)


def damage(path: Path, column: str, value: str, row: int = 2) -> None:
    """Put a value into one cell; rows are counted as a spreadsheet counts them."""
    rows = rows_of(path)
    rows[row - 1][rows[0].index(column)] = value
    write_rows(path, rows)


@pytest.mark.parametrize("file", NUMBERED)
def test_every_row_stands_up(file):
    """Columns, numbers, units, source keys and statuses of the whole table."""
    read(file)
    rows = rows_of(DATA / file)
    assert len(rows) > 1, "a table with no rows says nothing"


@pytest.mark.parametrize("file", [f for f in NUMBERED if f not in ("glossary.csv",)])
def test_every_number_has_unit_source_and_status(file):
    head, *rows = rows_of(DATA / file)
    assert {"source", "status"} <= set(head)
    for at, cells in enumerate(rows, start=2):
        row = dict(zip(head, cells, strict=True))
        where = f"data/{file}, row {at}"
        assert row["source"], f"{where}: no source"
        assert row["status"] in tables.STATUSES, f"{where}: {row['status']!r}"
        if row.get("value") and row["value"] != "maker":  # the maker's own figure comes with the appliance
            assert row["unit"] in units.TRADE_UNITS, f"{where}: {row['unit']!r}"
            for part in row["value"].split("..") if "op" in row else [row["value"]]:  # a limit may be a range
                float(part)
        # A limit that could not be confirmed must not carry a figure all the same.
        if "op" in row and row["status"] == "enter":
            assert row["value"] == "", f"{where}: an unconfirmed limit has a value"


def test_status_goes_with_what_was_seen_of_the_source():
    """*published* claims that the document was seen; then sources.csv must say what was seen of it."""
    for file in NUMBERED:
        head, *rows = rows_of(DATA / file)
        for at, cells in enumerate(rows, start=2):
            row = dict(zip(head, cells, strict=True))
            if row.get("status") == "published":
                source = tables.sources()[row["source"]]
                assert not source.seen.startswith("nothing"), (
                    f"data/{file}, row {at}: published, but {source.key} was not seen"
                )


@pytest.mark.parametrize("file", sorted(p.relative_to(DATA).as_posix() for p in DATA.rglob("*.toml")))
def test_every_toml_file_reads(file):
    assert tables.toml_file(file)


@pytest.mark.parametrize("file", sorted(p.relative_to(DATA).as_posix() for p in DATA.rglob("*.json")))
def test_every_json_file_reads(file):
    assert tables.json_file(file)


@pytest.mark.parametrize(
    ("column", "value", "words"),
    [
        ("unit", "furlong", "'furlong' is not a listed unit"),
        ("source", "hearsay", "'hearsay' is not a key in sources.csv"),
        ("status", "sure", "must be one of"),
    ],
)
@pytest.mark.parametrize("file", NUMBERED)
def test_a_damaged_cell_is_named(copied_data, file, column, value, words):
    rows = rows_of(copied_data / file)
    if column not in rows[0]:
        assert file == "glossary.csv" or column == "unit", f"{file} has no {column}"
        return
    last = len(rows)
    damage(copied_data / file, column, value, row=last)
    with pytest.raises(tables.TableError) as told:
        read(file)
    assert (told.value.file, told.value.row, told.value.column) == (file, last, column)
    assert str(told.value).startswith(f"data/{file}, row {last}, column {column}: ")
    assert words in str(told.value)


@pytest.mark.parametrize("value", ["nine", "", "nan", "inf", "1,5", "0x10"])
def test_a_value_that_is_no_number_is_named(copied_data, value):
    damage(copied_data / "pipes.csv", "value", value, row=3)
    with pytest.raises(tables.TableError, match=r"data/pipes\.csv, row 3, column value: needs a"):
        tables.facts("pipes")


@pytest.mark.parametrize("column", ["key", "quantity", "basis"])
def test_an_empty_name_is_told(copied_data, column):
    damage(copied_data / "pipes.csv", column, "", row=4)
    with pytest.raises(
        tables.TableError, match=r"data/pipes\.csv, row 4: key, quantity and basis must be filled"
    ):
        tables.facts("pipes")


def test_a_number_that_stands_twice_is_told(copied_data):
    rows = rows_of(copied_data / "pipes.csv")
    write_rows(copied_data / "pipes.csv", [*rows, rows[1]])
    with pytest.raises(tables.TableError, match=rf"row {len(rows) + 1}, column quantity: .* stands twice"):
        tables.facts("pipes")


def test_a_missing_column_is_told(copied_data):
    write_rows(copied_data / "pipes.csv", [row[:-1] for row in rows_of(copied_data / "pipes.csv")])
    with pytest.raises(tables.TableError, match=r"data/pipes\.csv, row 1: the columns must be"):
        tables.facts("pipes")


def test_a_short_row_is_told(copied_data):
    rows = rows_of(copied_data / "pipes.csv")
    write_rows(copied_data / "pipes.csv", [*rows[:5], rows[5][:4], *rows[6:]])
    with pytest.raises(tables.TableError, match=r"data/pipes\.csv, row 6: needs 8 cells; found 4"):
        tables.facts("pipes")


def test_a_missing_file_is_told(copied_data):
    (copied_data / "pipes.csv").unlink()
    with pytest.raises(tables.TableError, match=r"data/pipes\.csv: the file is missing"):
        tables.facts("pipes")


def test_a_file_in_another_code_is_told(copied_data):
    path = copied_data / "pipes.csv"
    path.write_bytes(path.read_text(encoding="utf-8").encode("utf-16"))
    with pytest.raises(tables.TableError, match=r"data/pipes\.csv: the file is not UTF-8"):
        tables.facts("pipes")


def test_a_source_without_words_is_told(copied_data):
    damage(copied_data / "sources.csv", "seen", "", row=2)
    with pytest.raises(tables.TableError, match=r"data/sources\.csv, row 2: key, document and seen"):
        tables.sources()


def test_a_source_that_stands_twice_is_told(copied_data):
    rows = rows_of(copied_data / "sources.csv")
    write_rows(copied_data / "sources.csv", [*rows, rows[1]])
    with pytest.raises(tables.TableError, match=r"column key: .* stands twice"):
        tables.sources()


def test_broken_json_names_its_row(copied_data):
    path = copied_data / "sites" / "alder-court.json"
    lines = path.read_text(encoding="utf-8").splitlines()
    lines[9] = lines[9].replace(":", "", 1) if ":" in lines[9] else "?" + lines[9]
    path.write_text("\n".join(lines), encoding="utf-8")
    with pytest.raises(tables.TableError) as told:
        tables.json_file("sites/alder-court.json")
    assert told.value.row is not None and abs(told.value.row - 10) <= 1


def test_a_number_that_json_cannot_hold_is_refused(copied_data):
    path = copied_data / "sites" / "alder-court.json"
    site = json.loads(path.read_text(encoding="utf-8"))
    site["altitude"] = float("nan")
    path.write_text(json.dumps(site), encoding="utf-8")
    with pytest.raises(tables.TableError, match="NaN is not a number"):
        tables.json_file("sites/alder-court.json")


def test_the_converted_value_agrees_with_the_row():
    """A few facts of the trade in SI, worked by hand: 0.9 mm wall, 15 mm outside diameter."""
    assert tables.si("pipes", "copper-22", "wall") == pytest.approx(0.0009)
    assert tables.si("pipes", "copper-15", "outside_diameter") == pytest.approx(0.015)
