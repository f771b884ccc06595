"""The kinds of entry a job file knows: what each accepts, and what is said when it does not.

Each kind serves twice: as a pydantic marker that reads a TOML value, and as the JSON Schema that
editors show. A refused value raises a `PydanticCustomError` whose context holds what was expected.
"""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from fractions import Fraction
from typing import Any, Final

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler, ValidationInfo
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import PydanticCustomError, core_schema

from nesting.errors import LengthError
from nesting.order.job import Safety
from nesting.plan.margin import ACCEPTED, safety_of
from nesting.units import METER, Unit, format_length, parse_length, selling_unit, space_left_out, unit_named

_MIXED: Final = re.compile(r"(?:(\d{1,9})\s+)?(\d{1,9})\s*/\s*(\d{1,9})")
#: How a decimal is typed, with a point or a comma; a repr of a float may hold an exponent.
_DECIMAL: Final = re.compile(r"[-+]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:e[-+]?\d{1,3})?")
#: A comma that may part thousands: ``1,250``, but not ``0,125``.
_THOUSANDS: Final = re.compile(r"[-+]?0*[1-9]\d{0,2},\d{3}")
#: What stands around a number that says how often: ``2x``, ``x 2``, ``2 times``; or in hundredths: ``150 %``.
_OFTEN: Final = re.compile(
    r"(?P<lead>[x×]\s*)?(?P<number>.+?)\s*(?P<sign>[x×%]|times|fold|percent)?", re.IGNORECASE
)
#: A price as it stands on a label: ``$80``, ``24,90``, ``80/yd``, ``EUR 24.90 per m``.
_LABEL: Final = re.compile(
    r"(?P<before>[^\W\d]{3}|\S)??\s*(?P<number>[-+]?[\d.,]+(?:e[-+]?\d{1,3})?)\s*(?P<after>[^\W\d]{3}|[^\w\s/])?"
    r"(?:\s*(?:/|\bper\b|\ba\b)\s*(?P<unit>[^\W\d]+))?\s*",
    re.IGNORECASE,
)
_DROP_PARTS: Final = 12
_MOST_DIGITS: Final = 30


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """A closing remark that names the nearest known word, or all of them; empty if there are none."""
    names = list(dict.fromkeys(known))
    close = difflib.get_close_matches(word.lower(), [name.lower() for name in names], n=1, cutoff=0.6)
    if close:
        nearest = next(name for name in names if name.lower() == close[0])
        return f'did you mean "{nearest}"?'
    return f"known: {', '.join(names)}" if names else ""


def _refuse(expected: str) -> PydanticCustomError:
    return PydanticCustomError("entry", "{expected}", {"expected": expected})


class KeyEntry:
    """The base of all kinds: hooks `read` and `schema` into pydantic."""

    def read(self, value: Any, info: ValidationInfo) -> object:
        """What a TOML value means; raises `PydanticCustomError` if nothing."""
        raise _refuse("another value")

    def schema(self) -> dict[str, Any]:
        """What an editor is told."""
        return {}

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        return core_schema.with_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(
        self, core: core_schema.CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        return self.schema()


@dataclass(frozen=True)
class Size(KeyEntry):
    """A length in the job's units or as text; read as an exact number of ticks.

    Attributes
    ----------
    example
        A value in inches that a maker could have written.
    least, most
        Limits in ticks; ``least`` None: above 0.
    """

    example: str
    least: int | None = None
    most: int = 100 * METER

    def read(self, value: Any, info: ValidationInfo) -> Fraction:
        """The exact ticks of a number or text."""
        context = info.context or {}
        unit: Unit = context.get("unit", "in")
        wanted = f"a length{self._lower(unit)}, such as {self._shown(unit)}"
        if isinstance(value, bool) or not isinstance(value, str | int | float | Decimal):
            raise _refuse(wanted)
        try:
            ticks = parse_length(value, unit)
        except LengthError as error:
            reason = "" if "is no length" in str(error) else f" ({error})"
            raise _refuse(f"{wanted}{reason}") from None
        if context.get("limits", True):
            self._check_limits(ticks, unit, wanted)
        return ticks

    def _lower(self, unit: Unit) -> str:
        if self.least is None:
            return " above 0"
        if self.least == 0:
            return " of 0 or more"
        return f" of {format_length(self.least, unit)} or more"

    def _shown(self, unit: Unit) -> str:
        if unit != "in":
            return format_length(parse_length(self.example, "in"), unit, name=False)
        return f'"{self.example}"' if "/" in self.example else self.example

    def _check_limits(self, ticks: Fraction, unit: Unit, wanted: str) -> None:
        if ticks < self.least if self.least is not None else ticks <= 0:
            raise _refuse(wanted)
        if ticks > self.most:
            raise _refuse(
                f"at most {format_length(self.most, unit)}, such as {self._shown(unit)}: "
                f'check the number, and units = "{unit}"'
            )

    def schema(self) -> dict[str, Any]:
        """A number, or a text with a unit."""
        number: dict[str, Any] = {"type": "number"}
        if self.least is None:
            number["exclusiveMinimum"] = 0
        elif self.least == 0:
            number["minimum"] = 0
        example = parse_length(self.example, "in") / parse_length("1 in", "in")
        return {
            "anyOf": [number, {"type": "string", "minLength": 1, "maxLength": 60}],
            "examples": [float(example), f"{self.example} in"],
        }


@dataclass(frozen=True)
class Gap(Size):
    """A length, or the word ``auto``."""

    def read(self, value: Any, info: ValidationInfo) -> Any:
        """The exact ticks of a length, or the word."""
        if value == "auto":
            return "auto"
        try:
            return super().read(value, info)
        except PydanticCustomError as error:
            raise _refuse(f'"auto", or {(error.context or {})["expected"]}') from None

    def schema(self) -> dict[str, Any]:
        """A length or the word."""
        made = super().schema()
        return made | {"examples": [*made["examples"], "auto"]}


@dataclass(frozen=True)
class Number(KeyEntry):
    """A plain number from ``least`` to ``most``, ``least`` itself excluded where ``above``.

    With ``percent`` it counts hundredths, and a sign says nothing new; else it says how often, and
    ``150 %`` are 1.5.
    """

    example: str
    least: Fraction
    most: Fraction
    above: bool = False
    percent: bool = False

    def _meant(self, value: object) -> Fraction | None:
        """The number without what stands around it: ``2x``, ``150 %``."""
        if not isinstance(value, str) or len(value) > _MOST_DIGITS:
            return exact_number(value)
        found = _OFTEN.fullmatch(value.strip())
        if found is None:
            return None
        number, sign = exact_number(found["number"]), (found["sign"] or "").lower()
        hundredths = sign in ("%", "percent")
        if number is None or (self.percent and not hundredths and (sign or found["lead"])):
            return None
        return number / 100 if hundredths and not self.percent else number

    def read(self, value: Any, info: ValidationInfo) -> Fraction:
        """The exact value of a number, or of a text such as ``2 1/2``, ``2,5``, ``2.5x`` or ``250 %``."""
        number = self._meant(value)
        low = f"above {self.least}" if self.above else f"from {self.least}"
        if number is None or not self.least <= number <= self.most or (self.above and number == self.least):
            unit = " (percent)" if self.percent else ""
            raise _refuse(f"a number {low} up to {self.most}{unit}, such as {self.example}")
        return number

    def schema(self) -> dict[str, Any]:
        """A number within the limits, or a text."""
        lower = "exclusiveMinimum" if self.above else "minimum"
        number = {"type": "number", lower: float(self.least), "maximum": float(self.most)}
        return {"anyOf": [number, {"type": "string"}], "examples": [float(Fraction(self.example))]}


def exact_number(value: object) -> Fraction | None:
    """The exact value of a TOML number or a text such as ``5/2``, ``2 1/2``, ``2.5``, ``2,5``.

    None where it is no number, or one that two people could read in two ways.
    """
    if isinstance(value, bool):
        return None
    if isinstance(value, int):
        return Fraction(value)
    if isinstance(value, float):
        value = repr(value)
    if isinstance(value, str):
        mixed = _MIXED.fullmatch(value.strip())
        if mixed:
            return _mixed_number(*mixed.groups())
        text = value.strip()
        if not 0 < len(value) <= 40 or not _DECIMAL.fullmatch(text) or _THOUSANDS.fullmatch(text):
            return None
        try:
            value = Decimal(text.replace(",", "."))
        except InvalidOperation:
            return None
    if not isinstance(value, Decimal) or not value.is_finite() or abs(value.adjusted()) > _MOST_DIGITS:
        return None
    return Fraction(value)


def _mixed_number(whole: str | None, top: str, bottom: str) -> Fraction | None:
    """The number where it has one reading: neither ``1 5/2`` nor ``11/8``, which may be ``1 1/8``."""
    if not int(bottom) or (int(top) >= int(bottom) if whole else space_left_out(top, bottom)):
        return None
    return int(whole or 0) + Fraction(int(top), int(bottom))


def simple_drop(number: Fraction) -> Fraction | None:
    """The fraction that is meant by a drop, below 1; None where no simple one is near.

    Within 0.005 of halves to sixths it is that fraction (0.33 is 1/3). Others may have up to twelve
    parts, so that rounding the repeat to them stays below 0.08 mm.
    """
    near = number.limit_denominator(6)
    if abs(near - number) <= Fraction(1, 200):
        return near % 1
    return number % 1 if number.denominator <= _DROP_PARTS else None


@dataclass(frozen=True)
class Drop(KeyEntry):
    """The part of the repeat by which a pattern steps from column to column.

    `simple_drop` says which fraction is meant.
    """

    def read(self, value: Any, info: ValidationInfo) -> Fraction:
        """A number from 0 up to 1 as it was written; a whole step of 1 is none."""
        number = exact_number(value)
        if number is None or not 0 <= number <= 1:
            raise _refuse('a part of the repeat from 0 to 1, such as 0.5 (half drop), "1/3" or 0 (straight)')
        if simple_drop(number) is None:
            likely = number.limit_denominator(_DROP_PARTS)
            raise _refuse(f'a simple fraction of the repeat with up to 12 parts, such as "{likely}"')
        return number % 1

    def schema(self) -> dict[str, Any]:
        """A number from 0 to 1, or a fraction as text."""
        return {
            "anyOf": [{"type": "number", "minimum": 0, "maximum": 1}, {"type": "string"}],
            "examples": [0, 0.5, "1/3"],
        }


@dataclass(frozen=True)
class Price(KeyEntry):
    """Money per yard or meter."""

    def read(self, value: Any, info: ValidationInfo) -> Decimal:
        """The decimal as it was written, without the sign of a currency and what it is for."""
        unit: Unit = (info.context or {}).get("unit", "in")
        sold = selling_unit(unit)
        wanted = "a price of 0 or more per yard or meter, such as 38.50"
        text = str(value).strip()
        found = _LABEL.fullmatch(text) if isinstance(value, str) and len(text) <= _MOST_DIGITS else None
        if found is not None:
            signs = [sign for sign in (found["before"], found["after"]) if sign]
            if len(signs) > 1 or not all(_is_money(sign) for sign in signs):
                raise _refuse(wanted)
            text = found["number"]
            if found["unit"] and unit_named(found["unit"]) != sold:
                raise _refuse(f"a price per {sold}, such as 38.50/{sold}, for this job measures in {unit}")
        number = exact_number(text if isinstance(value, str) else value)
        if number is None or not 0 <= number <= 1_000_000 or "/" in text:
            unclear = ": its comma may part thousands" if _THOUSANDS.fullmatch(text) else ""
            raise _refuse(f"{wanted}{unclear}")
        return Decimal(text.replace(",", "."))

    def schema(self) -> dict[str, Any]:
        """A number of 0 or more, or a text."""
        return {"anyOf": [{"type": "number", "minimum": 0}, {"type": "string"}], "examples": [38.5]}


def _is_money(sign: str) -> bool:
    """Whether a sign stands for a currency: ``$``, or the three letters of one."""
    return unicodedata.category(sign) == "Sc" if len(sign) == 1 else sign.isalpha()


@dataclass(frozen=True)
class Margin(KeyEntry):
    """A safety margin: a word, a percentage or a length."""

    def read(self, value: Any, info: ValidationInfo) -> Safety:
        """What is to be bought on top."""
        unit: Unit = (info.context or {}).get("unit", "in")
        try:
            safety = safety_of(value, unit)
        except LengthError:
            raise _refuse(ACCEPTED) from None
        if safety.length is not None and safety.length > 100 * METER:
            raise _refuse(f"at most {format_length(100 * METER, unit)}: {ACCEPTED}")
        return safety

    def schema(self) -> dict[str, Any]:
        """A word, a percentage, a length."""
        number = {"type": "number", "minimum": 0}
        text = {"type": "string", "minLength": 1, "maxLength": 60}
        return {"anyOf": [number, text], "examples": ["usual", "10 %", "1 yd", "none"]}


@dataclass(frozen=True)
class Count(KeyEntry):
    """A whole number from ``least`` to ``most``."""

    least: int = 1
    most: int = 100_000

    def read(self, value: Any, info: ValidationInfo) -> int:
        """The whole number."""
        if isinstance(value, bool) or not isinstance(value, int) or not self.least <= value <= self.most:
            raise _refuse(f"a whole number from {self.least} to {self.most}, such as {max(1, self.least)}")
        return value

    def schema(self) -> dict[str, Any]:
        """An integer within the limits."""
        return {"type": "integer", "minimum": self.least, "maximum": self.most}


@dataclass(frozen=True)
class Text(KeyEntry):
    """One line of text, not empty."""

    example: str
    most: int = 120

    def read(self, value: Any, info: ValidationInfo) -> str:
        """The text without the blanks around it."""
        text = value.strip() if isinstance(value, str) else ""
        if not text or len(text) > self.most or not text.isprintable():
            raise _refuse(
                f'one line of text in quotes, at most {self.most} letters, such as "{self.example}"'
            )
        return text

    def schema(self) -> dict[str, Any]:
        """A string."""
        return {"type": "string", "minLength": 1, "maxLength": self.most, "examples": [self.example]}


@dataclass(frozen=True)
class OneOf(KeyEntry):
    """One of a few words."""

    words: tuple[str, ...]

    def read(self, value: Any, info: ValidationInfo) -> str:
        """The word."""
        if isinstance(value, str) and value in self.words:
            return value
        close = difflib.get_close_matches(value.lower(), self.words, n=1) if isinstance(value, str) else []
        hint = f' (did you mean "{close[0]}"?)' if close else ""
        quoted = ", ".join(f'"{word}"' for word in self.words)
        raise _refuse(f"one of {quoted}{hint}")

    def schema(self) -> dict[str, Any]:
        """The words."""
        return {"enum": list(self.words)}


@dataclass(frozen=True)
class Flag(KeyEntry):
    """Yes or no."""

    def read(self, value: Any, info: ValidationInfo) -> bool:
        """True or false."""
        if not isinstance(value, bool):
            raise _refuse("true or false, without quotes")
        return value

    def schema(self) -> dict[str, Any]:
        """A boolean."""
        return {"type": "boolean"}
