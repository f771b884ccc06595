"""Who comes from the network: let in with a cookie, given one for a fresh code, else told how to get in."""

from __future__ import annotations

import ipaddress
from http.cookies import CookieError, SimpleCookie
from typing import Final

from starlette.datastructures import Headers
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send

from nesting.web.phone import Pairing, code_as_svg
from nesting.web.rendering import message, page

#: What a device shows that was let in. One more for each port, since cookies know none.
COOKIE: Final = "nesting-phone"
_CODES: Final = "/phone/"


class Gate:
    """ASGI middleware behind `nesting.web.guard.Guard`, which has seen to host, method and origin.

    Whoever is on this machine passes, by the address of the connection and not by anything that was sent.

    Parameters
    ----------
    app
        The pages.
    pairing
        Who was let in from the network, and by which code the next one is.
    """

    def __init__(self, app: ASGIApp, pairing: Pairing) -> None:
        self._app = app
        self._pairing = pairing

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or answer it here."""
        if scope["type"] != "http" or is_at_home(scope):
            await self._app(scope, receive, send)
            return
        answer = self._answer(scope)
        await (self._app if answer is None else answer)(scope, receive, send)

    def _answer(self, scope: Scope) -> Response | None:
        known = any(self._pairing.knows(token) for token in _tokens(Headers(scope=scope), self._name()))
        path: str = scope["path"]
        if not path.startswith(_CODES) or scope["method"] != "GET" or _only_looked_ahead(scope):
            return None if known else self._refused()
        if known:
            return _let_in()
        who = scope["client"][0] if scope.get("client") else "an unknown address"
        token = self._pairing.spend(path.removeprefix(_CODES).strip().lower(), who)
        if token is None:
            return self._refused(with_code=True)
        answer = _let_in()
        answer.set_cookie(self._name(), token, path="/", httponly=True, samesite="strict")
        return answer

    def _name(self) -> str:
        return f"{COOKIE}-{self._pairing.address.rstrip('/').rpartition(':')[2]}"

    def _refused(self, with_code: bool = False) -> HTMLResponse:
        return page(
            "stranger.html",
            403,
            with_code=with_code,
            at_home=self._pairing.at_home,
            waits=self._pairing.waits,
        )


def is_at_home(scope: Scope) -> bool:
    """Whether both ends of the connection are on this machine's own loopback."""
    return all(_is_loopback(scope.get(end)) for end in ("client", "server"))


def _is_loopback(end: object) -> bool:
    try:
        return isinstance(end, tuple | list) and ipaddress.ip_address(end[0]).is_loopback
    except ValueError:
        return False


def _tokens(headers: Headers, name: str) -> list[str]:
    """What may be our cookie; a browser may send others of the same host, well-formed or not."""
    found = []
    for line in headers.getlist("cookie"):
        for part in line.split(";"):
            try:
                jar = SimpleCookie(part.strip())
            except CookieError:
                continue
            found += [jar[name].value] if name in jar else []
    return found


def _only_looked_ahead(scope: Scope) -> bool:
    """Whether a browser fetches a page that nobody has opened yet: that uses no code up."""
    headers = Headers(scope=scope)
    return "prefetch" in f"{headers.get('sec-purpose', '')} {headers.get('purpose', '')}"


def _let_in() -> HTMLResponse:
    """A page of our own leads on: a redirect from elsewhere would leave the strict cookie at home."""
    answer = page("let_in.html")
    # The code in this page's address is spent; still it goes nowhere.
    answer.headers["referrer-policy"] = "no-referrer"
    return answer


async def phone(request: Request) -> Response:
    """For this machine alone: the code for the next device, made anew by a post."""
    pairing: Pairing | None = request.app.state.pairing
    if pairing is None or not is_at_home(request.scope):
        return message("There is nothing here", "The start page leads everywhere.", 404)
    if request.method == "POST":
        address = pairing.new_code()
        return page("phone.html", address=address, drawn=code_as_svg(address))
    return page("phone.html", address=None, drawn=None)
