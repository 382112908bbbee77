"""What browsers send, taken only where it is sound: forms, the size of a terminal, messages for the app."""

from __future__ import annotations

import json
from functools import partial
from typing import TYPE_CHECKING

from aiohttp import WSMsgType, web
from aiohttp.http_exceptions import HttpProcessingError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from textual_serve.app_service import AppService

MESSAGE_BYTES = 16 * 1024
"""No message of a browser is longer; a pasted page of text is not."""
FORM_BYTES = 1024
"""No form is longer."""
_KINDS = {"stdin": str, "resize": dict}
"""What the data of a message must be, where not just anything will do."""


async def form(request: web.Request) -> Mapping[str, object]:
    """Return the form that a browser sent. Raises HTTPBadRequest where that is none."""
    try:
        return await request.post()
    except (ValueError, LookupError, HttpProcessingError) as error:
        raise web.HTTPBadRequest(text="no form\n") from error


def size(request: web.Request) -> tuple[int, int]:
    """Return the columns and rows of the terminal that a browser asks for; usual ones where it names none."""
    return _number(request, "width", 80), _number(request, "height", 24)


async def obey(socket: web.WebSocketResponse, app: AppService) -> None:
    """Hand on to `app` what a browser sends until it goes; what is no message of ours ends the connection."""
    does = {
        "stdin": lambda data: app.send_bytes(data.encode("utf-8", "replace")),
        "resize": lambda data: app.set_terminal_size(data.get("width"), data.get("height")),
        "ping": lambda data: socket.send_json(["pong", data]),
        "blur": lambda _: app.blur(),
        "focus": lambda _: app.focus(),
    }
    async for message in socket:
        if message.type is not WSMsgType.TEXT:
            return
        try:
            kind, *rest = json.loads(message.data)
            data = rest[0] if rest else None
            act = partial(does[kind], data)
        except (ValueError, TypeError, KeyError):
            return
        if not isinstance(data, _KINDS.get(kind, object)):
            return
        await act()


def _number(request: web.Request, name: str, otherwise: int) -> int:
    said = request.query.get(name, "")
    return int(said) if said.isascii() and said.isdigit() and len(said) < 6 else otherwise
