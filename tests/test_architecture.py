"""The shape of the source: one way for imports, one place for each heavy library, house rules."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

import nesting

ROOT = Path(nesting.__file__).parent

#: Top to bottom: a module imports only from lines above its own, or from its own folder. A folder's
#: line covers all it holds, but for what has a line of its own.
ORDER = (
    "nesting.errors",
    "nesting.locking",
    "nesting.units",
    "nesting.names",
    "nesting.repeat",
    "nesting.cloth",
    "nesting.job",
    "nesting.packing.problem",
    "nesting.packing.result",
    "nesting.ease",
    "nesting.defaults",
    "nesting.piece",
    "nesting.print_width",
    "nesting.seams",
    "nesting.washing",
    "nesting.headings",
    "nesting.measures",
    "nesting.seam_plans",
    "nesting.layers",
    "nesting.remeasure",
    "nesting.gap",
    "nesting.railroad",
    "nesting.table",
    "nesting.width_words",
    "nesting.selvage_sides",
    "nesting.joined",
    "nesting.panels",
    "nesting.pair",
    "nesting.fullness",
    "nesting.counsel",
    "nesting.trimmings",
    "nesting.purchase",
    "nesting.question",
    "nesting.plan",
    "nesting.seam_words",
    "nesting.margin",
    "nesting.design",
    "nesting.shortage",
    "nesting.thumb",
    "nesting.blocks",
    "nesting.pulls",
    "nesting.cuts",
    "nesting.offcuts",
    "nesting.numbering",
    "nesting.direction",
    "nesting.selvages",
    "nesting.sequence",
    "nesting.cutting",
    "nesting.offers",
    "nesting.seam_choices",
    "nesting.packing",
    "nesting.violation",
    "nesting.document",
    "nesting.document_rules",
    "nesting.document_prints",
    "nesting.document_panels",
    "nesting.document_hanging",
    "nesting.document_turning",
    "nesting.document_hems",
    "nesting.document_stock",
    "nesting.document_widths",
    "nesting.document_cutting",
    "nesting.document_numbers",
    "nesting.proof_bands",
    "nesting.proof",
    "nesting.verdict",
    "nesting.check",
    "nesting.bolts",
    "nesting.doubts",
    "nesting.lay",
    "nesting.laying",
    "nesting.lengths",
    "nesting.effort",
    "nesting.ways",
    "nesting.seam_report",
    "nesting.stock",
    "nesting.shortfall",
    "nesting.spare",
    "nesting.stakes",
    "nesting.workroom",
    "nesting.workers",
    "nesting.comparison",
    "nesting.asking",
    "nesting.planner",
    "nesting.trial",
    "nesting.changes",
    "nesting.batch",
    "nesting.drawing",
    "nesting.files",
    "nesting.packet",
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
    "platformdirs": ("nesting.packing.compiled",),
}

LONGEST_MODULE = 450


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


def our_imports(module: str) -> set[str]:
    return {name for name in imports_of(module) if name == "nesting" or name.startswith("nesting.")}


def misplaced(module: str, imported: str) -> bool:
    """Whether a module may not import another of ours."""
    here, there = line_of(module), line_of(imported)
    assert here is not None
    assert there is not None, f"{module} imports {imported}, which is in no line of the table"
    return ORDER.index(there) > ORDER.index(here)


def test_the_table_names_each_module_once() -> None:
    assert len(set(ORDER)) == len(ORDER)


@pytest.mark.parametrize("module", NAMES)
def test_every_module_has_its_line(module: str) -> None:
    assert line_of(module) is not None, f"{module}: give it a line in ORDER, where it belongs"


@pytest.mark.parametrize("module", NAMES)
def test_imports_flow_one_way(module: str) -> None:
    wrong = {imported for imported in our_imports(module) if misplaced(module, imported)}
    assert not wrong, f"{module} imports from below its line: {sorted(wrong)}"


def test_an_import_from_below_would_be_seen() -> None:
    assert misplaced("nesting.units", "nesting.check")
    assert misplaced("nesting.packing.problem", "nesting.packing.pack")
    assert not misplaced("nesting.packing.pack", "nesting.packing.problem")
    assert not misplaced("nesting.check", "nesting.units")
    assert "nesting.packing.problem" in our_imports("nesting.check")


def test_no_module_imports_itself_in_a_circle() -> None:
    rest = {module: our_imports(module) & PATHS.keys() - {module} for module in NAMES}
    while free := {module for module, needed in rest.items() if not needed & rest.keys()}:
        rest = {module: needed for module, needed in rest.items() if module not in free}
    assert not rest, f"in or behind a circle: {sorted(rest)}"


@pytest.mark.parametrize("module", NAMES)
def test_heavy_libraries_have_one_place(module: str) -> None:
    for library in {name.partition(".")[0] for name in imports_of(module)} & HEAVY.keys():
        places = HEAVY[library]
        at_home = any(module == place or module.startswith(f"{place}.") for place in places)
        assert at_home, f"{library} belongs in {' and '.join(places)} only"


@pytest.mark.parametrize("module", NAMES)
def test_no_pyplot(module: str) -> None:
    assert not any(name.startswith("matplotlib.pyplot") for name in imports_of(module))


@pytest.mark.parametrize("module", [name for name in NAMES if not name.startswith("nesting.commands")])
def test_the_library_prints_nothing(module: str) -> None:
    calls = [node.func for node in ast.walk(tree_of(module)) if isinstance(node, ast.Call)]
    assert not [call for call in calls if isinstance(call, ast.Name) and call.id == "print"]


@pytest.mark.parametrize("module", NAMES)
def test_modules_stay_short(module: str) -> None:
    lines = len(PATHS[module].read_text(encoding="utf-8").splitlines())
    assert lines <= LONGEST_MODULE, f"{lines} lines: is there a family in there?"


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


@pytest.mark.parametrize("module", NAMES)
def test_everything_public_says_what_it_is(module: str) -> None:
    assert ast.get_docstring(tree_of(module)), "the module has no docstring"
    silent = [name for name, node in public_definitions(module) if not ast.get_docstring(node)]
    assert not silent, f"no docstring: {silent}"


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


def test_a_part_of_a_folder_may_have_its_own_line() -> None:
    """A folder listed below its own parts: the parts keep their line, the rest takes the folder's."""
    assert line_of("nesting.packing.problem") == "nesting.packing.problem"
    assert line_of("nesting.packing.anything") == "nesting.packing"
    assert line_of("nesting.nowhere") is None
