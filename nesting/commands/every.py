"""All commands together."""

from __future__ import annotations

from nesting.commands import batch as _batch  # noqa: F401 - adds its command
from nesting.commands import cut_on as _cut_on  # noqa: F401 - adds its command
from nesting.commands import first_panel as _first_panel  # noqa: F401 - adds its command
from nesting.commands import lesson as _lesson  # noqa: F401 - adds its command
from nesting.commands import packet as _packet  # noqa: F401 - adds its command
from nesting.commands import prove as _prove  # noqa: F401 - adds its command
from nesting.commands.app import app, main
from nesting.commands.serve import serve

__all__ = ["app", "main"]

app.command()(serve)
