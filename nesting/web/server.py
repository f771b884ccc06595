"""Puts the page on a port of this machine."""

from __future__ import annotations

import asyncio
import ipaddress
import logging
import socket
from typing import Any

import uvicorn
from uvicorn.protocols.http.h11_impl import H11Protocol

from nesting.errors import OutputError
from nesting.web.caps import HEAD_SECONDS, MOST_CONNECTIONS
from nesting.web.phone import Pairing
from nesting.web.shelf import Shelf, users_folder
from nesting.web.site import LOOPBACK, create_app

_LOG = logging.getLogger(__name__)


class PatientProtocol(H11Protocol):
    """HTTP whose requests must begin and end their heads within a few seconds."""

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self._head_timer: asyncio.TimerHandle | None = None

    def connection_made(self, transport: Any) -> None:
        """A reader has come, and has so long to say what it wants."""
        super().connection_made(transport)
        self._expect_head()

    def connection_lost(self, exc: Exception | None) -> None:
        """The reader is gone."""
        self._head_is_there()
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        """Some bytes; the clock of a head starts with its first and ends with its last."""
        waiting = self.cycle is None or self.cycle.response_complete
        if waiting and self._head_timer is None:
            self._expect_head()
        super().data_received(data)
        if self.cycle is not None and not self.cycle.response_complete:
            self._head_is_there()

    def _expect_head(self) -> None:
        self._head_timer = self.loop.call_later(HEAD_SECONDS, self._too_slow)

    def _head_is_there(self) -> None:
        if self._head_timer is not None:
            self._head_timer.cancel()
            self._head_timer = None

    def _too_slow(self) -> None:
        self._head_timer = None
        if self.transport is not None and (self.cycle is None or self.cycle.response_complete):
            self.transport.close()


def is_loopback(host: str) -> bool:
    """Whether an address is this machine's own, out of reach of all others."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def bound_socket(host: str, port: int) -> socket.socket:
    """A socket that listens there.

    Raises
    ------
    OutputError
        The port is taken, or the address is not of this machine.
    """
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    made = socket.socket(family, socket.SOCK_STREAM)
    made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        made.bind((host, port))
        # Whoever is told the address may come at once, before anything answers.
        made.listen()
    except (OSError, OverflowError) as error:
        made.close()
        reason = getattr(error, "strerror", None) or str(error)
        raise OutputError(
            f"port {port} of {host} cannot be used ({reason}): name another, such as --port {port + 1}"
        ) from error
    return made


def address_of(listening: socket.socket) -> str:
    """The address to open in a browser."""
    host, port = listening.getsockname()[:2]
    named = {"0.0.0.0": "127.0.0.1", "::": "[::1]"}.get(host, f"[{host}]" if ":" in host else host)
    return f"http://{named}:{port}/"


def run_on(
    listening: socket.socket,
    pairing: Pairing | None = None,
    network: socket.socket | None = None,
    *,
    keep: bool = True,
) -> None:
    """Answer on a socket until Ctrl-C.

    Parameters
    ----------
    listening
        As `bound_socket` made it.
    pairing, network
        By which codes devices get in that come to a second socket, on the local network.
    keep
        Keep jobs on disk; never where any machine can reach the page, nor for a device let in by a code.
    """
    host = listening.getsockname()[0]
    everywhere = not is_loopback(host)
    names = LOOPBACK | {host.lower()} | ({socket.gethostname().lower()} if everywhere else set())
    sockets = [listening]
    if network is not None:
        sockets.append(network)
        names |= {network.getsockname()[0]}
    shelf = Shelf(users_folder()) if keep and not everywhere else None
    config = uvicorn.Config(
        create_app(frozenset(names), any_address=everywhere, pairing=pairing, warm=True, shelf=shelf),
        http=PatientProtocol,
        ws="none",
        loop="asyncio",
        log_config=None,
        access_log=False,
        server_header=False,
        # Who somebody is, is what the connection says, never a header that anyone may send.
        proxy_headers=False,
        limit_concurrency=MOST_CONNECTIONS,
        timeout_keep_alive=10,
        timeout_graceful_shutdown=3,
        h11_max_incomplete_event_size=32 * 1024,
    )
    uvicorn.Server(config).run(sockets=sockets)
