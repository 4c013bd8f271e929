"""Imports go one way, and each dangerous or heavy thing lives in one place. Read from the code, not run."""

import ast
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "gaslab"
# Run before anything is installed, or while a wheel is built: not part of the house. test_commands reads these.
OUTSIDE = {"course.py", "setup.py", "commands", "build"}
# Each room may import from itself and from the rooms below it.
ROOMS = ("ground", "physics", "refit", "learn", "assess", "show")
ALLOWED_PACKAGES = {"numpy", "pint", "matplotlib", "pandas", "ipywidgets", "IPython", "traitlets"}
ONLY_HERE = {
    "pint": ("units.py",),
    "ipywidgets": ("show/panels/", "show/stage.py"),
    "traitlets": ("show/panels/", "show/stage.py"),
    "IPython": ("show/panels/", "show/stage.py"),
    "matplotlib": ("show/charts.py",),
    "pandas": ("assess/", "show/"),
}
NEVER_IMPORTED = {
    "pickle", "marshal", "shelve", "dill", "socket", "urllib", "http", "ftplib", "smtplib", "ssl", "requests",
    "httpx", "asyncio", "threading", "multiprocessing", "concurrent", "subprocess", "ctypes",
}  # fmt: skip
NEVER_CALLED = {"eval", "exec", "compile", "__import__", "input", "breakpoint"}


def modules() -> list[Path]:
    return sorted(p for p in PACKAGE.rglob("*.py") if not OUTSIDE.intersection(p.relative_to(PACKAGE).parts))


def name_of(path: Path) -> str:
    return path.relative_to(PACKAGE).as_posix()


def room_of(name: str) -> str:
    """Return the room of a module such as `physics/gas.py` or `units.py`."""
    first = name.split("/", maxsplit=1)[0]
    return first if first in ROOMS else "ground"


def imports(tree: ast.AST) -> list[str]:
    """Return the full name of everything a module imports, wherever in it."""
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"line {node.lineno}: write the full name, not a relative import"
            found += [f"{node.module}.{alias.name}" for alias in node.names]
    return found


def faults_of(name: str, source: str) -> list[str]:
    """Return what a module does that its place in the house does not allow."""
    tree = ast.parse(source)
    faults = []
    for full in imports(tree):
        top, *rest = full.split(".")
        if top in NEVER_IMPORTED:
            faults.append(f"imports {full}")
        elif top == "gaslab":
            theirs = room_of("/".join(rest))
            if ROOMS.index(theirs) > ROOMS.index(room_of(name)):
                faults.append(f"imports {full}, which is in a higher room")
        elif top in ALLOWED_PACKAGES:
            if top in ONLY_HERE and not name.startswith(ONLY_HERE[top]):
                faults.append(f"imports {top}; only {', '.join(ONLY_HERE[top])} may")
            if "pyplot" in full:
                faults.append("imports pyplot")
        elif top not in sys.stdlib_module_names:
            faults.append(f"imports {full}, which the course does not install")
    faults += [fault for node in ast.walk(tree) for fault in call_faults(name, node)]
    faults += early_imports(name, tree)
    return faults


def call_faults(name: str, node: ast.AST) -> list[str]:
    """Return the faults of one node: calls that are never made, or made only in one place."""
    if isinstance(node, ast.ExceptHandler) and all(isinstance(step, ast.Pass) for step in node.body):
        return [f"line {node.lineno}: swallows an error"]
    if not isinstance(node, ast.Call):
        return []
    called = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
    by_name = isinstance(node.func, ast.Name)
    faults = []
    if (
        isinstance(node.func, ast.Attribute)
        and ast.unparse(node.func).startswith("random.")
        and called != "Random"
    ):
        faults.append(f"line {node.lineno}: draws from the shared chance; use a seeded random.Random")
    if by_name and called in NEVER_CALLED:
        faults.append(f"line {node.lineno}: calls {called}")
    if called in {"Output", "interact", "interactive", "interactive_output", "BoundedFloatText", "FloatText"}:
        faults.append(f"line {node.lineno}: uses {called}")
    if name != "tables.py" and called == "data_folder":
        faults.append(f"line {node.lineno}: only tables.py opens files under data/")
    if called in {"HTML", "HTMLMath"}:
        for given in [*node.args, *(word.value for word in node.keywords)]:
            if not is_safe(given, outside=False):
                faults.append(f"line {node.lineno}: puts text into {called} that went through no html_text")
    return faults


def is_safe(node: ast.expr, outside: bool = True) -> bool:
    """Return True for markup whose every filled-in part is escaped, a constant, or a number by its format."""
    if isinstance(node, ast.JoinedStr):
        return all(is_safe(part) for part in node.values)
    if isinstance(node, ast.FormattedValue):
        return node.format_spec is not None or is_safe(node.value)
    if isinstance(node, ast.IfExp):
        return is_safe(node.body, outside) and is_safe(node.orelse, outside)
    if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "html_text":
        return True
    # A name by itself is markup that another function made; inside an f-string it may be anything.
    return isinstance(node, ast.Constant) or not outside


def early_imports(name: str, tree: ast.Module) -> list[str]:
    """Return heavy imports that happen as soon as the module is imported."""
    at_top = [node for node in tree.body if isinstance(node, (ast.Import, ast.ImportFrom))]
    heavy = {full.split(".")[0] for node in at_top for full in imports(ast.Module([node], []))}
    return [
        f"imports {top} at its top; import it where it is first used"
        for top in sorted(heavy & {"pint", "matplotlib", "pandas"})
    ]


@pytest.mark.parametrize("path", modules(), ids=name_of)
def test_every_module_keeps_to_its_place(path):
    assert faults_of(name_of(path), path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize(
    ("name", "source"),
    [
        ("physics/x.py", "from gaslab.refit import site"),
        ("physics/x.py", "import gaslab.show.views"),
        ("units.py", "from gaslab import physics"),
        ("refit/x.py", "def f():\n    from gaslab.learn import items"),
        ("learn/x.py", "from gaslab.assess import papers"),
        ("assess/x.py", "from gaslab.show import views"),
        ("refit/x.py", "def f():\n    import pint"),
        ("show/views.py", "import ipywidgets"),
        ("show/views.py", "def f():\n    from matplotlib.figure import Figure"),
        ("show/charts.py", "from matplotlib.figure import Figure"),
        ("show/charts.py", "def f():\n    import matplotlib.pyplot"),
        ("show/charts.py", "def f():\n    from matplotlib import pyplot"),
        ("learn/x.py", "import pickle"),
        ("learn/x.py", "from urllib import request"),
        ("learn/x.py", "import scipy"),
        ("learn/x.py", "eval('1')"),
        ("refit/x.py", "import random\nrandom.shuffle(faults)"),
        ("learn/x.py", "try:\n    f()\nexcept ValueError:\n    pass"),
        ("refit/x.py", "from gaslab import tables\ntables.data_folder()"),
        ("show/panels/x.py", "import ipywidgets as w\nw.Output()"),
        ("show/panels/x.py", "import ipywidgets as w\nw.HTML(value=f'<b>{name}</b>')"),
        ("show/panels/x.py", "import ipywidgets as w\nw.HTML(f'<b>{html_text(name)}{name}</b>')"),
        ("show/panels/x.py", "import ipywidgets as w\nw.HTML('' if not name else f'<b>{name}</b>')"),
    ],
)
def test_a_planted_fault_is_found(name, source):
    assert faults_of(name, source) != []


def test_what_is_allowed_is_not_called_a_fault():
    """The watcher must be able to say yes as well."""
    fine = (
        "import math\nimport numpy as np\nfrom gaslab import tables, units\nfrom gaslab.physics import gas\n"
    )
    assert faults_of("refit/x.py", fine) == []
    assert faults_of("show/panels/x.py", "import ipywidgets as w\nw.HTML(value=picture)") == []
    assert (
        faults_of(
            "show/panels/x.py", "import ipywidgets as w\nw.HTML(f'<p>{html_text(name)} {size:.1f}</p>')"
        )
        == []
    )
    assert faults_of("units.py", "def f():\n    import pint") == []


def test_no_module_hides_one_of_pythons_own():
    """course.py is run as a file, so the modules beside it come before Python's own."""
    beside = {path.stem for path in PACKAGE.glob("*.py")} | {p.name for p in PACKAGE.iterdir() if p.is_dir()}
    assert beside & sys.stdlib_module_names == set()
