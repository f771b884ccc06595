"""Reads a page's forms as a browser would send them, and fills them in."""

from __future__ import annotations

from html.parser import HTMLParser


class _Reader(HTMLParser):
    """The entries of the form with a certain id: inputs, choices, hidden ones."""

    def __init__(self, form: str) -> None:
        super().__init__()
        self._form, self._inside, self._select = form, False, ""
        self.entries: dict[str, str] = {}
        self.buttons: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        said = {name: value or "" for name, value in attrs}
        if tag == "form":
            self._inside = said.get("id") == self._form
        if not self._inside:
            return
        name = said.get("name", "")
        if tag == "input" and name:
            loose = said.get("type") in ("radio", "checkbox")
            if not loose or "checked" in said:
                self.entries[name] = said.get("value", "")
        elif tag == "select":
            self._select = name
            self.entries[name] = ""
            self._first = True
        elif tag == "option" and self._select and ("selected" in said or self._first):
            self.entries[self._select] = said.get("value", "")
            self._first = False
        elif tag == "button" and name == "do":
            self.buttons.append(said.get("value", ""))

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._inside = False
        elif tag == "select":
            self._select = ""


def entries_of(page: str, form: str = "job") -> dict[str, str]:
    """What a browser would send if nothing were changed, without a button."""
    reader = _Reader(form)
    reader.feed(page)
    assert reader.entries, "no such form on the page"
    return reader.entries


def buttons_of(page: str, form: str = "job") -> list[str]:
    """The wishes of its buttons."""
    reader = _Reader(form)
    reader.feed(page)
    return reader.buttons
