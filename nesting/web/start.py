"""The first page, which needs next to nothing and is there at once, and what all pages look like."""

from __future__ import annotations

import asyncio
import time
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, cast

from starlette.requests import Request
from starlette.responses import Response

from nesting.headings import HEADINGS
from nesting.web.caps import MOST_JOBS
from nesting.web.gate import is_at_home
from nesting.web.pictures import picture
from nesting.web.plans import plans_of
from nesting.web.rendering import STATIC, message, page
from nesting.web.samples import samples
from nesting.web.shelf import KeptJob, Shelf


@dataclass(frozen=True, slots=True)
class ListedJob:
    """A kept job as the list shows it."""

    id: str
    name: str
    title: str
    when: int
    told: str
    heading: str

    @classmethod
    def of(cls, job: KeptJob) -> ListedJob:
        """With its details in a line."""
        windows = f"{job.windows} window{'' if job.windows == 1 else 's'}"
        parts = (_day(job.removed or job.when), windows, job.fabric)
        return cls(
            job.id,
            job.name,
            job.title or "Job without a title",
            job.removed or job.when,
            ", ".join(part for part in parts if part),
            job.heading if job.heading in HEADINGS else "",
        )


def _day(when: int) -> str:
    """Date and time of this machine, as US readers write them."""
    then = time.localtime(when / 1000)
    hour = time.strftime("%I:%M %p", then).lstrip("0")
    return f"{time.strftime('%b', then)} {then.tm_mday}, {then.tm_year}, {hour}"


def shelf_of(request: Request) -> Shelf | None:
    """Where the jobs of whoever asks are kept on disk; None: nowhere, as for a device of the network."""
    shelf = cast("Shelf | None", request.app.state.shelf)
    return shelf if request.app.state.pairing is None or is_at_home(request.scope) else None


async def start(request: Request) -> Response:
    """The first page."""
    return await start_page(request)


async def start_page(request: Request, notes: tuple[str, ...] = (), status: int = 200) -> Response:
    """The first page with notes: why something could not be opened, what was removed or brought back."""
    shelf = shelf_of(request)
    jobs: tuple[KeptJob, ...] = ()
    removed: tuple[KeptJob, ...] = ()
    if shelf is not None:
        jobs = await asyncio.to_thread(shelf.jobs)
        removed = await asyncio.to_thread(shelf.removed)
    asked = request.query_params
    return page(
        "start.html",
        status,
        samples=samples(),
        lessons=HEADINGS,
        notes=notes,
        shelf=shelf is not None,
        jobs=[ListedJob.of(job) for job in jobs],
        removed=[ListedJob.of(job) for job in removed],
        just_removed=next((ListedJob.of(job) for job in removed if job.id == asked.get("removed")), None),
        just_back=next((ListedJob.of(job) for job in jobs if job.id == asked.get("back")), None),
        most_jobs=MOST_JOBS,
        picture=picture,
        plans=plans_of(request),
    )


_KINDS: Final = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
}


@lru_cache(maxsize=1)
def _files() -> dict[str, tuple[bytes, str]]:
    """All there are, so that no name of a request ever opens a file."""
    return {path.name: (path.read_bytes(), _KINDS[path.suffix]) for path in STATIC.iterdir()}


async def static(request: Request) -> Response:
    """Style, script or mark; their address changes with them, so that browsers may keep them."""
    found = _files().get(request.path_params["name"])
    if found is None:
        return message("There is nothing here", "The start page leads everywhere.", 404)
    return Response(found[0], media_type=found[1], headers={"cache-control": "max-age=86400"})
