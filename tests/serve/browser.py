"""A real chromium without a window, driven by its DevTools protocol: contexts that share nothing, keys, pictures."""

from __future__ import annotations

import asyncio
import base64
import json
import shutil
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from itertools import count
from pathlib import Path
from typing import Any

import aiohttp

CHROMIUM = shutil.which("chromium")
_GAVE_WAY = ("navigated", "context was destroyed", "Cannot find context", "Cannot find default execution context")
"""Parts of what DevTools says where the page that was asked is on its way out."""


@dataclass
class Chromium:
    """A running browser."""

    socket: aiohttp.ClientWebSocketResponse
    numbers: count[int] = field(default_factory=lambda: count(1))
    waiting: dict[int, asyncio.Future[dict[str, Any]]] = field(default_factory=dict)
    asked: list[str] = field(default_factory=list)
    """Every address that any page asked for."""

    async def ask(self, method: str, session: str | None = None, **given: object) -> dict[str, Any]:
        number = next(self.numbers)
        self.waiting[number] = asyncio.get_running_loop().create_future()
        message = {"id": number, "method": method, "params": given}
        await self.socket.send_json(message if session is None else {**message, "sessionId": session})
        return await asyncio.wait_for(self.waiting[number], 120)

    async def listen(self) -> None:
        async for message in self.socket:
            said = json.loads(message.data)
            if said.get("method") == "Network.requestWillBeSent":
                self.asked.append(said["params"]["request"]["url"])
            if "id" in said:
                future = self.waiting.pop(said["id"])
                if "error" in said:
                    future.set_exception(RuntimeError(str(said["error"])))
                else:
                    future.set_result(said["result"])

    async def page(self, address: str, width: int = 1000, height: int = 600) -> Page:
        """Return a page in a context of its own: no cookie is shared."""
        context = (await self.ask("Target.createBrowserContext"))["browserContextId"]
        target = await self.ask(
            "Target.createTarget", url="about:blank", browserContextId=context, width=width, height=height
        )
        session = (await self.ask("Target.attachToTarget", targetId=target["targetId"], flatten=True))["sessionId"]
        page = Page(self, session, target["targetId"])
        await self.ask("Network.enable", session)
        await self.ask("Page.enable", session)
        await self.ask("Page.navigate", session, url=address)
        return page


@dataclass
class Page:
    browser: Chromium
    session: str
    target: str

    async def value(self, script: str) -> Any:
        """Return what `script` comes to; None where the page gave way to another one before it could say."""
        try:
            result = await self.browser.ask("Runtime.evaluate", self.session, expression=script, returnByValue=True)
        except RuntimeError as error:
            if not any(words in str(error) for words in _GAVE_WAY):
                raise
            return None
        return result["result"].get("value")

    async def until(self, script: str, seconds: float = 120) -> None:
        """Wait until `script` is true on the page."""
        async with asyncio.timeout(seconds):
            while not await self.value(script):
                await asyncio.sleep(0.1)

    async def in_front(self) -> None:
        """Let the page believe that it is the one in front; where its keys go is its own affair."""
        await self.browser.ask("Emulation.setFocusEmulationEnabled", self.session, enabled=True)

    async def press(self, key: str) -> None:
        text = {"Space": " "}.get(key, key)
        name = {"key": text, "code": key, "text": text, "windowsVirtualKeyCode": ord(text.upper())}
        await self.browser.ask("Input.dispatchKeyEvent", self.session, type="keyDown", **name)
        await self.browser.ask("Input.dispatchKeyEvent", self.session, type="keyUp", **name)

    async def picture(self) -> bytes:
        return base64.b64decode((await self.browser.ask("Page.captureScreenshot", self.session))["data"])

    async def close(self) -> None:
        await self.browser.ask("Target.closeTarget", targetId=self.target)


@asynccontextmanager
async def chromium(folder: Path) -> AsyncIterator[Chromium]:
    assert CHROMIUM is not None
    process = await asyncio.create_subprocess_exec(
        CHROMIUM,
        "--headless",
        "--no-sandbox",
        "--disable-gpu",
        "--disable-dev-shm-usage",
        "--no-first-run",
        "--remote-debugging-port=0",
        f"--user-data-dir={folder}",
        stdout=asyncio.subprocess.DEVNULL,
        stderr=asyncio.subprocess.DEVNULL,
    )
    try:
        said = folder / "DevToolsActivePort"
        async with asyncio.timeout(120):
            while not said.is_file() or len(said.read_text().splitlines()) < 2:
                await asyncio.sleep(0.05)
        port, path = said.read_text().splitlines()
        async with (
            aiohttp.ClientSession() as session,
            session.ws_connect(f"ws://127.0.0.1:{port}{path}", max_msg_size=0) as socket,
        ):
            browser = Chromium(socket)
            listening = asyncio.create_task(browser.listen())
            yield browser
            listening.cancel()
    finally:
        process.terminate()
        await process.wait()
