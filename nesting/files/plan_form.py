"""The form of a plan document as it is read back: which keys, of which kind.

Keys of the contract that a plan cannot do without are required; the others have defaults, so that a
plan from elsewhere can be drawn as well. Unknown keys are left alone.
"""

from __future__ import annotations

from typing import Any, Final, Literal

from pydantic import BaseModel, ConfigDict, Field

from nesting.order.job import Edge, Job, Nap, WayToCut
from nesting.packing.result import Status, Stop
from nesting.pieces.piece import Role, Side, Steps
from nesting.units import Unit

#: Copies of one piece: more than any job that is planned comes to.
MOST_COPIES: Final = 10_000_000


class DocumentForm(BaseModel):
    """The base: nothing is turned from one kind into another, and numbers are finite."""

    model_config = ConfigDict(extra="ignore", strict=True, frozen=True, allow_inf_nan=False)


class MatchForm(DocumentForm):
    """A piece's place in the pattern."""

    level: str
    seam: str | None = None
    x: float
    y: float


class StepsForm(DocumentForm):
    """The sums of a piece's cut size."""

    length: Steps
    width: Steps


class PieceForm(DocumentForm):
    """A piece, upright."""

    id: str
    name: str = ""
    role: Role
    window: str | None = None
    room: str | None = None
    side: Side | None = None
    fabric: str
    width: float
    length: float
    copies: int = Field(1, ge=1, le=MOST_COPIES)
    turnable: bool = False
    match: MatchForm | None = None
    nap: Nap = "none"
    arrow_group: str | None = None
    optional: bool = False
    hidden: bool = False
    finished_width: float | None = None
    finished_length: float | None = None
    hem_line: float | None = None
    joined_to: tuple[str, ...] = ()
    joined_at: tuple[Literal["left", "right"], ...] = ()
    notes: tuple[str, ...] = ()
    sideways: bool = False
    top: Edge = "left"
    hem_edge: Edge | None = None
    first: bool = False
    steps: StepsForm | None = None


class RepeatForm(DocumentForm):
    """A fabric's pattern."""

    length: float
    width: float | None = None
    drop: float = 0.0
    sideways: bool = False


class AllowanceForm(DocumentForm):
    """Fabric bought beyond the layout."""

    name: str
    length: float


class BuyForm(DocumentForm):
    """What to buy."""

    quantity: float
    unit: Literal["yd", "m"]
    price: float | None = None
    step: float | None = None
    length: float | None = None
    allowances: tuple[AllowanceForm, ...] = ()


class LaidForm(DocumentForm):
    """One copy on the fabric."""

    piece: str
    copy_number: int = Field(alias="copy")
    x: float
    y: float
    width: float
    length: float
    turn: Literal[0, 90] = 0
    arrow: Literal["up", "down", "left", "right"] = "up"
    letter: str = ""
    done: bool = False


class ThumbForm(DocumentForm):
    """The usual rule of thumb."""

    length: float
    lines: tuple[str, ...] = ()


class IncumbentForm(DocumentForm):
    """How length and bound met."""

    length: float | None = None
    bound: float
    method: str
    seconds: float


class FlawForm(DocumentForm):
    """A spoiled rectangle of a length on hand."""

    x: float
    y: float
    width: float
    length: float


class CuttingForm(DocumentForm):
    """How a layout is cut; its figures follow from the placements."""

    way: WayToCut = "free"
    free_length: float | None = None


class LayoutForm(DocumentForm):
    """One fabric laid on one bolt."""

    fabric: str
    bolt: int | None = None
    bolt_width: float
    usable_width: float
    match_width: float | None = None
    fit_width: float | None = None
    printed: bool = False
    repeat: RepeatForm | None = None
    start: float | None = None
    on_hand: str | None = None
    on_hand_length: float | None = None
    start_reserve: float = 0.0
    lot: str | None = None
    flaws: tuple[FlawForm, ...] = ()
    length: float | None
    lower_bound: float | None
    squaring: float = 0.0
    bound_method: str = ""
    status: Status
    stop: Stop
    seconds: float = 0.0
    bound_certificate: dict[str, Any] | None = None
    open_certificate: dict[str, Any] | None = None
    railroaded: bool = False
    buy: BuyForm | None = None
    rule_of_thumb: ThumbForm | None = None
    incumbents: tuple[IncumbentForm, ...] = ()
    cutting: CuttingForm = CuttingForm()
    placements: tuple[LaidForm, ...]


class LeftOutForm(DocumentForm):
    """What did not fit."""

    piece: str
    copies: int = Field(ge=0, le=MOST_COPIES)
    shortfall: float
    window: str = ""
    selling_steps: int | None = None
    buy: float | None = None
    least: bool = False


class IdleForm(DocumentForm):
    """A length on hand that is not cut into, and why."""

    on_hand: str
    why: str


class ShortfallForm(DocumentForm):
    """What one fabric is short of."""

    fabric: str
    buy: BuyForm | None
    least: float
    not_cut_into: tuple[IdleForm, ...] = ()
    if_one_lot: BuyForm | None = None


class StageForm(DocumentForm):
    """One stage of an objective."""

    name: str
    value: float
    bound: float
    goal: Literal["most", "least"]
    measure: Literal["points", "length"]
    bound_method: str = ""
    certificate: dict[str, Any] | None = None


class ObjectiveForm(DocumentForm):
    """What was asked of the layouts of one fabric."""

    fabric: str
    stop: Stop
    seconds: float = 0.0
    untouched: tuple[str, ...] = ()
    stages: tuple[StageForm, ...] = ()


class SundryForm(DocumentForm):
    """Something to buy that is not cut."""

    name: str
    count: int | None = None
    length: float | None = None
    window: str | None = None
    note: str = ""


class SpotForm(DocumentForm):
    """A spot on the heading."""

    kind: str
    number: int
    start: float
    end: float


class HeadingForm(DocumentForm):
    """Where everything sits along one heading."""

    window: str
    side: Side
    width: float
    spots: tuple[SpotForm, ...] = ()
    remarks: tuple[str, ...] = ()
    steps: tuple[Steps, ...] = ()


class PanelForm(DocumentForm):
    """How one panel is made up."""

    window: str
    key: str
    side: Side
    count: int = 1
    flat: float
    finished: float
    length: float
    cuts: tuple[float, ...] = ()
    seams: tuple[float, ...] = ()
    steps: tuple[Steps, ...] = ()
    cut_width: float | None = None
    seam_allowance: float | None = None
    left_hem: float | None = None
    right_hem: float | None = None
    overlap: float | None = None


class SeamOptionForm(DocumentForm):
    """One seam plan of a window."""

    plan: str
    cuts: tuple[float, ...]
    pieces: int
    length: float | None = None
    lower_bound: float | None = None
    buy: BuyForm | None = None
    chosen: bool = False
    allowed_by: str = ""


class SeamPlansForm(DocumentForm):
    """The seam plans of a window on one fabric."""

    window: str
    layer: str
    fabric: str
    options: tuple[SeamOptionForm, ...]


class AdviceForm(DocumentForm):
    """A remark."""

    kind: Literal["question", "warning", "offer", "note"]
    text: str
    window: str | None = None
    fabric: str | None = None
    money: float | None = None


class AnswerForm(DocumentForm):
    """One answer to a question, and what it would cost."""

    answer: str
    planned: bool = False
    enter: str = ""
    buy: BuyForm | None = None


class QuestionForm(DocumentForm):
    """Something that only the maker can tell."""

    about: Literal["match", "drop_from"]
    fabric: str
    bolt: int | None = None
    question: str
    check: str = ""
    answers: tuple[AnswerForm, ...] = ()


class WhatIfForm(DocumentForm):
    """A change that would save fabric."""

    kind: Literal["shorter", "less full", "wider bolt"]
    window: str | None = None
    fabric: str
    was: str
    now: str
    saves: str
    length: float
    money: float | None = None
    least: bool = False
    text: str


class PlanForm(DocumentForm):
    """A whole plan document."""

    schema_name: Literal["nesting-plan/2"] = Field(alias="schema")
    title: str = ""
    units: Unit
    currency: str = ""
    pieces: tuple[PieceForm, ...]
    layouts: tuple[LayoutForm, ...]
    left_out: tuple[LeftOutForm, ...] = ()
    shortfalls: tuple[ShortfallForm, ...] = ()
    objectives: tuple[ObjectiveForm, ...] = ()
    sundries: tuple[SundryForm, ...] = ()
    headings: tuple[HeadingForm, ...] = ()
    panels: tuple[PanelForm, ...] = ()
    seam_plans: tuple[SeamPlansForm, ...] = ()
    sewing: tuple[dict[str, Any], ...] = ()
    advice: tuple[AdviceForm, ...] = ()
    questions: tuple[QuestionForm, ...] = ()
    what_if: tuple[WhatIfForm, ...] = ()
    order: Job | None = None
