"""What every request has to pass before it is answered, and what every answer tells the browser not to do."""

from __future__ import annotations

import errno
from typing import TYPE_CHECKING
from urllib.parse import SplitResult, urlsplit

from aiohttp import web

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable

    from aiohttp.typedefs import Middleware

LOOPBACK = frozenset({"localhost", "127.0.0.1", "::1"})
"""Names of this machine that nobody else can have."""
_HEADERS = {
    # The terminal's script sets styles; nothing is taken from elsewhere, and no other page may hold this one.
    "Content-Security-Policy": "default-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data:; "
    "frame-ancestors 'none'; form-action 'self'; base-uri 'none'",
    # No referrer at all would make browsers send forms with the origin 'null'.
    "Referrer-Policy": "same-origin",
    "X-Content-Type-Options": "nosniff",
    "Cache-Control": "no-store",
}


def guard(*, only_here: bool) -> Middleware:
    """Return what lets through only what a page of ours asks for; `only_here`: one under a name of this machine."""

    @web.middleware
    async def guarded(
        request: web.Request, handler: Callable[[web.Request], Awaitable[web.StreamResponse]]
    ) -> web.StreamResponse:
        if only_here and (_split(f"//{request.host}").hostname or "") not in LOOPBACK:
            # Another site's name that was made to point here would speak with the browser's blessing.
            raise web.HTTPForbidden(text="this is for the machine it runs on\n")
        origin = request.headers.get("Origin")
        asks = request.method != "GET" or request.path == "/ws"
        if asks and (origin is None or _split(origin).netloc != request.host):
            raise web.HTTPForbidden(text="asked by another page\n")
        try:
            response = await handler(request)
        except OSError as error:
            if error.errno != errno.ENAMETOOLONG:
                raise
            # No file has such a name; the library takes it for a fault of the disk.
            raise web.HTTPNotFound from error
        if not response.prepared:
            response.headers.update(_HEADERS)
        return response

    return guarded


def _split(url: str) -> SplitResult:
    """Return the parts of an address that a browser named; of one that is none, empty parts."""
    try:
        return urlsplit(url)
    except ValueError:
        return SplitResult("", "", "", "", "")
