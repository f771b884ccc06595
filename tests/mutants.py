"""Small wrong programs made of the check of sewing and of its model, each run against the fast sewing tests:

    python -m tests.mutants --count 200 --seed 1

A mutant is one change of one module: a comparison the other way or with its equal case, a number one more or
less, operands in each other's place, `and` for `or`, the smaller for the larger, a statement left out. It
is killed where a sound document is refused, a wrong one passes (tests/test_sewing_check.py has them) or a
test of the model fails. Survivors are printed; those of `EXPLAINED` come to the same, or differ by less than
a test can tell, and each says why. The others are gaps of the tests.
"""

from __future__ import annotations

import argparse
import ast
import importlib
import importlib.abc
import importlib.util
import itertools
import os
import re
import signal
import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from random import Random
from types import ModuleType
from typing import Any, NamedTuple

from nesting.check.document import read_plan_document

ROOT = Path(__file__).parents[1]
#: What is changed.
SOURCES = (
    *sorted((ROOT / "nesting" / "check").glob("sewing_*.py")),
    *(ROOT / "nesting" / "sewing" / f"{name}.py"
      for name in ("folding", "hung", "joining", "layering", "operation", "setting", "work", "written")),
)  # fmt: skip
FLIPPED = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is,
}  # fmt: skip
#: Flipped, these differ only where both sides are equal.
EDGES = (ast.Lt, ast.LtE, ast.Gt, ast.GtE)
#: Documents that must pass or not, and hand sums of the model and of single rules.
DOCUMENTS = ("test_sewing_check", "test_sewing_check_more", "test_sewing_check_seldom")
UNITS = ("test_sewing_model", "test_sewing_rules", "test_sewing_steps")
#: A child that takes longer hangs, and is killed.
SECONDS = 60

#: Why survivors of a kind are no other program, or none that lets a wrong drape pass: by what was changed,
#: the expression and its line. A kind that might hold a fault has no place here.
EXPLAINED: tuple[tuple[str, str], ...] = (
    (
        r"edge <(?!.*(len\(|count|number|copies|times|\b\d\b))",
        "differs only where a length is its limit to the tick",
    ),
    (r"one more <(Fraction\(2\)|.*[0-9])>: (_?ROUNDED|SAME)\b", "a tolerance of a tick more"),
    (r"one more <top\.differs\(.*, 2\)$", "a tolerance of a tick more"),
    (r"one more <[^>]*(ROUNDED|SAME|slack)[^>]*>", "a tolerance of a tick more"),
    (r"edge <max\(off, across, min\(step, ordered\.length - step\)\)", "a tolerance of a tick less"),
    (r"one more <Fraction\(0\)>(?!.*(shrink|drop|amount|percent))", "a length of a tick more"),
    (r"one more <0 if made\.finish", "a length of a tick more"),
    (r"one more <(default=0|max\(1, len\()", "of nothing at all, which is found before"),
    (r"one more <10 \*\* 12>", "larger than any length of a job"),
    (r"one more <:60>|one more <Fraction\(355, 113\)>", "a word in a message, or a digit of a circle"),
    (r"(\w| )+ <.*>: (return f|what = f|name = f|number = f|apart = float\()", "a word in a message"),
    (r"swap <layout\.strip\.width - usable>: over = ", "only how much it is"),
    (r"without <raise (NestingError|SewingError)\(f['\"]\{(place|term\.place)", "the form of a document"),
    (r"one more <works\[0\]>: return Work\(join\.into", "all parts are of one fabric"),
    (
        r"(flip|and or) <(hung|above) is not None.*>: if hung is not None",
        "the hem is at its clearance to a step of the tape, or is found to be elsewhere",
    ),
    (r"min max <max\(\(piece\.size", "asks for more than it must"),
    (r"minus <usual \* Fraction\(5, 4\) \+ window\.step>", "asks for more than it must"),
)


def sites(tree: ast.Module) -> Iterator[tuple[ast.AST, str]]:
    """Every place that may be changed, and how."""
    told = {id(inner) for node in ast.walk(tree) if _only_told(node) for inner in ast.walk(node)}
    for node in ast.walk(tree):
        if id(node) in told:
            continue
        if isinstance(node, ast.Compare) and type(node.ops[0]) in FLIPPED:
            yield node, "flip"
        elif isinstance(node, ast.BoolOp):
            yield node, "and or"
        elif isinstance(node, ast.BinOp) and isinstance(node.op, ast.Sub | ast.Div):
            yield node, "swap"
        elif isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add) and not _text(node):
            yield node, "minus"
        elif isinstance(node, ast.Constant) and type(node.value) is int and node.value < 1000:
            yield node, "one more"
        elif (
            isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ("min", "max")
        ):
            yield node, "min max"
        elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
            yield node, "not"
        elif isinstance(node, ast.Raise) or _yields(node):
            yield node, "without"


def _only_told(node: ast.AST) -> bool:
    """Whether what stands in it is only told, or the same either way: how much it is, what is absolute."""
    return isinstance(node, ast.Call) and ast.unparse(node.func) in (
        "abs", "drape", "Violation", "_off", "top.wrong", "self.wrong", "whole", "SewingError", "in_ticks",
    )  # fmt: skip


def _yields(node: ast.AST) -> bool:
    return isinstance(node, ast.Expr) and isinstance(node.value, ast.Yield | ast.YieldFrom)


def _text(node: ast.BinOp) -> bool:
    return any(isinstance(side, ast.JoinedStr | ast.Tuple | ast.List) for side in (node.left, node.right))


def mutated(source: str, number: int) -> tuple[str, str]:
    """The source with the change of that number, and what was changed."""
    tree = ast.parse(source)
    node, how = next(itertools.islice(sites(tree), number, None))
    line = source.splitlines()[node.lineno - 1].strip()  # type: ignore[attr-defined]
    around = _around(tree, node)
    if how == "flip":
        how = "edge" if isinstance(node.ops[0], EDGES) else how  # type: ignore[attr-defined]
        node.ops[0] = FLIPPED[type(node.ops[0])]()  # type: ignore[attr-defined]
    elif how == "and or":
        node.op = ast.Or() if isinstance(node.op, ast.And) else ast.And()  # type: ignore[attr-defined]
    elif how == "swap":
        node.left, node.right = node.right, node.left  # type: ignore[attr-defined]
    elif how == "minus":
        node.op = ast.Sub()  # type: ignore[attr-defined]
    elif how == "one more":
        node.value += 1  # type: ignore[attr-defined]
    elif how == "min max":
        node.func.id = "max" if node.func.id == "min" else "min"  # type: ignore[attr-defined]
    elif how == "not":
        node.op = ast.UAdd()  # type: ignore[attr-defined]
        node.operand = ast.Call(ast.Name("bool", ast.Load()), [node.operand], [])  # type: ignore[attr-defined]
    else:
        for parent in ast.walk(tree):
            for field in ("body", "orelse"):
                body = getattr(parent, field, None)
                if isinstance(body, list) and node in body:
                    body[body.index(node)] = ast.Pass()
    return ast.unparse(ast.fix_missing_locations(tree)), f"{how} <{around}>: {line}"


def _around(tree: ast.Module, node: ast.AST) -> str:
    """What is changed, of a number the expression that it stands in."""
    if isinstance(node, ast.Constant):
        node = next(
            one for one in ast.walk(tree) if any(child is node for child in ast.iter_child_nodes(one))
        )
    return ast.unparse(node).splitlines()[0][:80]


class _Mutant(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Gives one module in another form."""

    def __init__(self, module: str, source: str, path: Path) -> None:
        self._module, self._source, self._path = module, source, path

    def find_spec(self, name: str, path: Any = None, target: Any = None) -> Any:
        """The module, if it is the changed one."""
        return importlib.util.spec_from_loader(name, self) if name == self._module else None

    def exec_module(self, module: ModuleType) -> None:
        """Run the changed source."""
        exec(compile(self._source, str(self._path), "exec"), module.__dict__)


def module_of(path: Path) -> str:
    """Its name."""
    return ".".join(path.relative_to(ROOT).with_suffix("").parts)


def _calls(test: Any) -> Iterator[Any]:
    """A test once for each of its parameters."""
    marks = [mark for mark in getattr(test, "pytestmark", ()) if mark.name == "parametrize"]
    if not marks:
        yield test
        return
    names, values = marks[0].args
    keys = [name.strip() for name in names.split(",")] if isinstance(names, str) else list(names)
    for value in values:
        given = (value,) if len(keys) == 1 else value
        yield lambda given=given: test(**dict(zip(keys, given, strict=True)))


class Prepared(NamedTuple):
    """Documents as they are read, once for all mutants: sound ones, and wrong ones with the words wanted."""

    sound: list[tuple[Any, Any]]
    wrong: list[tuple[Any, Any, str]]


def prepared() -> Prepared:
    """The documents of the fast sewing tests."""
    import spoiled_drapes

    first, *others = (importlib.import_module(name) for name in DOCUMENTS)
    sound = [*first.SOUND, *(made for more in others for made in more.SOUND.values())]
    rows = ((more.SOUND[name], change, words) for more in others for name, change, words in more.ROWS)
    wrong = [
        (spoiled_drapes.changed(made, change), words)
        for made, change, words in (*first.WRONG.values(), *first.REWRITTEN.values(), *rows)
    ]
    plans = [made.planned() for made in sound]
    return Prepared(
        [(read_plan_document(made), made) for made in plans],
        [(read_plan_document(made), made, words) for made, words in wrong],
    )


def judge(changed: str, source: str, path: Path, cases: Prepared) -> str:
    """What kills a mutant, in this process; empty where nothing does."""
    for name in [name for name in sys.modules if name.startswith(("nesting.sewing", "nesting.check.sewing"))]:
        del sys.modules[name]
    sys.meta_path.insert(0, _Mutant(changed, source, path))
    try:
        for units in UNITS:
            spec = importlib.util.spec_from_file_location(units, ROOT / "tests" / f"{units}.py")
            assert spec is not None
            assert spec.loader is not None
            module = importlib.util.module_from_spec(spec)
            spec.loader.exec_module(module)
            for name, test in vars(module).items():
                if name.startswith("test_"):
                    for call in _calls(test):
                        call()
        check_sewing = importlib.import_module("nesting.check.sewing_drapes").check_sewing
        if any(list(check_sewing(plan, made)) for plan, made in cases.sound):
            return "a sound document is refused"
        for plan, made, words in cases.wrong:
            wrong = [str(one) for one in check_sewing(plan, made)]
            if not any(word in one for one in wrong for word in words.split("|")):
                return "a wrong document passes"
    except BaseException as error:  # Whatever a mutant dies of.
        return type(error).__name__
    return ""


def alone(module: str, source: str, path: Path, cases: Prepared) -> bool:
    """Whether a mutant is killed, in a process of its own."""
    child = os.fork()
    if not child:
        signal.alarm(SECONDS)
        os.dup2(os.open(os.devnull, os.O_WRONLY), 2)
        os._exit(0 if judge(module, source, path, cases) else 7)
    _, status = os.waitpid(child, 0)
    return not (os.WIFEXITED(status) and os.WEXITSTATUS(status) == 7)


def explained(what: str) -> str:
    """Why a survivor may live; empty where a test is missing."""
    return next((why for known, why in EXPLAINED if re.match(known, what)), "")


def main() -> int:
    """Make mutants and judge them; exit 1 where one survives that is not explained."""
    parser = argparse.ArgumentParser(prog="python -m tests.mutants", description=__doc__)
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    sys.path.insert(0, str(ROOT / "tests"))
    cases = prepared()
    every = [
        (path, number)
        for path in SOURCES
        for number, _ in enumerate(sites(ast.parse(path.read_text("utf-8"))))
    ]
    assert not judge("none", "", ROOT, cases), "the tests fail without any change"
    sys.meta_path.pop(0)
    killed, survivors = Counter[str](), list[tuple[str, str]]()
    for path, number in Random(asked.seed).sample(every, min(asked.count, len(every))):
        source, what = mutated(path.read_text("utf-8"), number)
        name = module_of(path)
        if alone(name, source, path, cases):
            killed[name] += 1
        else:
            survivors.append((name, what))
            told = explained(what)
            print(f"survives {name}: {what}" + (f" [{told}]" if told else ""), flush=True)
    open_ = [what for _, what in survivors if not explained(what)]
    print(f"{asked.count} mutants of {len(every)} places: {sum(killed.values())} killed, {len(survivors)} "
          f"survive, {len(open_)} of them not explained")  # fmt: skip
    # Those are gaps of the fast tests: each line is one that a new row should find.
    return 1 if open_ else 0


if __name__ == "__main__":
    sys.exit(main())
