"""The local page, for makers who write no files."""

from __future__ import annotations

import contextlib
import os
import signal
import sys
import threading
from typing import TYPE_CHECKING, Annotated

import typer

from nesting.commands.running import new_app, run
from nesting.commands.streams import answer, say
from nesting.errors import OutputError

if TYPE_CHECKING:
    from nesting.web.phone import Pairing


def serve(
    port: Annotated[int, typer.Option("--port", min=0, max=65535, help="Of this machine; 0: any.")] = 8642,
    host: Annotated[
        str,
        typer.Option(
            "--host", metavar="ADDRESS", help="To listen on; others than 127.0.0.1 are seen by others."
        ),
    ] = "127.0.0.1",
    phone: Annotated[
        bool,
        typer.Option(
            "--phone",
            help="Let a phone on the same network in too, by a QR code that works once. Not encrypted.",
        ),
    ] = False,
    keep: Annotated[
        bool,
        typer.Option("--keep/--no-keep", help="Keep jobs in your data folder; only on 127.0.0.1."),
    ] = True,
) -> None:
    """Open a local page: enter windows and fabric, see the marker grow, compare bolts, print the packet."""
    from nesting.web.server import address_of, bound_socket, is_loopback, run_on

    if phone:
        _serve_phones(port, host, keep)
        return
    listening = bound_socket(host, port)
    if not is_loopback(host):
        say(
            f"warning: {host} can be reached by other machines, and whoever reaches it may use this page: "
            "there is no password. Leave --host out to keep it to this one."
        )
    answer(f"{address_of(listening)}\n")
    say("Open this address in a browser. Ctrl-C ends the page.")
    run_on(listening, keep=keep)


def _serve_phones(port: int, host: str, keep: bool) -> None:
    """The page on this machine as ever, and on the local network for whoever has the code."""
    from nesting.web.phone import Pairing, is_local, local_address
    from nesting.web.server import address_of, bound_socket, is_loopback, run_on

    here = local_address() if is_loopback(host) else host
    if not is_local(here):
        raise OutputError(
            f"--host {here}: with --phone expected the address of this machine on your own network, such as "
            "192.168.0.7; leave --host out to have it found"
        )
    listening = bound_socket("127.0.0.1", port)
    network = bound_socket(here, listening.getsockname()[1])
    pairing = Pairing(address_of(network), address_of(listening), say)
    answer(f"{address_of(listening)}\n")
    _show_code(pairing)
    say(
        "warning: whoever is on the same network and opens this code first can use this page. The connection "
        "is not encrypted: others on the network may be able to read what you send. Use it on a network you "
        "trust, not in a café."
    )
    say(
        "Scan the code with the phone, or type the second address. It works once, for one device. Press "
        "Enter for another code. Ctrl-C ends the page."
    )
    if sys.stdin is not None and sys.stdin.isatty():
        if hasattr(signal, "SIGTTIN"):
            # Sent to the background, the page goes on; only new codes by Enter end.
            signal.signal(signal.SIGTTIN, signal.SIG_IGN)
        threading.Thread(target=_renew, args=(pairing,), daemon=True).start()
    run_on(listening, pairing, network, keep=keep)


def _show_code(pairing: Pairing) -> None:
    """A fresh code as an address and, where somebody sees it, as a picture in black and white."""
    from rich.text import Text

    from nesting.web.phone import code_in_blocks

    address = pairing.new_code()
    answer(f"{address}\n")
    if sys.stdout.isatty():
        answer(Text(code_in_blocks(address), style="#ffffff on #000000", no_wrap=True))


def _renew(pairing: Pairing) -> None:
    """A new code for each line that is entered.

    Read past `sys.stdin`, which a thread must not hold at the end.
    """
    # In the background there is no terminal to read from, until the command is brought back.
    with contextlib.suppress(OSError):
        while os.read(sys.stdin.fileno(), 1024):
            _show_code(pairing)


def main() -> None:
    """Run the one command, which is there sooner than with all the others."""
    alone = new_app()
    alone.command()(serve)
    # With a second command it keeps its name on the command line.
    alone.callback()(lambda: None)
    run(alone)
