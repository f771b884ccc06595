"""What the documents for developers name is there: modules, definitions, files, pages."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from tests.test_architecture import NAMES, ORDER, ROOT, tree_of

TOP = ROOT.parent
GUIDE = TOP / "DEVELOPERS.md"
PAGES = (GUIDE, TOP / "README.md", *sorted((TOP / "docs").rglob("*.md")))
#: The change log speaks of what was, and by the names of then.
LOG = TOP / "docs" / "changelog.md"
LONGEST_GUIDE = 12_000

_CODE = re.compile(r"`([^`]+)`")
_DOTTED = re.compile(r"nesting(\.\w+)+")
#: A place of the source or the tree, and what it defines: ``packing/turn:Budget``, ``tests/kills.py``.
_PLACE = re.compile(r"(?P<place>[\w.-]+(?:/[\w.-]+)*/?)(?::(?P<name>[A-Za-z_][\w.]*))?")
_FILE = re.compile(r".+\.(?:py|md|toml|csv|json|html|js|css|png|txt)")
#: Instances of benchmarks and schemas of documents: ``rooms/7``, ``nesting-plan/2``.
_NUMBERED = re.compile(r"[\w-]+/\d+")
#: A class or a private name, with or without what it stands in: ``Core.phases``, ``_build``.
_NAME = re.compile(r"_\w+(?:\.\w+)*|[A-Z][a-z]\w*(?:\.\w+)*")
_LINK = re.compile(r"\]\(([^)\s]+)\)")
#: What plans and jobs are written to is not in the tree.
WRITTEN = ("job.toml", "plan.json", "cut-list.csv", "cut-list-2.csv", "windows.csv", "marker.pdf")


def spans(page: Path) -> Iterator[str]:
    """What stands in backticks on a page, but for blocks of code."""
    text = re.sub(r"^```.*?^```", "", page.read_text("utf-8"), flags=re.DOTALL | re.MULTILINE)
    yield from (found[1] for found in _CODE.finditer(text))


@cache
def defined_in(module: str) -> frozenset[str]:
    """Names a module gives something to, those of a class as ``Class.name``, and names it imports."""
    return frozenset(_defined(tree_of(module).body, "")) | frozenset(
        alias.asname or alias.name
        for node in ast.walk(tree_of(module))
        if isinstance(node, ast.ImportFrom)
        for alias in node.names
    )


def _defined(body: list[ast.stmt], within: str) -> Iterator[str]:
    for node in body:
        if isinstance(node, ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef):
            yield within + node.name
        if isinstance(node, ast.ClassDef):
            yield from _defined(node.body, f"{within}{node.name}.")
        targets = node.targets if isinstance(node, ast.Assign) else [getattr(node, "target", None)]
        yield from (within + each.id for each in targets if isinstance(each, ast.Name))


def dotted(said: str) -> bool:
    """Whether a dotted name is a module, or something that one defines or imports."""
    module, names = said, list[str]()
    while module not in NAMES:
        module, _, name = module.rpartition(".")
        names.insert(0, name)
    return not names or ".".join(names) in defined_in(module)


@cache
def defined_anywhere() -> frozenset[str]:
    """All that the package defines, with the class it stands in and without."""
    names = frozenset(name for module in NAMES for name in _defined(tree_of(module).body, ""))
    return names | {name.rpartition(".")[2] for name in names}


@cache
def defined_at(file: Path) -> frozenset[str]:
    """As `defined_in`, of a file of Python that is no module of the package."""
    return frozenset(_defined(ast.parse(file.read_text("utf-8")).body, ""))


def module_at(place: str) -> str | None:
    """The module of a path below the package: ``packing/race``, ``headings/__init__``."""
    module = ".".join(["nesting", *place.rstrip("/").removesuffix("/__init__").split("/")])
    return module if module in NAMES else None


def stands(place: str, name: str | None) -> bool:
    """Whether a place is there, and defines what is said."""
    module = module_at(place)
    if module is not None:
        return name is None or name in defined_in(module)
    file = TOP / place
    if name is None:
        return file.exists() or (TOP / "samples" / place).is_file()
    return _FILE.fullmatch(place) is not None and file.is_file() and name in defined_at(file)


def wrong_names(said: str) -> Iterator[str]:
    """What is not there of all that a text in backticks names."""
    if _DOTTED.fullmatch(said) and not dotted(said):
        yield said
    if _NAME.fullmatch(said) and said not in defined_anywhere():
        yield said
    found = _PLACE.fullmatch(said)
    if found is None or _NUMBERED.fullmatch(said) or said in WRITTEN:
        return
    is_place = "/" in said or found["name"] is not None or _FILE.fullmatch(said)
    if is_place and not stands(found["place"], found["name"]):
        yield said


@pytest.mark.parametrize("page", [each for each in PAGES if each != LOG], ids=lambda page: page.name)
def test_every_module_and_file_that_is_named_is_there(page: Path) -> None:
    assert not [each for said in spans(page) for each in wrong_names(said)]


def test_what_is_not_there_would_be_seen() -> None:
    assert not list(wrong_names("nesting.packing.turn.Budget"))
    assert not list(wrong_names("nesting.packing.pack"))
    assert not list(wrong_names("packing/packer:_OrderOfWork._prove"))
    assert not list(wrong_names("headings/__init__:_ALL"))
    assert not list(wrong_names("tests/test_bounds.py:bound_by"))
    assert not list(wrong_names("rooms/7"))
    assert not list(wrong_names("Core.phases"))
    assert not list(wrong_names("_prove"))
    for said in (
        "nesting.packing.rays",
        "nesting.plan_view.x",
        "packing/improve",
        "packing/across/",
        ".ci/nothing",
        "Core.fases",
        "_prooves",
        "packing/packer:_OrderOfWork._guess",
        "packing/turn:Budget.gone",
        "tests/test_nothing.py",
        "tests/test_bounds.py:NOTHING",
        "tables.py",
    ):
        assert list(wrong_names(said)) == [said]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_links_within_the_tree_lead_somewhere(page: Path) -> None:
    links = [link for link in _LINK.findall(page.read_text("utf-8")) if "://" not in link]
    assert not [link for link in links if not (page.parent / link.partition("#")[0]).exists()]


def test_every_test_that_the_change_log_names_is_there() -> None:
    named, file = list[tuple[str, str]](), ""
    for said in _CODE.findall(LOG.read_text("utf-8")):
        before, _, test = said.partition("::")
        file = before or file
        if re.fullmatch(r"test_\w+\.py", file) and (test or before == said):
            named.append((file, test.replace("::", ".")))
    assert len(named) > 50
    missing = [each for each in named if not (TOP / "tests" / each[0]).is_file()]
    assert not missing
    assert not [(file, test) for file, test in named if test and test not in defined_at(TOP / "tests" / file)]


def test_the_guide_is_short() -> None:
    assert len(GUIDE.read_bytes()) <= LONGEST_GUIDE


def test_the_guide_leads_to_every_page() -> None:
    linked = {GUIDE.parent / link for link in _LINK.findall(GUIDE.read_text("utf-8"))}
    assert {page for page in PAGES if page.parent.name == "docs"} <= linked


def test_the_map_has_every_folder_in_the_order_of_imports() -> None:
    """Each line of the table of imports has its row, or that of its folder, from top to bottom."""
    table = GUIDE.read_text("utf-8").partition("## The map")[2].partition("\n## ")[0]
    rows = [row.split("|")[1] for row in table.splitlines() if row.startswith("| `")]
    mapped = [module for row in rows for said in _CODE.findall(row) if (module := module_at(said))]
    top = list(dict.fromkeys(".".join(line.split(".")[:2]) for line in ORDER if line != "nesting"))
    assert [module for module in mapped if module.count(".") == 1] == top
    folders = {name for name in NAMES if (ROOT / Path(*name.split(".")[1:])).is_dir() and name != "nesting"}
    assert folders <= set(mapped)
    inner = [line for line in ORDER if line in folders and line.count(".") == 2]
    assert [module for module in mapped if module.count(".") == 2] == inner


def test_each_decision_has_a_page_with_its_date_and_a_line_in_the_index() -> None:
    index = (TOP / "docs" / "decisions.md").read_text("utf-8")
    listed = dict(
        re.findall(r"^- \d{4}-\d\d-\d\d: \[(.+)\]\(decisions/(.+)\.md\)$", index, flags=re.MULTILINE)
    )
    pages = {page.stem: page.read_text("utf-8") for page in (TOP / "docs" / "decisions").glob("*.md")}
    assert sorted(listed.values()) == sorted(pages)
    for title, stem in listed.items():
        head = re.match(rf"# {re.escape(title)}\n\n(\d{{4}}-\d\d-\d\d)\. ", pages[stem])
        assert head, stem
        assert f"- {head[1]}: [{title}](" in index
