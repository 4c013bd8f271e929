"""The job file: shared by notebooks, never overwritten in silence, nothing lost."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from gaslab.refit import criteria, job, jobsheet, records, site
from gaslab.refit.fields import SiteError
from gaslab.show.panels.common import JobPanel

ROOT = Path(__file__).resolve().parent.parent


@pytest.fixture(autouse=True)
def own_folder(tmp_path, monkeypatch):
    monkeypatch.setenv("GASLAB_HOME", str(tmp_path))
    return tmp_path


def python(code, folder):
    """Run code in another process, as another notebook's kernel would, and return what it prints."""
    environment = {**os.environ, "GASLAB_HOME": str(folder), "PYTHONPATH": str(ROOT)}
    done = subprocess.run(
        [sys.executable, "-c", code],
        env=environment,
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


READS = """
from gaslab.refit.job import Job
from gaslab.physics import network
site = Job.load().site
gas = site.gas_density(), site.viscosity(), site.air_density()
state = network.solve(site.tree(), site.loads(), 2100.0, *gas)
print(site.installation_volume(), state.pressure[site.end_index("hob")], site.run("kitchen").pipe)
"""


def test_a_pipe_changed_in_one_kernel_moves_every_other(own_folder):
    before = python(READS, own_folder).split()
    python(
        "from gaslab.refit.job import Job; Job.load().change('runs.kitchen.pipe', 'copper-22', '05')",
        own_folder,
    )
    after = python(READS, own_folder).split()
    # 2.1 m of 22 mm in place of 15 mm, by the trade's table (source: volume-table) and 10 % for fittings.
    assert float(after[0]) - float(before[0]) == pytest.approx(2.1 * (0.00032 - 0.00014) * 1.1, rel=1e-9)
    assert float(after[1]) > float(before[1])  # a bigger pipe loses less pressure
    assert after[2] == "copper-22"


def test_every_chapter_is_told_what_was_changed_and_where():
    here = job.Job.load()
    here.change("runs.kitchen.pipe", "copper-22", "05")
    here.change("runs.kitchen.length", 9.0, "05")
    here.change("oven.pipe_projection", 0.071, "07")
    here.change("rooms.kitchen.height", 2.35, "12")
    told = JobPanel(job.Job.load(), "09").text
    assert "pipe of the kitchen run: copper-15 became copper-22 (chapter 05" in told
    assert "length of the kitchen run: 2.1 m became 9 m (chapter 05" in told
    assert "62 mm became 71 mm (chapter 07" in told  # in the unit in which the site's file writes it
    assert "height of the kitchen room: 2.4 m became 2.35 m (chapter 12" in told
    sheet = jobsheet.sheet(job.Job.load())["changes"]
    assert len(sheet) == 4 and all(line in told for line in sheet)


def test_the_sites_own_value_again_is_no_change():
    here = job.Job.load()
    own = here.site.run("kitchen").length
    here.change("runs.kitchen.length", 3.0, "05")
    here.change("runs.kitchen.length", own, "05")
    assert job.Job.load().changes == () and here.site.run("kitchen").length == own


def test_changes_from_two_open_notebooks_merge():
    one, two = job.Job.load(), job.Job.load()
    one.change("runs.kitchen.length", 3.0, "05")
    two.change("rooms.kitchen.height", 2.1, "06")
    both = job.Job.load().site
    assert both.run("kitchen").length == pytest.approx(3.0)
    assert both.room("kitchen").height == 2.1
    assert two.revision == 2


def test_the_same_value_changed_elsewhere_is_a_conflict_and_nothing_is_lost():
    one, two = job.Job.load(), job.Job.load()
    two.record("05", "pipe-drop", 0.71, "mbar", 0.01)
    one.change("runs.kitchen.length", 3.0, "05")
    with pytest.raises(job.JobConflict) as caught:
        two.change("runs.kitchen.length", 4.0, "04")
    assert caught.value.mine == 4.0 and caught.value.theirs.value == 3.0
    assert "chapter 05" in str(caught.value) and "runs.kitchen.length" in str(caught.value)
    newest = job.Job.load()
    assert newest.site.run("kitchen").length == pytest.approx(3.0)
    assert [r.value for r in newest.readings] == [0.71]
    two.refresh()
    two.change("runs.kitchen.length", 4.0, "04")  # seen, and still wanted
    assert job.Job.load().site.run("kitchen").length == pytest.approx(4.0)


def test_a_value_reset_elsewhere_is_a_conflict_too():
    one = job.Job.load()
    one.change("runs.kitchen.length", 3.0, "05")
    two = job.Job.load()
    one.reset("05")
    with pytest.raises(job.JobConflict, match="set back"):
        two.change("runs.kitchen.length", 5.0, "04")


def test_readings_written_by_many_processes_at_once_all_stay(own_folder):
    code = (
        "from gaslab.refit.job import Job\njob = Job.load()\n"
        "for n in range(8): job.record('09', 'k%d', n, 'mbar', 0.1)"
    )
    environment = {**os.environ, "GASLAB_HOME": str(own_folder), "PYTHONPATH": str(ROOT)}
    running = [subprocess.Popen([sys.executable, "-c", code % n], env=environment) for n in range(3)]
    assert [process.wait(120) for process in running] == [0, 0, 0]
    readings = job.Job.load().readings
    assert sorted((r.key, r.value) for r in readings) == sorted(
        (f"k{n}", v) for n in range(3) for v in range(8)
    )
    assert sorted(r.number for r in readings) == list(range(1, 25))


def test_reset_archives_a_chapter_and_keeps_the_rest():
    one = job.Job.load()
    one.change("runs.kitchen.length", 3.0, "05")
    one.record("05", "pipe-drop", 0.71, "mbar", 0.01)
    one.record("09", "meter-working", 20.4, "mbar", 0.1)
    one.finding(criteria.judge("pipe-drop", 71.0), "05")
    one.reset("05")
    again = job.Job.load()
    assert not again.changes and not again.findings
    assert [r.key for r in again.readings] == ["meter-working"]
    assert again.site == site.load()
    assert sorted(entry["kind"] for entry in again.archive) == ["changes", "findings", "readings"]
    again.reset()
    assert len(again.archive) == 4 and not again.readings


def test_a_damaged_file_is_set_aside_and_the_backup_is_used(own_folder):
    one = job.Job.load()
    one.record("09", "meter-working", 20.4, "mbar", 0.1)
    one.record("09", "meter-lock-up", 23.5, "mbar", 0.1)
    path = own_folder / "job-alder-court.json"
    whole = path.read_text()
    path.write_text(whole[: len(whole) // 2])
    again = job.Job.load()
    assert [r.key for r in again.readings] == ["meter-working"]
    aside = [p for p in own_folder.iterdir() if "damaged" in p.name]
    assert len(aside) == 1 and aside[0].read_text() == whole[: len(whole) // 2]
    assert aside[0].name in " ".join(again.troubles)


@pytest.mark.parametrize(
    "spoil",
    [
        lambda text: text.replace("20.4", "NaN"),
        lambda text: text.replace("20.4", "1e999"),
        lambda text: text.replace('"seed": 0', '"seed": 0, "seed": 1'),
        lambda text: text.replace('"seed": 0', '"seed": -1'),
        lambda text: text.replace('"seed": 0', '"seed": true'),
        lambda text: text.replace('"unit": "mbar"', '"unit": "furlong"'),
        lambda text: text.replace('"site": "alder-court"', '"site": "tern-yard"'),
        lambda text: text.replace('"readings": [', '"readings": [7, '),
        lambda text: text + " " * 5_000_000,
        lambda text: "[" * 100_000,
        lambda text: "[]",
        lambda text: "",
    ],
    ids=[
        "nan",
        "infinity",
        "twice",
        "minus",
        "yes",
        "unit",
        "other-site",
        "entry",
        "large",
        "deep",
        "list",
        "empty",
    ],
)
def test_a_file_that_is_not_right_is_told_and_kept(own_folder, spoil):
    job.Job.load().record("09", "meter-working", 20.4, "mbar", 0.1)
    path = own_folder / "job-alder-court.json"
    path.write_text(spoil(path.read_text()))
    again = job.Job.load()
    assert "damaged" in again.troubles[0] and "kept as" in again.troubles[0]
    assert any("damaged" in p.name for p in own_folder.iterdir())
    again.record("09", "meter-working", 20.5, "mbar", 0.1)
    assert job.Job.load().readings[-1].value == 20.5


def test_a_file_of_another_layout_is_left_alone(own_folder):
    path = own_folder / "job-alder-court.json"
    path.write_text('{"schema": "gaslab-job-9"}')
    one = job.Job.load()
    assert "gaslab-job-9" in one.troubles[0] and not one.saved
    one.record("09", "meter-working", 20.4, "mbar", 0.1)
    assert [r.value for r in one.readings] == [20.4]
    assert path.read_text() == '{"schema": "gaslab-job-9"}'


def test_a_folder_that_cannot_be_written_keeps_the_work_in_the_session(tmp_path, monkeypatch):
    blocked = tmp_path / "file"
    blocked.write_text("a file where the folder should be")  # even an administrator cannot write below it
    monkeypatch.setenv("GASLAB_HOME", str(blocked / "home"))
    one = job.Job.load()
    one.record("09", "meter-working", 20.4, "mbar", 0.1)
    one.change("runs.kitchen.length", 3.0, "05")
    assert not one.saved and "session only" in " ".join(one.troubles)
    assert [r.value for r in one.readings] == [20.4]
    assert one.site.run("kitchen").length == pytest.approx(3.0)


def test_a_write_that_fails_half_way_leaves_the_old_file(own_folder, monkeypatch):
    one = job.Job.load()
    one.record("09", "meter-working", 20.4, "mbar", 0.1)
    old = (own_folder / "job-alder-court.json").read_text()

    def full(_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    one.record("09", "meter-lock-up", 23.5, "mbar", 0.1)
    assert (own_folder / "job-alder-court.json").read_text() == old
    assert len(one.readings) == 2 and "No space" in one.troubles[-1]
    assert not [p for p in own_folder.iterdir() if p.name.endswith(".part")]


def test_bad_values_are_refused_with_a_sentence_and_not_stored():
    one = job.Job.load()
    with pytest.raises(SiteError, match=r"rooms\.kitchen\.height.*needed"):
        one.change("rooms.kitchen.height", 99.0, "06")
    with pytest.raises(job.JobError, match="value: read 'nan'; needed a number"):
        one.record("09", "meter-working", float("nan"), "mbar", 0.1)
    with pytest.raises(job.JobError, match="unit"):
        one.record("09", "meter-working", 20.0, "bananas", 0.1)
    with pytest.raises(job.JobError, match="characters long"):
        one.record("09", "meter-working", 20.0, "mbar", 0.1, note="x" * 2_000)
    with pytest.raises(job.JobError, match="given"):
        one.advise("alarm", " ", "", "2026-11-25")
    with pytest.raises(job.JobError, match="seed"):
        one.change_seed(-1)
    assert one.revision == 0 and not one.changes and not one.readings


def test_values_that_belong_together_may_be_changed_again_in_any_order():
    one = job.Job.load()
    one.change("meter.lock_up", 2_600.0, "09")
    one.change("meter.pressure_setting", 2_500.0, "09")
    one.change("meter.lock_up", 2_550.0, "09")
    assert job.Job.load().site.meter.pressure_setting == 2_500.0


def test_the_seed_is_kept_and_not_overwritten_in_silence():
    one, two = job.Job.load(), job.Job.load()
    one.change_seed(7)
    with pytest.raises(job.JobConflict):
        two.change_seed(8)
    assert job.Job.load().seed == 7


def test_each_site_has_its_own_file(own_folder):
    job.Job.load(site="tern-yard").record("09", "meter-working", 20.1, "mbar", 0.1)
    assert not job.Job.load().readings
    assert (own_folder / "job-tern-yard.json").exists()
    with pytest.raises(SiteError, match="one of alder-court"):
        job.Job.load(site="../elsewhere")


def test_the_folder_follows_the_system(monkeypatch):
    monkeypatch.delenv("GASLAB_HOME")
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.setenv("XDG_DATA_HOME", "/data/here")
    assert job.user_data_folder() == Path("/data/here/gaslab")
    monkeypatch.setattr(sys, "platform", "darwin")
    assert job.user_data_folder().parts[-3:] == ("Library", "Application Support", "gaslab")
    monkeypatch.setenv("GASLAB_HOME", "/own")
    assert job.user_data_folder() == Path("/own")


def test_the_file_is_plain_json_with_a_schema(own_folder):
    one = job.Job.load()
    one.advise("CO alarm", "fit an alarm that meets the standard", "the tenant", "2026-11-25 10:00")
    raw = json.loads((own_folder / "job-alder-court.json").read_text())
    assert raw["schema"] == "gaslab-job-1" and raw["revision"] == 1
    assert raw["advice"][0]["declined_by"] == "the tenant"


def test_a_job_file_never_grows_beyond_what_can_be_read_back(tmp_path, monkeypatch):
    monkeypatch.setattr(records, "LARGEST_FILE", 3_000)
    mine = job.Job.load(tmp_path)
    with pytest.raises(job.JobError, match="job file is full"):
        for value in range(200):
            mine.record("04", "let-by-rise", float(value), "mbar", 0.1)
    kept = mine.readings
    assert kept and job.Job.load(tmp_path).readings == kept and not job.Job.load(tmp_path).troubles


def test_a_path_that_is_no_value_of_the_site_is_refused():
    with pytest.raises(SiteError):
        site.load("alder-court").changed("changes", 1)
