"""Folders stand in the order of the data; kernels stay plain; nothing grows too big."""

from __future__ import annotations

import ast
import importlib
import os
import re
import subprocess
import sys
import tomllib
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent

# A folder imports only from folders before it; a folder inside one of these belongs to it. What
# scripts see of all of `sim` stands last there.
FOLDERS = [
    "sim/kernels",
    "sim/describe",
    "sim/build",
    "sim/flight",
    "sim/study",
    "sim/learn",
    "sim/paper",
    "sim/proof",
    "sim/script.py",
    "scenes/world",
    "scenes/hands",
    "scenes/flight",
    "scenes/words",
    "scenes/pages",
    "scenes/window",
    "scenes/guide",
    "scenes/commands",
]
KERNEL_LIBRARIES = {"__future__", "math", "numba", "numpy", "typing"}
# How code is compiled and kept is no kernel: it asks the machine where.
OUTSIDE_KERNELS = {"compiled.py"}
MOST_LINES, MOST_FILES = 400, 26
FILES = [
    path
    for package in ("sim", "scenes")
    for path in sorted((ROOT / package).rglob("*.py"))
    if path.name != "__init__.py"
]


def told(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def file_of(module: str) -> Path | None:
    """The file of `firstthrow.sim.flight.flight`; None for a package or a foreign module."""
    parts = module.split(".")
    if parts[0] != "firstthrow":
        return None
    path = ROOT.joinpath(*parts[1:]).with_suffix(".py")
    return path if path.is_file() else None


def imports(path: Path) -> list[tuple[str, int]]:
    """(module, line) of every import in a file, inside functions as well."""
    found = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found += [(alias.name, node.lineno) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{told(path)}:{node.lineno}: a relative import"
            for alias in node.names:
                whole = f"{node.module}.{alias.name}"
                found.append((whole if file_of(whole) else node.module or "", node.lineno))
    return found


def place(path: Path) -> int:
    """Where a file's folder stands in the order; what is in no folder, such as units, before
    everything."""
    name = told(path)
    for at, folder in enumerate(FOLDERS):
        if name == folder or name.startswith(folder + "/"):
            return at
    return -1


def test_every_folder_has_its_place():
    folders = {"/".join(path.relative_to(ROOT).parts[:2]) for path in FILES}
    assert folders - set(FOLDERS) == {
        "sim/units.py",
        "sim/numerals.py",
        "sim/once.py",
        "sim/answer.py",
    }
    assert all((ROOT / f / "__init__.py").is_file() for f in FOLDERS if not f.endswith(".py"))


def test_folders_import_from_folders_before_them():
    wrong = [
        f"{told(path)}:{line}: imports {module}"
        for path in FILES
        for module, line in imports(path)
        if (source := file_of(module)) and place(source) > place(path)
    ]
    assert wrong == []


def test_files_import_in_one_direction():
    """No ring of imports anywhere, inside functions neither: raises CycleError, which names it."""
    known = {path: {s for m, _ in imports(path) if (s := file_of(m))} for path in FILES}
    assert len(list(TopologicalSorter(known).static_order())) >= len(FILES)


def test_the_reader_of_imports_sees_them():
    """Known ones are found, inside functions too."""
    assert "firstthrow.sim.kernels.servo" in [
        name for name, _ in imports(ROOT / "sim/kernels/derivative.py")
    ]
    inside = ROOT / "scenes/commands/weigh.py"
    assert any(name.startswith("firstthrow.sim.study.") for name, _ in imports(inside))
    assert place(ROOT / "sim/units.py") < place(inside)


@pytest.mark.parametrize("path", FILES, ids=told)
def test_a_file_is_short(path):
    assert len(path.read_text(encoding="utf-8").splitlines()) <= MOST_LINES


def test_a_folder_holds_what_one_can_keep_in_mind():
    counts = {
        told(folder): len([p for p in folder.glob("*.py") if p.name != "__init__.py"])
        for folder in {path.parent for path in FILES}
    }
    assert max(counts.values()) <= MOST_FILES, counts


def test_physics_knows_no_window():
    """All of sim in a fresh interpreter: nothing of the window comes along."""
    names = [
        "firstthrow." + told(path).removesuffix(".py").replace("/", ".")
        for path in FILES
        if told(path).startswith("sim/")
    ]
    code = f"import sys\nfor name in {names}: __import__(name)\n" + (
        "print([m for m in sys.modules if m.split('.')[0] in ('pyglet', 'pygame')"
        " or m.startswith('firstthrow.scenes')])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.stderr == ""
    assert done.stdout.strip() == "[]"


def test_what_is_pure_loads_without_a_display():
    """All that calls itself so, in a fresh interpreter: pyglet's `gl` opens a hidden window."""
    told_so = {path: ast.get_docstring(ast.parse(path.read_text("utf-8"))) or "" for path in FILES}
    names = [
        "firstthrow." + told(path).removesuffix(".py").replace("/", ".")
        for path, words in told_so.items()
        if re.search(r"\bpure\b", words, re.IGNORECASE) and "context" not in words
    ]
    assert {"firstthrow.scenes.world.turf", "firstthrow.scenes.window.edged"} <= set(names)
    code = f"import sys\nfor name in {names}: __import__(name)\nprint('pyglet.gl' in sys.modules)"
    seen = {name: value for name, value in os.environ.items() if name != "DISPLAY"}
    asked = [sys.executable, "-c", code]
    done = subprocess.run(asked, env=seen, capture_output=True, text=True, check=False)
    assert done.stderr == ""
    assert done.stdout.strip() == "False"


@pytest.mark.parametrize("path", sorted((ROOT / "sim/kernels").glob("*.py")), ids=told)
def test_kernels_import_kernels(path):
    if path.name in OUTSIDE_KERNELS:
        return
    for module, line in imports(path):
        ours = module.startswith("firstthrow.sim.kernels.")
        assert ours or module in KERNEL_LIBRARIES, f"{told(path)}:{line}: imports {module}"


def test_only_kernels_are_compiled():
    """A file with a compiled function lies among the kernels."""
    door = "firstthrow.sim.kernels.compiled"
    asks = [p for p in FILES if "import kernel\n" in p.read_text(encoding="utf-8")]
    assert asks
    assert {told(p.parent) for p in asks} == {"sim/kernels"}
    assert all(door in [name for name, _ in imports(p)] for p in asks)


def test_nothing_in_a_file_is_run():
    """Records, configs and logs are read as data: no call anywhere that runs what it reads."""
    runs = {"eval", "exec", "compile", "__import__"}
    loads = {"pickle", "cPickle", "shelve", "marshal", "dill", "joblib", "yaml", "runpy"}
    wrong = []
    for path in FILES:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call):
                name = node.func.id if isinstance(node.func, ast.Name) else ""
                words = {word.arg for word in node.keywords}
                if name in runs or words & {"allow_pickle", "shell"}:
                    wrong.append(f"{told(path)}:{node.lineno}")
        wrong += [
            f"{told(path)}:{line}: {module}"
            for module, line in imports(path)
            if module.split(".")[0] in loads
        ]
    assert wrong == []


def test_every_wrong_line_would_go_into_the_sources(monkeypatch):
    """`benchmarks/mutants.py` puts each in the place of a line that stands there once; the tests
    that must notice it are there."""
    monkeypatch.syspath_prepend(str(ROOT / "benchmarks"))
    wrong = []
    for mutant in importlib.import_module("mutants").MUTANTS:
        if (ROOT / mutant.file).read_text(encoding="utf-8").count(mutant.old) != 1:
            wrong.append(f"{mutant.name}: {mutant.file} has another line now")
        for test in mutant.tests:
            path, _, name = test.partition("::")
            if name.partition("[")[0] not in (ROOT / path).read_text(encoding="utf-8"):
                wrong.append(f"{mutant.name}: {test} is not there")
    assert wrong == []


def test_every_folder_is_installed():
    """Packages are listed by hand, since the folders' names and the packages' differ."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    listed = project["tool"]["setuptools"]["packages"]
    there = {
        "firstthrow." + told(path.parent).replace("/", ".")
        for package in ("sim", "scenes", "configs")
        for path in (ROOT / package).rglob("__init__.py")
    }
    assert sorted(listed) == sorted(there)


def test_a_builders_own_sim_is_left_alone(tmp_path):
    """A file of the user's named like one of our folders does not take its place."""
    for name in ("sim", "scenes", "configs"):
        (tmp_path / f"{name}.py").write_text("raise SystemExit('the wrong one')\n")
    code = "import firstthrow.sim.flight.flight, firstthrow.scenes.commands.cli; print('ours')"
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    assert (done.stdout.strip(), done.stderr) == ("ours", "")


def told_of(path: Path) -> str:
    """The first sentence of a file's docstring, as the map has it."""
    whole = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) or ""
    paragraph = " ".join(whole.split("\n\n")[0].split())
    return re.match(r"(.*?\.)(\s|$)", paragraph + ".")[1].rstrip(".")


def test_the_map_names_every_file_in_its_own_words():
    """DEVELOPERS.md has a line for each file and folder: the first sentence of its docstring."""
    lines = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").splitlines()
    wanted = [f"- `{path.name}`: {told_of(path)}." for path in FILES]
    wanted += [
        f"### `{told(init.parent)}/`: {told_of(init)}"
        for package in ("sim", "scenes")
        for init in (ROOT / package).rglob("__init__.py")
    ]
    assert [line for line in wanted if line not in lines] == []
    mapped = [line for line in lines if line.startswith(("- `", "### `"))]
    assert [line for line in mapped if line not in wanted] == []
