"""What depends on nothing but frozen values is worked out once for each of them."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import Final, ParamSpec, TypeVar, cast

_Asked = ParamSpec("_Asked")
_Found = TypeVar("_Found")
#: Answers that are kept of each function: those of a long job with all that it is offered.
_MOST: Final = 4096


def once(worked_out: Callable[_Asked, _Found]) -> Callable[_Asked, _Found]:
    """The same function, whose latest answers are remembered.

    For functions that read nothing but their arguments, all of them frozen, and that give something frozen:
    a window that is made up again as it was ordered then costs a look-up. What is refused is worked out anew.
    """
    return cast("Callable[_Asked, _Found]", lru_cache(maxsize=_MOST)(worked_out))
