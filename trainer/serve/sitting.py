"""One browser's process of the app, as textual-serve runs it, with what a room needs besides.

The process gets its own environment and no shell; what it writes to standard error reaches the teacher's terminal as
plain text; when the browser goes it is asked to end, and ended where it does not.
"""

from __future__ import annotations

import asyncio
import contextlib
import sys
from asyncio.subprocess import PIPE, Process
from typing import TYPE_CHECKING

from textual_serve.app_service import AppService

from trainer.errors import plain

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable, Mapping, Sequence

    from aiohttp.web import WebSocketResponse
    from textual_serve.download_manager import DownloadManager

PATIENCE_S = 5.0
"""How long a process that was asked to end may take, in seconds: longer than it waits for a locked log."""
SIZES = {"width": (20, 400), "height": (5, 200)}
"""Bounds of a terminal, in cells: a browser may say anything, and a screen of a million cells is all it would take."""


class Sitting(AppService):
    """The app in one browser."""

    def __init__(
        self,
        words: Sequence[str],
        own: Mapping[str, str],
        socket: WebSocketResponse,
        downloads: DownloadManager,
        name: str,
    ) -> None:
        """Prepare to run `words` with the variables `own` for the browser behind `socket`; `name` is for messages."""
        super().__init__(
            " ".join(words),
            write_bytes=socket.send_bytes,
            write_str=socket.send_str,
            close=closing(socket),
            download_manager=downloads,
        )
        self._words = tuple(words)
        self._own = dict(own)
        self._name = name
        self._telling: asyncio.Task[None] | None = None

    async def _open_app_process(self, width: int = 80, height: int = 24) -> Process:
        """Start the process without a shell between, and tell what it says on standard error."""
        environment = {**self._build_environment(*bounded(width, height)), **self._own}
        process = await asyncio.create_subprocess_exec(
            *self._words, stdin=PIPE, stdout=PIPE, stderr=PIPE, env=environment, start_new_session=True
        )
        self._process, self._stdin = process, process.stdin
        assert process.stderr is not None  # noqa: S101  # it was asked for
        self._telling = asyncio.create_task(self._tell(process.stderr))
        # The library would write what it reads there to our terminal as it comes, control codes and all.
        process.stderr = asyncio.StreamReader()
        process.stderr.feed_eof()
        return process

    async def _tell(self, errors: asyncio.StreamReader) -> None:
        with contextlib.suppress(ValueError):  # a line without end
            async for line in errors:
                sys.stderr.write(f"{self._name}: {plain(line.decode('utf-8', 'replace')).strip()}\n")

    async def set_terminal_size(self, width: int, height: int) -> None:
        """Tell the process its size, within bounds."""
        await super().set_terminal_size(*bounded(width, height))

    async def stop(self) -> None:
        """Ask the process to end; end it where it does not."""
        process, self._process = self._process, None
        if process is None:
            return
        with contextlib.suppress(TimeoutError):
            async with asyncio.timeout(PATIENCE_S):
                await super().stop()
                await process.wait()
        if process.returncode is None:
            process.kill()
            await process.wait()
        if self._telling is not None:
            await self._telling
        # Its pipes may still be open on our side, and asyncio has no public word for closing them.
        process._transport.close()  # type: ignore[attr-defined]


def bounded(width: object, height: object) -> tuple[int, int]:
    """Return a terminal's size within `SIZES`; what is no whole number counts as the least."""
    said = {"width": width, "height": height}
    sides = {
        name: min(max(side, least), most) if isinstance(side := said[name], int) else least
        for name, (least, most) in SIZES.items()
    }
    return sides["width"], sides["height"]


def closing(socket: WebSocketResponse) -> Callable[[], Awaitable[None]]:
    """Return what closes a socket and has nothing more to say of it."""

    async def close() -> None:
        await socket.close()

    return close
