"""`nesting serve` as a module, for tests that start it as a process of its own."""

from __future__ import annotations

import sys

from nesting.commands import main
from tests.web_page import patient

if __name__ == "__main__":
    sys.argv[1:1] = ["serve"]
    with patient():
        main()
