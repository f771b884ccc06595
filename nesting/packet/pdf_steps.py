"""Steps of sewing in the PDF: in two columns, each with its drawing at its right and the text around it."""

from __future__ import annotations

from typing import Any, Final

from reportlab.platypus import Flowable
from reportlab.platypus import Paragraph as Text

from nesting.drawing.trace import Drawing
from nesting.packet.model import TICK_BOX, MakingStep, MakingSteps
from nesting.packet.pdf_drawing import place
from nesting.packet.pdf_styles import RULE, STYLES, markup

#: Columns, and the room between them in points.
ABREAST: Final = 2
_APART: Final = 14.0
#: Between a text and its drawing, and above and below both.
_BESIDE: Final = 8.0
_PAD: Final = 3.0
#: The search for the lowest columns ends so much above them.
_HAIR: Final = 0.5


class _BesideDrawing(Flowable):
    """A text that runs around the drawing at its right."""

    def __init__(self, text: Text, drawing: Drawing) -> None:
        super().__init__()
        self._text, self._drawing = text, drawing

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803
        """Its size: as high as text or drawing."""
        text: Any = self._text
        style = text.style
        whole = aW - style.leftIndent
        narrow = whole - self._drawing.width - _BESIDE
        beside = int((self._drawing.height + _BESIDE) / style.leading) + 1
        text.width = aW
        text.blPara = text.breakLines([narrow] * beside + [whole])
        text.height = len(text.blPara.lines) * style.leading
        self.width, self.height = aW, max(text.height, self._drawing.height)
        return self.width, self.height

    def draw(self) -> None:
        """Set both from the top."""
        text: Any = self._text
        place(self.canv, self._drawing, self.width - self._drawing.width, self.height - self._drawing.height)
        text.drawOn(self.canv, 0, self.height - text.height)


class StepColumns(Flowable):
    """The steps in columns, read down the left one first; a page parts the columns, never a step."""

    def __init__(self, steps: list[Flowable]) -> None:
        super().__init__()
        self._steps = steps
        self._columns: list[list[tuple[Flowable, float]]] = []

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803
        """As high as the lowest columns that hold all of them, or more than there is."""
        heights = self._heights(aW)
        low, high = max(heights, default=0.0), sum(heights)
        while high - low > _HAIR:
            middle = (low + high) / 2
            low, high = (low, middle) if len(_filled(heights, middle)) <= ABREAST else (middle, high)
        self._columns = self._set(heights, high)
        self.width, self.height = aW, max((sum(tall for _, tall in one) for one in self._columns), default=0)
        return self.width, self.height

    def split(self, aW: float, aH: float) -> list[Flowable]:  # noqa: N803
        """What the columns of this page hold, and the rest."""
        held, column, left = 0, 1, aH - _HAIR
        for height in self._heights(aW):
            if height > left:
                column, left = column + 1, aH - _HAIR
            if column > ABREAST or height > left:
                break
            held, left = held + 1, left - height
        return [StepColumns(self._steps[:held]), StepColumns(self._steps[held:])] if held else []

    def draw(self) -> None:
        """Set the columns from the top."""
        for number, column in enumerate(self._columns):
            left, top = number * (self._wide(self.width) + _APART), self.height
            for step, tall in column:
                self.canv.setStrokeColor(RULE)
                self.canv.setLineWidth(0.4)
                self.canv.line(left, top, left + self._wide(self.width), top)
                step.drawOn(self.canv, left, top - tall + _PAD)
                top -= tall

    def _wide(self, width: float) -> float:
        return (width - _APART * (ABREAST - 1)) / ABREAST

    def _heights(self, width: float) -> list[float]:
        return [step.wrap(self._wide(width), 1e6)[1] + 2 * _PAD for step in self._steps]

    def _set(self, heights: list[float], most: float) -> list[list[tuple[Flowable, float]]]:
        rest = list(zip(self._steps, heights, strict=True))
        columns = []
        for count in _filled(heights, most):
            columns.append(rest[:count])
            rest = rest[count:]
        return columns


def _filled(heights: list[float], most: float) -> list[int]:
    """How many each column takes, filled in turn; 0 for one that is higher than the column."""
    counts, left = [0], most
    for height in heights:
        if height > left + 1e-6:
            counts.append(0)
            left = most
        counts[-1] += 1
        left -= height
    return counts


def steps_flowable(block: MakingSteps) -> Flowable:
    """The steps of a window, two abreast."""
    return StepColumns([_cell(number, item) for number, item in enumerate(block.items, 1)])


def _cell(number: int, item: MakingStep) -> Flowable:
    said = markup(item.text)
    if item.measure:
        said += f"<br/>{TICK_BOX} <b>Measure:</b> {markup(item.measure)}"
    text = Text(said, STYLES["step"], bulletText=f"{number}.")
    return text if item.drawing is None else _BesideDrawing(text, item.drawing)
