"""The offline stick finds what a package needs on the other system, and never overwrites a folder."""

import zipfile

import pytest

from gaslab.commands import course_files, stick


def wheel(folder, name, *needs):
    """Put a wheel into the folder that says what it needs and holds nothing else."""
    project, version = name.split("-")[:2]
    lines = [
        "Metadata-Version: 2.1",
        f"Name: {project}",
        f"Version: {version}",
        *(f"Requires-Dist: {n}" for n in needs),
    ]
    with zipfile.ZipFile(folder / name, "w") as archive:
        archive.writestr(f"{project}-{version}.dist-info/METADATA", "\n".join(lines) + "\n")


def lacking(folder, system, python, root="panel"):
    return sorted(stick.resolve(folder, stick.Target.of(system, python), [root]).lacking)


@pytest.mark.parametrize(
    ("need", "systems"),
    [
        ('wincon>=2; sys_platform == "win32"', "windows"),
        ('winpty; os_name == "nt"', "windows"),
        ('spawn; platform_system != "Windows"', "linux macos macos-intel"),
        ('appnope; platform_system == "Darwin"', "macos macos-intel"),
        ('chip; platform_machine == "arm64"', "macos"),
        ('older; python_version < "3.11"', ""),
        ('asked; extra == "asked"', ""),
        ("always", "linux windows macos macos-intel"),
    ],
)
def test_conditions_are_read_for_the_machine_asked_for(tmp_path, need, systems):
    wheel(tmp_path, "panel-1.0-py3-none-any.whl", need)
    for system in stick.SYSTEMS:
        assert lacking(tmp_path, system, "3.12") == ([need] if system in systems.split() else []), system


def test_an_extra_is_followed(tmp_path):
    wheel(tmp_path, "panel-1.0-py3-none-any.whl", 'more; extra == "all"')
    assert lacking(tmp_path, "linux", "3.12", "panel[all]") == ['more; extra == "all"']


def test_a_wheel_for_another_system_or_python_or_version_does_not_count(tmp_path):
    wheel(tmp_path, "panel-1.0-py3-none-any.whl", "array>=2")
    wheel(tmp_path, "array-2.1-cp312-cp312-win_amd64.whl")
    wheel(tmp_path, "array-1.9-py3-none-any.whl")
    assert lacking(tmp_path, "windows", "3.12") == []
    assert lacking(tmp_path, "windows", "3.13") == ["array>=2"]
    assert lacking(tmp_path, "linux", "3.12") == ["array>=2"]


@pytest.mark.parametrize(
    ("tag", "takes"),
    [
        ("cp314-cp314-macosx_11_0_arm64", "macos 3.14"),
        ("cp314-cp314-macosx_10_13_x86_64", "macos-intel 3.14"),
        ("cp311-abi3-macosx_10_9_universal2", "macos 3.14, macos-intel 3.14, macos 3.11, macos-intel 3.11"),
        ("cp314-cp314-macosx_15_0_arm64", ""),  # newer than the oldest release that the stick serves
        ("cp314-cp314-manylinux_2_28_x86_64", "linux 3.14"),
        ("cp314-cp314t-manylinux_2_28_x86_64", ""),  # another build of Python
    ],
)
def test_a_wheel_fits_the_machines_that_its_name_says(tmp_path, tag, takes):
    name = f"array-1.0-{tag}.whl"
    fitting = [
        f"{system} {python}"
        for python in ("3.14", "3.11")
        for system in stick.SYSTEMS
        if stick.Target.of(system, python).takes(tmp_path / name)
    ]
    assert sorted(fitting) == sorted(filter(None, takes.split(", ")))


def test_a_stick_serves_every_python_and_system_of_the_course():
    assert stick.PYTHONS == ("3.11", "3.12", "3.13", "3.14")
    assert set(stick.SYSTEMS) == {"linux", "windows", "macos", "macos-intel"}


def test_what_a_machine_needs_is_listed(tmp_path, monkeypatch):
    """The list on the stick names the wheels of each kind of machine, and no other."""
    wheel(tmp_path, "panel-1.0-py3-none-any.whl", "array>=2")
    wheel(tmp_path, "array-2.1-cp312-cp312-win_amd64.whl")
    wheel(tmp_path, "array-2.1-cp312-cp312-manylinux2014_x86_64.whl")
    monkeypatch.setattr(stick, "pip", lambda *arguments: None)
    monkeypatch.setattr(stick, "listed", lambda: ["panel"])
    assert stick.fetch_all(tmp_path, ["linux", "windows"], ["3.12"]) == {
        "linux 3.12": ["array-2.1-cp312-cp312-manylinux2014_x86_64.whl", "panel-1.0-py3-none-any.whl"],
        "windows 3.12": ["array-2.1-cp312-cp312-win_amd64.whl", "panel-1.0-py3-none-any.whl"],
    }


def test_what_cannot_be_fetched_is_named(tmp_path, monkeypatch):
    wheel(tmp_path, "panel-1.0-py3-none-any.whl", "array>=2")
    monkeypatch.setattr(stick, "pip", lambda *arguments: None)
    monkeypatch.setattr(stick, "listed", lambda: ["panel"])
    with pytest.raises(stick.StickError, match=r"macos, Python 3\.14: still missing array>=2"):
        stick.fetch_all(tmp_path, ["macos"], ["3.14"])


def test_what_a_need_needs_is_followed_to_the_end(tmp_path):
    wheel(tmp_path, "panel-1.0-py3-none-any.whl", "middle")
    wheel(tmp_path, "middle-1.0-py3-none-any.whl", "end", "panel")
    assert lacking(tmp_path, "linux", "3.11") == ["end"]


def test_a_folder_in_use_is_not_overwritten(tmp_path):
    (tmp_path / "holiday.txt").write_text("keep me")
    with pytest.raises(stick.StickError, match="not empty"):
        stick.make(tmp_path, ["linux"], ["3.12"])
    assert (tmp_path / "holiday.txt").read_text() == "keep me"


def test_the_copy_is_the_course_and_nothing_personal(tmp_path):
    course_files.copy(tmp_path / "course")
    names = {path.name for path in (tmp_path / "course").iterdir()}
    assert {"README.md", "requirements.txt", "notebooks", "gaslab", "data", "tests", "binder"} <= names
    assert not names & {".venv", ".git", ".test-output"}
    assert not list((tmp_path / "course").rglob("__pycache__"))


def test_the_builder_of_the_package_travels_too():
    assert any(line.startswith("setuptools==") for line in stick.listed())
    assert all("==" in line for line in stick.listed()), "a stick made tomorrow would differ"
