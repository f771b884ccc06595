"""The local page, for makers who write no files."""

from __future__ import annotations

from typing import Annotated

import typer

from nesting.commands.running import new_app, run
from nesting.commands.streams import answer, say


def serve(
    port: Annotated[int, typer.Option("--port", min=0, max=65535, help="Of this machine; 0: any.")] = 8642,
    host: Annotated[
        str,
        typer.Option(
            "--host", metavar="ADDRESS", help="To listen on; others than 127.0.0.1 are seen by others."
        ),
    ] = "127.0.0.1",
) -> None:
    """Open a local page: enter windows and fabric, see the marker grow, compare bolts, print the packet."""
    from nesting.web.server import address_of, bound_socket, is_loopback, run_on

    listening = bound_socket(host, port)
    if not is_loopback(host):
        say(
            f"warning: {host} can be reached by other machines, and whoever reaches it may use this page: "
            "there is no password. Leave --host out to keep it to this one."
        )
    answer(f"{address_of(listening)}\n")
    say("Open this address in a browser. Ctrl-C ends the page.")
    run_on(listening)


def main() -> None:
    """Run the one command, which is there sooner than with all the others."""
    alone = new_app()
    alone.command()(serve)
    # With a second command it keeps its name on the command line.
    alone.callback()(lambda: None)
    run(alone)
