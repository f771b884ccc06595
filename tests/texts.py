"""Every text that the program prints, in one list for a native speaker to read: ``python -m tests.texts``.

What is printed stands in string literals of the source, in templates and in the script of the page. A text
is a literal of two words or more that is no docstring, no regular expression and no note of a log; what is
filled in stands in it as ``{}``.
"""

from __future__ import annotations

import ast
import re
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import nesting

ROOT: Final = Path(nesting.__file__).parent
#: Calls whose texts are for developers or for the machine.
_SILENT: Final = frozenset({"compile", "debug", "info", "warning", "exception", "sub", "findall", "match"})
_WORDS: Final = re.compile(r"[A-Za-z][A-Za-z'-]* [A-Za-z'-]+")
#: Markup and drawing, style and kinds of media.
_MACHINE: Final = re.compile(
    r"^\s*<|[{};]\s*$|viewBox|stroke|^[a-z-]+/[a-z]+;|charset=|default-src|max-age|;\s*\w+="
)
_JINJA: Final = re.compile(r"{%.*?%}|{#.*?#}", re.DOTALL)
_TAG: Final = re.compile(r"<(?:script|style).*?</(?:script|style)>|<[^>]*>", re.DOTALL)
_SAID: Final = re.compile(r'(?:aria-label|title|placeholder|alt)="([^"]*)"')
_SCRIPT: Final = re.compile(r'"((?:[^"\\\n]|\\.)*)"|`((?:[^`\\]|\\.)*)`')


@dataclass(frozen=True, slots=True)
class Text:
    """A text with the file and line it stands in."""

    place: str
    line: int
    words: str

    def __str__(self) -> str:
        return f"{self.place}:{self.line}: {self.words}"


def texts() -> Iterator[Text]:
    """All of them, file by file."""
    for path in sorted(ROOT.rglob("*.py")):
        yield from _of_source(path)
    for path in sorted(ROOT.rglob("*.html")):
        yield from _of_template(path)
    for path in sorted(ROOT.rglob("*.js")):
        yield from _of_script(path)


def _name(path: Path) -> str:
    return str(path.relative_to(ROOT.parent))


def _of_source(path: Path) -> Iterator[Text]:
    tree = ast.parse(path.read_text("utf-8"))
    silent = _silent(tree)
    for node in ast.walk(tree):
        if id(node) in silent:
            continue
        if isinstance(node, ast.JoinedStr):
            words = "".join(str(one.value) if isinstance(one, ast.Constant) else "{}" for one in node.values)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            words = node.value
        else:
            continue
        if _WORDS.search(words) and not _MACHINE.search(words):
            yield Text(_name(path), node.lineno, " ".join(words.split()))


def _silent(tree: ast.AST) -> set[int]:
    """Nodes that print nothing: docstrings, what a log or a regular expression gets, parts of an f-string."""
    found = set[int]()
    for node in ast.walk(tree):
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef):
            found |= {id(one.value) for one in node.body[:1] if isinstance(one, ast.Expr)}
        elif isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            found.add(id(node.value))
        elif isinstance(node, ast.JoinedStr):
            found |= {id(one) for one in node.values}
        elif isinstance(node, ast.Call):
            called = node.func
            name = called.attr if isinstance(called, ast.Attribute) else getattr(called, "id", "")
            if name in _SILENT:
                found |= {id(inner) for one in node.args for inner in ast.walk(one)}
        elif isinstance(node, ast.AnnAssign | ast.Subscript):
            written = node.annotation if isinstance(node, ast.AnnAssign) else node.slice
            found |= {id(inner) for inner in ast.walk(written)}
    return found


def _of_template(path: Path) -> Iterator[Text]:
    text = path.read_text("utf-8")
    for number, line in enumerate(_JINJA.sub(_blank, text).split("\n"), 1):
        said = re.sub(r"{{.*?}}", "{}", line)
        for part in (*_TAG.sub("\n", said).split("\n"), *_SAID.findall(said)):
            if _WORDS.search(part):
                yield Text(_name(path), number, " ".join(part.split()))


def _blank(found: re.Match[str]) -> str:
    """As many lines as were there, and the texts that stand in it."""
    inner = re.findall(r'"([^"]*)"', found[0])
    return " ".join(one for one in inner if " " in one) + "\n" * found[0].count("\n")


def _of_script(path: Path) -> Iterator[Text]:
    remark = re.compile(r"/\*.*?\*/|(?<!:)//[^\n]*", re.DOTALL)
    text = remark.sub(lambda found: "\n" * found[0].count("\n"), path.read_text("utf-8"))
    for found in _SCRIPT.finditer(text):
        words = re.sub(r"\${[^}]*}", "{}", found[1] or found[2] or "")
        if _WORDS.search(words) and not re.search(r"[#\[\]=>]|^[.\w-]+,", words):
            yield Text(_name(path), text.count("\n", 0, found.start()) + 1, words)


if __name__ == "__main__":
    print("\n".join(map(str, texts())), file=sys.stdout)
