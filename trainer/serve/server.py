"""The web server: who may come in, who sits where, and the app for each; textual-serve does the app in the page.

What textual-serve does not do stands here and beside: it asks nobody who they are, serves any number, lists its own
folders, runs a command through a shell, takes any message, and loads a font from another company's machine.
"""

from __future__ import annotations

import asyncio
import logging
import secrets
from pathlib import Path
from typing import TYPE_CHECKING, Any

import aiohttp_jinja2
import jinja2
from aiohttp import web
from textual_serve.server import Server

from trainer.serve.complaints import OneLine
from trainer.serve.door import HOLD_S, Answer
from trainer.serve.guard import guard
from trainer.serve.guests import Guests
from trainer.serve.received import FORM_BYTES, MESSAGE_BYTES, form, obey, size
from trainer.serve.sitting import Sitting

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable, Sequence

    from trainer.serve.door import Door
    from trainer.serve.guests import Seat

COOKIE = "changeover_ticket"
PAGES = Path(__file__).parent / "pages"


class SeatServer(Server):
    """Serves the app to seats."""

    def __init__(
        self,
        words: Sequence[str],
        seats: Sequence[Seat],
        *,
        door: Door | None,
        sessions: int,
        host: str,
        port: int,
        clock: Callable[[], float],
        hold: Callable[[float], Awaitable[None]] = asyncio.sleep,
    ) -> None:
        """Serve `words` on `host` and `port` to `sessions` browsers at most.

        With a `door` everybody has to say its code; without one only this machine is served. Where every seat is the
        same player's, nobody is asked to choose.
        """
        super().__init__(" ".join(words), host=host, port=port, title="Changeover", templates_path=str(PAGES))
        self._words = tuple(words)
        self._seats = {seat.id: seat for seat in seats}
        self._asks = any(seat.own for seat in seats)
        self._door = door
        self._guests = Guests(limit=sessions)
        self._clock = clock
        self._hold = hold
        self._knocking = asyncio.Lock()
        self._leaving: set[asyncio.Task[None]] = set()

    async def on_startup(self, app: web.Application) -> None:
        """Say nothing: whoever serves has said it."""

    def initialize_logging(self) -> None:
        """Log nothing but what went wrong, in one line each: what is logged may come from a browser."""
        handler = logging.StreamHandler()
        handler.setFormatter(OneLine())
        logging.basicConfig(level=logging.WARNING, handlers=[handler])

    async def _make_app(self) -> web.Application:
        """Return the application; the library's own would serve more."""
        app = web.Application(client_max_size=FORM_BYTES, middlewares=[guard(only_here=self._door is None)])
        app.on_cleanup.append(self._all_left)
        aiohttp_jinja2.setup(app, loader=jinja2.FileSystemLoader(self.templates_path), autoescape=True)
        app.add_routes(
            [
                web.get("/", self._index),
                web.post("/code", self._code),
                web.post("/seat", self._seat),
                web.get("/ws", self.handle_websocket),
                web.static("/pages", PAGES / "static"),
                web.static("/static", self.statics_path),
            ]
        )
        return app

    async def _index(self, request: web.Request) -> web.StreamResponse:
        """Return the page whose turn it is: the code, the seat, or the app."""
        ticket = self._ticket(request)
        if ticket is None:
            if self._door is not None:
                return self._page(request, "code.html", {"said": ""})
            return self._let_in()
        seat = self._seats.get(self._guests.seats[ticket] or "")
        if self._asks and (seat is None or "seats" in request.query):
            return self._choice(request, said="")
        name = "this machine" if seat is None else seat.name
        return self._page(request, "app_index.html", {"name": name, "asks": self._asks})

    async def _code(self, request: web.Request) -> web.StreamResponse:
        """Answer a code."""
        said = str((await form(request)).get("code", ""))
        if self._door is None:
            return self._let_in()
        address = request.remote or ""
        # One at a time: ten tries a second from everywhere together.
        async with self._knocking:
            self._door, answer = self._door.knock(address, said, self._clock())
            if answer is not Answer.OPEN:
                await self._hold(HOLD_S)
        if answer is Answer.OPEN:
            return self._let_in()
        wait = self._door.waits(address, self._clock())
        words = {
            Answer.WRONG: "That is not the code.",
            Answer.WAIT: "Too soon: that one was not looked at.",
        }[answer]
        more = f" Try again in {wait:.0f} s." if wait else ""
        page = self._page(request, "code.html", {"said": words + more})
        page.set_status(429 if answer is Answer.WAIT else 403)
        return page

    def _let_in(self) -> web.StreamResponse:
        """Return the way in, with a ticket."""
        ticket = secrets.token_urlsafe(24)
        self._guests = self._guests.admit(ticket)
        response = _home()
        response.set_cookie(COOKIE, ticket, httponly=True, samesite="Strict")
        return response

    async def _seat(self, request: web.Request) -> web.StreamResponse:
        """Take a seat."""
        ticket = self._ticket(request)
        wanted = str((await form(request)).get("seat", ""))
        if ticket is None or wanted not in self._seats:
            return _home()
        seated = self._guests.sit(ticket, wanted)
        if seated is None:
            return self._choice(request, said="Somebody plays there. Choose another seat.")
        self._guests = seated
        return _home()

    async def handle_websocket(self, request: web.Request) -> web.WebSocketResponse:
        """Run the app for one browser until it goes."""
        ticket = self._ticket(request)
        begun = None if ticket is None else self._seated(ticket).begin(ticket)
        if ticket is None or begun is None:
            raise web.HTTPForbidden(text="no seat, or no room\n")
        self._guests = begun
        seat = self._seats[self._guests.seats[ticket] or ""]
        socket = web.WebSocketResponse(heartbeat=15, max_msg_size=MESSAGE_BYTES)
        sitting = Sitting(self._words, seat.own, socket, self.download_manager, seat.name)
        try:
            await socket.prepare(request)
            await sitting.start(*size(request))
            await obey(socket, sitting)
        finally:
            # The seat is free only when its process has let go of the log.
            leaving = asyncio.create_task(self._leave(ticket, sitting))
            self._leaving.add(leaving)
            leaving.add_done_callback(self._leaving.discard)
            await asyncio.shield(leaving)
        return socket

    def _seated(self, ticket: str) -> Guests:
        """Return the guests with a seat for `ticket`: the one that was chosen, or any where nobody chooses."""
        guests = self._guests
        free = next((seat for seat in self._seats if seat not in guests.taken), None)
        return guests if self._asks or free is None else guests.sit(ticket, free) or guests

    async def _leave(self, ticket: str, sitting: Sitting) -> None:
        await sitting.stop()
        self._guests = self._guests.end(ticket)

    async def _all_left(self, _: web.Application) -> None:
        """Wait for processes that are still ending: requests are broken off when the server ends, these must not be."""
        await asyncio.gather(*self._leaving)

    def _ticket(self, request: web.Request) -> str | None:
        ticket = request.cookies.get(COOKIE)
        return ticket if ticket in self._guests.seats else None

    def _choice(self, request: web.Request, said: str) -> web.Response:
        taken = self._guests.taken
        seats = [(seat, seat.id in taken) for seat in self._seats.values()]
        return self._page(request, "seats.html", {"seats": seats, "said": said})

    @staticmethod
    def _page(request: web.Request, name: str, context: dict[str, Any]) -> web.Response:
        scheme = "wss" if request.scheme == "https" else "ws"
        return aiohttp_jinja2.render_template(name, request, {**context, "socket": f"{scheme}://{request.host}/ws"})


def _home() -> web.Response:
    return web.Response(status=303, headers={"Location": "/"})
