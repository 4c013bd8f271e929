"""The offline stick finds what a package needs on the other system, and never overwrites a folder."""

import zipfile

import pytest

from gaslab import stick


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
    return sorted(str(need) for need in stick.missing(folder, stick.Target.of(system, python), [root]))


@pytest.mark.parametrize(
    ("need", "linux", "windows"),
    [
        ('wincon>=2; sys_platform == "win32"', [], ['wincon>=2; sys_platform == "win32"']),
        ('winpty; os_name == "nt"', [], ['winpty; os_name == "nt"']),
        ('spawn; platform_system != "Windows"', ['spawn; platform_system != "Windows"'], []),
        ('older; python_version < "3.11"', [], []),
        ('asked; extra == "asked"', [], []),
        ("always", ["always"], ["always"]),
    ],
)
def test_conditions_are_read_for_the_machine_asked_for(tmp_path, need, linux, windows):
    wheel(tmp_path, "panel-1.0-py3-none-any.whl", need)
    assert lacking(tmp_path, "linux", "3.12") == linux
    assert lacking(tmp_path, "windows", "3.12") == windows


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
    stick.copy_course(tmp_path / "course")
    names = {path.name for path in (tmp_path / "course").iterdir()}
    assert {"README.md", "requirements.txt", "notebooks", "gaslab", "data", "tests", "binder"} <= names
    assert not names & {".venv", ".git", ".test-output"}
    assert not list((tmp_path / "course").rglob("__pycache__"))


def test_the_builder_of_the_package_travels_too():
    assert any(line.startswith("setuptools==") for line in stick.listed())
    assert all("==" in line for line in stick.listed()), "a stick made tomorrow would differ"
