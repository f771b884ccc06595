"""How results show themselves in a notebook: given by the package, for drawings are loaded when asked for."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

HTML: Final[dict[str, Callable[[Any], str]]] = {}
"""By kind of result, such as ``plan``."""
