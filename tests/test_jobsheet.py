"""The job sheet: everything on it, nothing hidden, read back as it was written."""

import csv
import html
import io
import json

import pytest

from gaslab.refit import checks, criteria, jobsheet, overlay
from gaslab.refit.job import Job
from gaslab.refit.jobsheet_page import page

SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="10" height="10"><rect width="10" height="10"/></svg>'
NASTY = "\u202e=HYPERLINK(\"x\")<script>alert('&')</script>\x07"


@pytest.fixture
def job(tmp_path, monkeypatch):
    monkeypatch.setenv("GASLAB_HOME", str(tmp_path))
    made = Job.load()
    made.change("runs.kitchen.pipe", "copper-22", "05")
    made.record("09", "meter-working", 18.2, "mbar", 0.1)
    made.finding(criteria.judge("meter-working", 1_820.0), "09", action="reported to the gas supplier")
    made.finding(criteria.judge("permitted-drop", 60.0), "04")
    made.finding(criteria.judge("gas-rate-band", 0.045, uncertainty=0.02), "10", about="hob")
    made.finding(criteria.judge("supervision-time", 10.0), "11", about="rapid")
    made.advise("CO alarm", "fit one that meets the standard", "the tenant", "2026-11-25 10:00")
    checks.answer(made, "oven-projection", -12.0)
    checks.answer(made, "control-off", 0.0, more={"gauge": "electronic-1"})
    return made


def test_the_sheet_reads_itself_back(job):
    made = jobsheet.sheet(job)
    assert jobsheet.from_json(jobsheet.to_json(made)) == made
    assert made["schema"] == "gaslab-sheet-1"


def test_open_findings_stand_on_every_form(job):
    made = jobsheet.sheet(job)
    outcomes = {f["outcome"] for f in jobsheet.open_findings(made)}
    assert outcomes == {"does not meet", "cannot judge", "cannot tell"}
    text, table = jobsheet.to_html(made), jobsheet.to_csv(made)
    for finding in jobsheet.open_findings(made):
        assert (
            html.escape(finding["words"], quote=True) in text[: text.index("<h2>")]
        )  # at the head of the page
        assert finding["words"] in table
    for hiding in ("display:none", "display: none", "visibility", "hidden", "<!--", "opacity"):
        assert hiding not in text


def test_a_finding_taken_out_of_a_file_is_noticed(job):
    made = jobsheet.sheet(job)
    for spoil in (
        lambda m: m["findings"].pop(0),
        lambda m: m["findings"][0].update(outcome="meets"),
        lambda m: m["findings"][0].update(outcome="fine"),
        lambda m: m["checks"].pop(),
        lambda m: m["checks"][0].update(state="recorded"),
        lambda m: m.update(notice="GAS SAFETY RECORD"),
        lambda m: m.update(registration="123456"),
        lambda m: m.update(schema="gaslab-sheet-2"),
    ):
        other = json.loads(jobsheet.to_json(made))
        spoil(other)
        with pytest.raises(jobsheet.SheetError):
            jobsheet.from_json(jobsheet.to_json(other))


@pytest.mark.parametrize(
    "text", ["", "[]", "{}", '{"schema": NaN}', '{"schema": "a", "schema": "b"}', "[" * 50_000]
)
def test_a_text_that_is_no_sheet_is_refused_with_a_sentence(text):
    with pytest.raises(jobsheet.SheetError, match=r"the sheet .*\.$"):
        jobsheet.from_json(text)


def test_every_form_says_that_it_is_training_and_gives_the_emergency_number(job):
    made = jobsheet.sheet(job)
    for form in (jobsheet.to_html(made), jobsheet.to_csv(made), jobsheet.to_json(made)):
        assert "TRAINING: SIMULATED READINGS, NOT A GAS SAFETY RECORD" in form
        assert "0800 111 999" in form
    # The notice stands in the head and the foot of the one table: a printer repeats both on each page.
    text = jobsheet.to_html(made)
    assert text.index("<thead>") < text.index("TRAINING", text.index("<thead>")) < text.index("</thead>")


def test_no_form_has_a_place_for_a_licence(job):
    made = jobsheet.sheet(job)
    for form in (jobsheet.to_html(made), jobsheet.to_csv(made), jobsheet.to_json(made)):
        for word in ("registration", "licence number", "card number", "engineer number"):
            assert word not in form.lower()


def test_every_finding_and_reading_stands_on_the_page(job):
    made = jobsheet.sheet(job)
    text = jobsheet.to_html(made)
    told = {line["key"] for line in made["checks"]}
    for finding in made["findings"]:
        assert html.escape(finding["words"], quote=True) in text or finding["about"] in told
    assert "<b>18.2 mbar</b>" in text
    for line in made["checks"]:
        if line["value"] is not None:
            assert f"{line['value']:g}" in text and f"{html.escape(line['number'])}." in text
    checks.answer(job, "oven-projection", 30.0)  # put right: the first finding stays in sight
    again = jobsheet.to_html(jobsheet.sheet(job))
    assert "-12 mm does not meet" in again[: again.index("<h2>")]
    assert "<b>-12 mm</b>" in again and "30 mm: gap behind the oven" in again


def test_what_a_person_types_cannot_break_out(job):
    job.record("09", NASTY, 20.0, "mbar", 0.1, note=NASTY)
    job.advise(NASTY, NASTY, NASTY, NASTY)
    made = jobsheet.sheet(job)
    assert jobsheet.from_json(jobsheet.to_json(made)) == made
    text = jobsheet.to_html(made)
    assert "<script" not in text and "\u202e" not in text and "\x07" not in text
    for row in csv.reader(io.StringIO(jobsheet.to_csv(made), newline="")):
        assert not any(cell[:1] in "=+@" for cell in row if cell)
        assert not any(cell.startswith("-") and not cell[1:2].isdigit() for cell in row)


def test_the_csv_is_rfc_4180_and_holds_every_line(job):
    made = jobsheet.sheet(job)
    text = jobsheet.to_csv(made)
    assert text.count("\r\n") == text.count("\n")
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    sections = [row["section"] for row in rows]
    assert sections.count("reading") == len(made["readings"])
    assert sections.count("finding") == len(made["findings"])
    assert sections.count("check") == len(checks.checks())
    working = next(row for row in rows if row["section"] == "reading" and row["what"] == "meter-working")
    assert (float(working["value"]), working["unit"]) == (18.2, "mbar")


def test_drawings_go_in_as_pictures_and_cannot_restyle_the_page(job):
    made = jobsheet.sheet(job)
    sly = SVG.replace("<rect", "<style>.open{display:none}</style><rect")
    text = jobsheet.to_html(made, {"Pipe run <1>": sly, "Pressure trace": SVG})
    assert text.count("<img") == 2 and "display:none" not in text and "Pipe run &lt;1&gt;" in text
    with pytest.raises(ValueError, match="Pipe run"):
        jobsheet.to_html(made, {"Pipe run": "<p>no drawing</p>"})


def test_an_entered_limit_prints_edition_clause_name_and_date(job):
    entry = overlay.Entry("permitted-drop", 5.0, "mbar", "Edition X", "clause Y", "A. Tutor", "2026-11-25")
    job.finding(criteria.judge("permitted-drop", 60.0, entries=(entry,)), "04")
    made = jobsheet.sheet(job)
    for form in (jobsheet.to_html(made), jobsheet.to_csv(made)):
        for words in ("Edition X", "clause Y", "A. Tutor", "2026-11-25"):
            assert words in form


def test_every_check_easily_left_out_has_its_number_decision_and_line(job):
    made = jobsheet.sheet(job)
    text = jobsheet.to_html(made)
    for one in checks.checks():
        assert html.escape(one.line, quote=True) in text
    lines = {line["key"]: line for line in made["checks"]}
    assert lines["oven-projection"]["outcome"] == "does not meet"
    assert lines["control-off"]["outcome"] == "meets"
    assert lines["relit"]["state"] == "not recorded"
    # The parts of the job that the course promises not to leave out.
    assert set(lines) == {
        "who-may-work", "data-plate", "gas-family-injectors", "oven-isolated", "oven-projection",
        "pipe-or-hose", "other-appliances-before", "other-appliances-after", "building-control",
        "voltage-sweep", "control-off", "continuity-bond", "open-ends", "clips", "cut-out",
        "mis-cut-cost", "noise", "vibration", "dust", "clamps-and-seal", "electrical-handed-over",
        "leak-fluid", "smell-of-gas", "flame-picture", "best-practice", "relit", "controls-shown",
        "instructions-left", "new-rise", "clear-of-cables", "clear-of-boards", "bond-place", "bond-size",
    }  # fmt: skip


def test_figures_of_the_site_move_with_the_site(job):
    before = checks.figure(job.site, "oven-projection")
    moved = job.change("oven.pipe_projection", 0.02, "03")
    # 600 mm void, 550 mm oven: 62 mm of pipe leaves -12 mm, 20 mm leaves 30 mm.
    assert (before, checks.figure(moved, "oven-projection")) == ("-12 mm", "30 mm")
    # 180 pounds and 3.5 hours at 45 pounds.
    assert "£338" in checks.figure(moved, "mis-cut-cost") or "£337" in checks.figure(moved, "mis-cut-cost")


def test_the_page_is_a_pure_function_of_the_sheet(job):
    made = jobsheet.sheet(job)
    frozen = jobsheet.to_json(made)
    assert page(made, jobsheet.open_findings(made), {}) == jobsheet.to_html(made)
    assert jobsheet.to_json(made) == frozen
