"""A command that is interrupted at work, as a terminal does it."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).parents[1]


def interrupted(words: Sequence[str], lines: int) -> tuple[list[str], str, str]:
    """Run ``cli.py`` with these words and press Ctrl-C two seconds after so many lines of what it tells.

    Returns
    -------
    tuple
        Those lines, its output, and what it told afterwards. It must end with code 130, without a traceback.
    """
    with subprocess.Popen(
        [sys.executable, "cli.py", *words],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        encoding="utf-8",
        start_new_session=True,
    ) as running:
        assert running.stderr is not None
        try:
            told = [running.stderr.readline() for _ in range(lines)]
            time.sleep(2)
            # To the whole group, workers and all.
            os.killpg(running.pid, signal.SIGINT)
            answer, rest = running.communicate(timeout=900)
        finally:
            running.kill()
        assert running.returncode == 130
    assert "Traceback" not in rest
    return told, answer, rest
