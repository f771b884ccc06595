"""A phone on the page: the machine's address on the local network, the code that lets one in, its picture."""

from __future__ import annotations

import hashlib
import hmac
import io
import ipaddress
import math
import secrets
import socket
import threading
from collections.abc import Callable
from typing import Final

from nesting.errors import OutputError
from nesting.web.caps import MOST_GUESSES

#: Letters that nobody takes for one another, for a code that may have to be typed.
_LETTERS: Final = "23456789abcdefghjkmnpqrstuvwxyz"
#: So many of them are at least 128 bits.
_LENGTH: Final = math.ceil(128 / math.log2(len(_LETTERS)))
#: Light modules around the picture of a code, as its standard wants them (ISO/IEC 18004).
_QUIET: Final = 4
#: Addresses that a route is asked for: one that nobody has (RFC 5737), then the private networks (RFC 1918).
#: Nothing is sent there: connecting a socket of datagrams only has the system choose its own end.
_TOWARD: Final = ("192.0.2.1", "192.168.255.254", "10.255.255.254", "172.31.255.254")


def local_address() -> str:
    """The address under which others on the local network reach this machine; nothing is sent to find it.

    Raises
    ------
    OutputError
        There is no network, or only addresses that the whole internet can reach.
    """
    for there in _TOWARD:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
            try:
                probe.connect((there, 9))
                found = probe.getsockname()[0]
            except OSError:
                continue
        if is_local(found):
            return str(found)
    raise OutputError(
        "no address of this machine on a local network was found: connect it to one, or name the address, "
        "such as --phone --host 192.168.0.7"
    )


def is_local(host: str) -> bool:
    """Whether an address is of a local network: neither the machine's own nor one of the whole internet."""
    try:
        address = ipaddress.ip_address(host)
    except ValueError:
        return False
    return not (address.is_global or address.is_loopback or address.is_unspecified or address.is_multicast)


class Pairing:
    """Who may use the page from the network: one code at a time, good for one device.

    Parameters
    ----------
    address
        Of the page on the network, with a slash at its end.
    at_home
        Of the page on this machine.
    say
        Gets a line whenever something happens that the person at this machine should know.
    """

    def __init__(self, address: str, at_home: str, say: Callable[[str], None] = lambda _: None) -> None:
        self.address, self.at_home = address, at_home
        self._say = say
        self._lock = threading.Lock()
        self._code: str | None = None
        self._guesses = 0
        #: Digests, so that what lies in memory opens nothing.
        self._devices: list[bytes] = []

    def new_code(self) -> str:
        """The whole address with a fresh code in it; the code before it is good for nothing from now on."""
        with self._lock:
            self._code = "".join(secrets.choice(_LETTERS) for _ in range(_LENGTH))
            self._guesses = 0
            return f"{self.address}phone/{self._code}"

    @property
    def waits(self) -> bool:
        """Whether a code is on offer."""
        return self._code is not None

    def spend(self, code: str, who: str) -> str | None:
        """A token for the device that sends the code first; None for a wrong code or a used one.

        After `MOST_GUESSES` wrong ones the code is withdrawn. ``who`` is the device's address, for the
        person at this machine.
        """
        with self._lock:
            if self._code is None:
                return None
            if not hmac.compare_digest(code.encode("utf-8", "replace"), self._code.encode()):
                self._guesses += 1
                withdrawn = self._guesses >= MOST_GUESSES
                if withdrawn:
                    self._code = None
                token = None
            else:
                self._code, withdrawn = None, False
                token = secrets.token_urlsafe(32)
                self._devices.append(_digest(token))
        if token is not None:
            self._say(f"The device at {who} may use the page now. If it is not yours, press Ctrl-C.")
        elif withdrawn:
            self._say(
                f"warning: {MOST_GUESSES} wrong codes were sent, the last from {who}. "
                "The code was withdrawn. Press Enter for a new one."
            )
        return token

    def knows(self, token: str) -> bool:
        """Whether a device was let in with this token; takes as long whether it is nearly right or not."""
        mine, found = _digest(token), False
        for other in self._devices:
            found |= hmac.compare_digest(mine, other)
        return found


def _digest(token: str) -> bytes:
    return hashlib.sha256(token.encode("utf-8", "replace")).digest()


def code_in_blocks(text: str) -> str:
    """A QR code for a terminal, light modules drawn and dark ones left: two rows of modules in a line."""
    import segno

    rows = [list(row) for row in segno.make(text, micro=False, error="m").matrix_iter(border=_QUIET)]
    if len(rows) % 2:
        rows.append([1] * len(rows[0]))
    signs = {(0, 0): "█", (0, 1): "▀", (1, 0): "▄", (1, 1): " "}
    return "".join(
        "".join(signs[bool(one), bool(two)] for one, two in zip(upper, lower, strict=True)) + "\n"
        for upper, lower in zip(rows[::2], rows[1::2], strict=True)
    )


def code_as_svg(text: str) -> str:
    """A QR code as a drawing within a page."""
    import segno

    drawn = io.BytesIO()
    segno.make(text, micro=False, error="m").save(
        drawn, kind="svg", xmldecl=False, svgns=False, border=_QUIET, scale=8, omitsize=True, dark="#000",
        light="#fff", svgclass="code", lineclass=None, title="QR code of the address",
    )  # fmt: skip
    return drawn.getvalue().decode()
