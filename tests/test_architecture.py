"""The shape of the source: one way for imports, one place for each heavy library, house rules."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from functools import cache
from pathlib import Path

import pytest

import nesting
from nesting.headings import HEADINGS

ROOT = Path(nesting.__file__).parent

#: Top to bottom: a module imports only from lines above its own, or from its own folder. What a folder
#: holds has the folder's line, but for what has a line of its own.
ORDER = (
    "nesting.errors",
    "nesting.units",
    "nesting.names",
    "nesting.shown",
    "nesting.locking",
    "nesting.repeat",
    "nesting.packing.instances",
    "nesting.packing.problem",
    "nesting.packing.result",
    "nesting.packing.ease",
    "nesting.packing.cut_order",
    "nesting.packing.yardstick",
    "nesting.packing.refill",
    "nesting.packing.regroup",
    "nesting.packing.lone",
    "nesting.packing.reduce",
    "nesting.packing.trust",
    "nesting.packing.logged",
    "nesting.packing.warm_start",
    "nesting.packing.schedule",
    "nesting.packing.turn",
    "nesting.packing.reports",
    "nesting.packing.race",
    "nesting.packing.pace",
    "nesting.packing.limits",
    "nesting.packing.beside",
    "nesting.packing.kernels",
    "nesting.packing.models",
    "nesting.packing.certificates",
    "nesting.packing.bounds",
    "nesting.packing.searches",
    "nesting.packing.branch",
    "nesting.packing.certifying",
    "nesting.packing.parallel",
    "nesting.packing.on_hand",
    "nesting.packing.guillotine",
    "nesting.packing.tidy",
    "nesting.packing.packer",
    "nesting.packing.choices",
    "nesting.packing",
    "nesting.sewing",
    "nesting.order",
    "nesting.instructions",
    "nesting.pieces",
    "nesting.headings",
    "nesting.cutting",
    "nesting.plan",
    "nesting.construction",
    "nesting.check",
    "nesting.planning",
    "nesting.drawing",
    "nesting.drawing.operations",
    "nesting.files",
    "nesting.packet",
    "nesting.lesson",
    "nesting.outputs",
    "nesting.web",
    "nesting",
    "nesting.commands",
)

#: Each heavy library and the one module or folder that imports it; templates are filled in two.
HEAVY = {
    "ortools": ("nesting.packing",),
    "shapely": ("nesting.check",),
    "matplotlib": ("nesting.drawing",),
    "pydantic": ("nesting.files",),
    "tomlkit": ("nesting.files",),
    "jinja2": ("nesting.packet", "nesting.web"),
    "reportlab": ("nesting.packet",),
    "typer": ("nesting.commands",),
    "rich": ("nesting.commands",),
    "distributed": ("nesting.commands.cluster",),
    "starlette": ("nesting.web",),
    "uvicorn": ("nesting.web",),
    "segno": ("nesting.web.phone",),
    "platformdirs": ("nesting.packing.kernels.compiled", "nesting.web.shelf"),
}

#: What the check may take from elsewhere: words, numbers and data, nothing that cuts, lays or searches.
SHARED_WITH_THE_CHECK = frozenset({
    "nesting.errors",
    "nesting.units",
    "nesting.repeat",
    "nesting.packing.problem",
    "nesting.packing.result",
    "nesting.sewing",
    "nesting.sewing.work",
    "nesting.sewing.written",
})  # fmt: skip

#: Modules imported by name while the program runs: only where something is loaded when it is first used.
BY_NAME = {
    "nesting": 2,
    "nesting.files": 1,
    "nesting.packing": 1,
    "nesting.packing.kernels.compiled": 2,
    "nesting.web.site": 1,
}

#: Modules outside `nesting.headings` that name headings, and how many: what is true of one heading alone
#: belongs in its module. The check has figures of its own by intent.
NAMING = {"nesting.check.document_hanging": 7, "nesting.check.sewing_tops": 7}

LONGEST_MODULE = 450
LONGEST_CHAIN = 9


def name_of(path: Path) -> str:
    parts = ("nesting", *path.relative_to(ROOT).with_suffix("").parts)
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


PATHS = {name_of(path): path for path in sorted(ROOT.rglob("*.py"))}
NAMES = sorted(PATHS)


def line_of(module: str) -> str | None:
    """The line of the table that covers a module: its own, or that of the nearest folder but the root."""
    if module == "nesting":
        return module
    while module not in ORDER:
        module = module.rpartition(".")[0]
        if module in ("", "nesting"):
            return None
    return module


@cache
def tree_of(module: str) -> ast.Module:
    return ast.parse(PATHS[module].read_text(encoding="utf-8"))


def imports_of(module: str) -> Iterator[str]:
    """Every module imported anywhere in it, inside functions too; of ours, down to the module."""
    package = module if PATHS[module].name == "__init__.py" else module.rpartition(".")[0]
    for node in ast.walk(tree_of(module)):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                above = package.split(".")[: len(package.split(".")) - node.level + 1]
                base = ".".join([*above, *filter(None, [base])])
            for alias in node.names:
                inner = f"{base}.{alias.name}"
                yield inner if inner in PATHS or not base.startswith("nesting") else base


@cache
def our_imports(module: str) -> frozenset[str]:
    return frozenset(n for n in imports_of(module) if n == "nesting" or n.startswith("nesting."))


def misplaced(module: str, imported: str) -> bool:
    """Whether a module may not import another of ours."""
    here, there = line_of(module), line_of(imported)
    assert here is not None
    assert there is not None, f"{module} imports {imported}, which is in no line of the table"
    return ORDER.index(there) > ORDER.index(here)


def breaches(judge: Callable[[str], Iterable[object]], modules: Iterable[str] = NAMES) -> str:
    """What is wrong with modules, a line for each; empty where nothing is."""
    return "\n".join(f"{module}: {breach}" for module in modules for breach in judge(module))


def test_the_table_names_each_module_once() -> None:
    assert len(set(ORDER)) == len(ORDER)
    assert not breaches(lambda module: [] if line_of(module) else ["give it a line in ORDER"])


def test_imports_flow_one_way() -> None:
    assert not breaches(
        lambda module: [f"imports {each}, below" for each in our_imports(module) if misplaced(module, each)]
    )


def test_an_import_from_below_would_be_seen() -> None:
    assert misplaced("nesting.units", "nesting.check")
    assert misplaced("nesting.packing.problem", "nesting.packing.reduce")
    assert not misplaced("nesting.packing.reduce", "nesting.packing.problem")
    assert not misplaced("nesting.check", "nesting.units")
    assert "nesting.packing.problem" in our_imports("nesting.check.layout")
    assert breaches(lambda module: [1], ["nesting.units"]) == "nesting.units: 1"


def test_the_check_shares_nothing_but_data_with_what_it_checks() -> None:
    checks = [module for module in NAMES if f"{module}.".startswith("nesting.check.")]
    assert len(checks) > 10
    assert not breaches(
        lambda module: {
            each
            for each in our_imports(module)
            if each not in SHARED_WITH_THE_CHECK and not f"{each}.".startswith("nesting.check.")
        },
        checks,
    )


def test_modules_imported_by_name_are_counted() -> None:
    found = defaultdict[str, int](int)
    for module in NAMES:
        for node in ast.walk(tree_of(module)):
            if isinstance(node, ast.Call):
                name = node.func.attr if isinstance(node.func, ast.Attribute) else None
                name = node.func.id if isinstance(node.func, ast.Name) else name
                found[module] += name == "import_module"
    assert {module: count for module, count in found.items() if count} == BY_NAME


def test_no_module_imports_itself_in_a_circle() -> None:
    rest = {module: our_imports(module) & PATHS.keys() - {module} for module in NAMES}
    while free := {module for module, needed in rest.items() if not needed & rest.keys()}:
        rest = {module: needed for module, needed in rest.items() if module not in free}
    assert not rest, f"in or behind a circle: {sorted(rest)}"


def folder_of(module: str) -> str:
    """The folder below the package, or the module itself where it stands in none."""
    return ".".join(module.split(".")[:2])


def test_chains_of_folders_are_short() -> None:
    """From any module down to the engine, folder by folder."""
    above = defaultdict[str, set[str]](set)
    for module in NAMES:
        above[folder_of(module)] |= {folder_of(each) for each in our_imports(module)} - {folder_of(module)}

    @cache
    def links(folder: str) -> int:
        if folder == "nesting.packing":
            return 0
        down = [links(each) for each in above[folder]]
        return max((1 + each for each in down if each >= 0), default=-1)

    longest = max(sorted(above), key=links)
    assert links(longest) <= LONGEST_CHAIN, longest


def test_heavy_libraries_have_one_place() -> None:
    def abroad(module: str) -> Iterator[str]:
        for library in {name.partition(".")[0] for name in imports_of(module)} & HEAVY.keys():
            if not any(f"{module}.".startswith(f"{place}.") for place in HEAVY[library]):
                yield f"{library} belongs in {' and '.join(HEAVY[library])} only"

    assert not breaches(abroad)
    assert not breaches(lambda m: [n for n in imports_of(m) if n.startswith("matplotlib.pyplot")])


def test_the_library_prints_nothing() -> None:
    def prints(module: str) -> list[str]:
        calls = [node.func for node in ast.walk(tree_of(module)) if isinstance(node, ast.Call)]
        return ["prints" for call in calls if isinstance(call, ast.Name) and call.id == "print"]

    assert not breaches(prints, [name for name in NAMES if not name.startswith("nesting.commands")])


def test_modules_stay_short() -> None:
    def long(module: str) -> list[str]:
        lines = len(PATHS[module].read_text(encoding="utf-8").splitlines())
        return [f"{lines} lines: is there a family in there?"] if lines > LONGEST_MODULE else []

    assert not breaches(long)


def test_every_name_stands_for_one_thing() -> None:
    """No two modules of one name, nor two classes, an underscore before it or not."""
    modules, classes = defaultdict[str, list[str]](list), defaultdict[str, list[str]](list)
    for module in NAMES:
        if PATHS[module].name != "__init__.py":
            modules[module.rpartition(".")[2]].append(module)
        for node in ast.walk(tree_of(module)):
            if isinstance(node, ast.ClassDef):
                classes[node.name.lstrip("_")].append(f"{module}.{node.name}")
    assert not [each for each in (*modules.values(), *classes.values()) if len(each) > 1]


def test_what_is_true_of_one_heading_stands_in_its_module() -> None:
    # A grommet is a thing as well as a heading.
    names = HEADINGS.keys() - {"grommet"}
    found = dict[str, int]()
    for module in NAMES:
        words = {node.value for node in ast.walk(tree_of(module)) if isinstance(node, ast.Constant)}
        if named := words & names:
            found[module] = len(named) + ("grommet" in words)
    assert {
        module: count for module, count in found.items() if folder_of(module) != "nesting.headings"
    } == NAMING


def public_definitions(module: str) -> Iterator[tuple[str, ast.AST]]:
    """Public functions and classes, and the public methods of public classes."""
    kinds = (ast.FunctionDef, ast.AsyncFunctionDef, ast.ClassDef)
    for node in tree_of(module).body:
        if not isinstance(node, kinds) or node.name.startswith("_"):
            continue
        yield node.name, node
        if isinstance(node, ast.ClassDef):
            inner = (n for n in node.body if isinstance(n, kinds) and not n.name.startswith("_"))
            yield from ((f"{node.name}.{n.name}", n) for n in inner)


def test_everything_public_says_what_it_is() -> None:
    def silent(module: str) -> Iterator[str]:
        if not ast.get_docstring(tree_of(module)):
            yield "no docstring"
        for name, node in public_definitions(module):
            if not ast.get_docstring(node):
                yield f"{name} has no docstring"

    assert not breaches(silent)


#: Time is measured in seconds, which are no lengths.
TIMES = ("seconds", "time_limit")


def float_fields(module: str, classes: set[str] | None = None) -> list[str]:
    """Fields of a module's public classes (or of those named) that may hold a float, but for times."""
    return [
        f"{name}.{field.target.id}"
        for name, node in public_definitions(module)
        if isinstance(node, ast.ClassDef) and (classes is None or name in classes)
        for field in node.body
        if isinstance(field, ast.AnnAssign) and isinstance(field.target, ast.Name)
        if not field.target.id.startswith("_") and not field.target.id.endswith(TIMES)
        if any(isinstance(n, ast.Name) and n.id == "float" for n in ast.walk(field.annotation))
    ]


def exported_by_the_engine() -> dict[str, set[str]]:
    """What ``nesting.packing`` offers to others, by the module it comes from."""
    return {
        node.module: {alias.name for alias in node.names}
        for node in tree_of("nesting.packing").body
        if isinstance(node, ast.ImportFrom) and node.module in PATHS
    }


def test_what_the_engine_hands_out_is_whole_numbers() -> None:
    floats = float_fields("nesting.packing.problem") + float_fields("nesting.packing.result")
    for module, names in exported_by_the_engine().items():
        floats += float_fields(module, names)
    assert not floats


def test_a_float_field_would_be_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    spoiled = ast.parse("class Part:\n    width: float | None\n    seconds: float\n    length: int\n")
    monkeypatch.setitem(globals(), "tree_of", lambda module: spoiled)
    assert float_fields("nesting.packing.problem") == ["Part.width"]


def test_importing_the_package_is_light() -> None:
    heavy = ("matplotlib", "typer", "rich", "pydantic", "jinja2", "reportlab", "starlette", "tomlkit")
    script = f"import sys, nesting; print(*sorted(set({heavy!r}) & set(sys.modules)))"
    run = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert run.stdout.split() == []


def test_what_is_counted_out_waits_for_no_solver() -> None:
    """A job that needs no model is planned without the solver, what draws, or what reads plans."""
    heavy = ("ortools.sat.python.cp_model", "pandas", "numba", "matplotlib", "nesting.files.plan_form")
    script = (
        "import sys; from nesting.files import read_job_text; from nesting.planning.planner import plan\n"
        "made = plan(read_job_text(sys.stdin.read())); assert made.layouts[0].status.value == 'optimal'\n"
        f"print(*sorted(set({heavy!r}) & set(sys.modules)))"
    )
    job = (
        'units = "cm"\n[fabric.face]\nname = "Linen"\n[[fabric.face.bolt]]\nwidth = 140\nusable = 137\n'
        '[[window]]\nname = "East"\nrod = 150\nfinished_length = 220\nheading = "rod-pocket"\n'
    )
    env = {name: value for name, value in os.environ.items() if name != "NESTING_COMPILED"}
    call = [sys.executable, "-c", script]
    run = subprocess.run(call, input=job, env=env, capture_output=True, text=True, check=True)
    assert run.stdout.split() == []


def test_a_part_of_a_folder_may_have_its_own_line() -> None:
    """A folder listed below its own parts: the parts keep their line, the rest takes the folder's."""
    assert line_of("nesting.packing.problem") == "nesting.packing.problem"
    assert line_of("nesting.packing.anything") == "nesting.packing"
    assert line_of("nesting.nowhere") is None
