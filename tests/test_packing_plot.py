"""A picture of a packing shows each part where it lies."""

from pathlib import Path

import pytest
from matplotlib.patches import Rectangle

from nesting.drawing.packing_plot import draw_packing, plot
from nesting.errors import OutputError
from nesting.packing import (
    Bound,
    Flaw,
    Match,
    Part,
    Placement,
    Problem,
    Repeat,
    Result,
    Stop,
    Strip,
    pack,
)


def packed(problem: Problem) -> Result:
    return pack(problem, workers=1, work_limit=0.01)


def boxes(ax: object) -> dict[str, tuple[float, float, float, float]]:
    found = {}
    for patch in ax.patches:  # type: ignore[attr-defined]
        assert isinstance(patch, Rectangle)
        found[patch.get_gid()] = (*patch.get_xy(), patch.get_width(), patch.get_height())
    return found


def test_parts_flaws_bound_and_names_are_drawn() -> None:
    strip = Strip(7, repeat=Repeat(3), flaws=(Flaw(6, 0, 1, 1),), start=0)
    parts = (Part("a", 3, 5, 2, turnable=True), Part("b", 2, 2, match=Match("room", y=1)))
    problem = Problem((strip,), parts)
    result = packed(problem)
    (ax,) = plot(problem, result).axes
    drawn = boxes(ax)
    assert drawn.pop("strip") == (0, 0, 7, result.length)
    assert drawn.pop("flaw:0") == (6, 0, 1, 1)
    assert drawn == {
        f"part:{p.part}:{p.copy}": (p.x, p.y, *parts[p.part].size(p.turned)) for p in result.placements
    }
    assert sorted(text.get_text() for text in ax.texts) == ["a", "a", "b"]
    heights = {line.get_gid(): line.get_ydata()[0] for line in ax.lines}
    assert heights.pop("bound") == result.bound.length
    assert set(heights.values()) == set(range(0, result.length or 0, 3))
    assert str(result.length) in ax.get_title()


def test_each_strip_used_has_a_drawing() -> None:
    problem = Problem((Strip(5, length=4), Strip(5)), (Part("a", 4, 3, 2),))
    result = packed(problem)
    first, second = plot(problem, result).axes
    assert boxes(first)["strip"] == (0, 0, 5, 4)
    assert first.get_title() == "strip 0: 3 of 4"
    assert boxes(second)["strip"][2] == 5


def test_without_a_layout_the_strip_is_empty() -> None:
    result = Result(None, Bound(9, "area"), Stop.TIME_LIMIT, 0.0)
    (ax,) = plot(Problem((Strip(5),), (Part("a", 5, 9),)), result).axes
    assert boxes(ax) == {"strip": (0, 0, 5, 9)}
    assert ax.get_title() == "no layout; at least 9"


def test_many_parts_have_no_names() -> None:
    problem = Problem((Strip(61),), (Part("a", 1, 1, 61),))
    places = tuple(Placement(0, copy + 1, copy, 0) for copy in range(61))
    result = Result(1, Bound(1, "area"), Stop.PROVED, 0.0, places)
    (ax,) = plot(problem, result).axes
    assert len(ax.patches) == 62
    assert not ax.texts
    assert draw_packing(ax, problem, result) is ax


def test_a_picture_is_written(tmp_path: Path) -> None:
    problem = Problem((Strip(5),), (Part("a", 4, 3, 2),))
    result = packed(problem)
    plot(problem, result, tmp_path / "a.png")
    assert (tmp_path / "a.png").read_bytes().startswith(b"\x89PNG")
    plot(problem, result, tmp_path / "b.PNG")
    assert (tmp_path / "b.PNG").read_bytes() == (tmp_path / "a.png").read_bytes()
    plot(problem, result, str(tmp_path / "a.svg"))
    assert 'id="part:0:2"' in (tmp_path / "a.svg").read_text(encoding="utf-8")
    with pytest.raises(OutputError, match=r'"\.gif": expected a name that ends in \.png or \.svg'):
        plot(problem, result, tmp_path / "a.gif")
    with pytest.raises(OutputError, match="cannot be written"):
        plot(problem, result, tmp_path / "none" / "a.png")
