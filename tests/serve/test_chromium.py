"""Twelve real browsers at once, each on its seat: presses end up in the log of that seat, marked as from there."""

from __future__ import annotations

import asyncio
import json
import os
import re
import signal
import socket
import sys
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from urllib.parse import urlsplit

from tests.serve.browser import Chromium, Page, chromium
from tests.system import require
from trainer.log.history import reading

BROWSERS = 12
PATIENCE_S = 120.0
"""Longer than anything takes on a machine that is busy with other things."""
LOADED = "document.body.classList.contains('-first-byte')"


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@asynccontextmanager
async def serving(home: Path, *words: str) -> AsyncIterator[tuple[asyncio.subprocess.Process, str, str | None]]:
    """Run `changeover serve`; yield its process, its address and its code."""
    process = await asyncio.create_subprocess_exec(
        sys.executable,
        "-m",
        "trainer.cli",
        "serve",
        "first-change",
        "--port",
        str(free_port()),
        *words,
        env={**os.environ, "CHANGEOVER_HOME": str(home)},
        stdout=asyncio.subprocess.PIPE,
    )
    assert process.stdout is not None
    told = ""
    while "Ctrl+C" not in told:
        line = (await asyncio.wait_for(process.stdout.readline(), PATIENCE_S)).decode()
        assert line, told
        told += line
    address = re.search(r"http://\S+", told)
    code = re.search(r"Code: (\w+)", told)
    assert address
    try:
        yield process, address[0], code[1] if code else None
    finally:
        if process.returncode is None:
            process.terminate()
        await process.wait()


async def come_in(browser: Chromium, address: str, code: str | None, seat: int) -> Page:
    page = await browser.page(address)
    await page.until("document.querySelector('#code') !== null")
    await page.value(f"document.querySelector('#code').value = '{code}'; document.querySelector('form').submit()")
    await page.until("document.querySelector('.seats') !== null")
    await page.value(f"document.querySelectorAll('.seats button')[{seat - 1}].click()")
    await page.until(LOADED)
    await page.in_front()
    return page


async def settled(page: Page) -> bytes:
    """Wait until the page shows the same picture twice; return it."""
    last = b""
    async with asyncio.timeout(PATIENCE_S):
        while (picture := await page.picture()) != last:
            last = picture
            await asyncio.sleep(0.3)
    return last


async def change(page: Page, log: Path, number: int) -> None:
    """Press once the page stands still, and again when it shows something else; wait until the log has the change."""
    before = await settled(page)
    await page.press("Space")
    async with asyncio.timeout(PATIENCE_S):
        while await page.picture() == before:
            await asyncio.sleep(0.02)
        await page.press("Space")
        while landed(log) < number:
            await asyncio.sleep(0.02)


def landed(log: Path) -> int:
    """Return how many changes a log has."""
    with reading(log) as history:
        return sum(summary.count for summary in history.summaries())


async def attempts(home: Path) -> list[dict[str, object]]:
    process = await asyncio.create_subprocess_exec(
        sys.executable,
        "-m",
        "trainer.cli",
        "progress",
        "--json",
        env={**os.environ, "CHANGEOVER_HOME": str(home)},
        stdout=asyncio.subprocess.PIPE,
    )
    out, _ = await process.communicate()
    assert process.returncode == 0
    return [attempt for change in json.loads(out)["changes"] for attempt in change["attempts"]]


async def test_twelve_browsers_each_with_a_log_of_its_own(tmp_path: Path) -> None:
    require("chromium", "chromium")
    home = tmp_path / "home"
    for seat in range(1, BROWSERS + 1):
        folder = home / "data" / "seats" / str(seat)
        folder.mkdir(parents=True)
        # However soon one press follows another on a busy machine, it is no key held down.
        (folder / "settings.toml").write_text('mode = "presses"\nrepeat_ms = 0\n')
    async with (
        serving(home, "--host", "0.0.0.0", "--seats", str(BROWSERS)) as (process, address, code),
        chromium(tmp_path / "chromium") as browser,
    ):
        assert code is not None
        pages = [await come_in(browser, address, code, seat) for seat in range(1, BROWSERS + 1)]

        async def play(seat: int, page: Page) -> None:
            """Play two, three or one change on a seat, whose app has begun once it has a log."""
            log = home / "data" / "seats" / str(seat) / "data" / "practice.sqlite3"
            async with asyncio.timeout(PATIENCE_S):
                while not log.exists():
                    await asyncio.sleep(0.02)
            for number in range(1, 2 + seat % 3):
                await change(page, log, number)

        await asyncio.gather(*(play(seat, page) for seat, page in enumerate(pages, 1)))
        places = {urlsplit(asked).netloc for asked in browser.asked if not asked.startswith("data:")}
        assert places == {urlsplit(address).netloc}
        process.terminate()
        assert await asyncio.wait_for(process.wait(), PATIENCE_S) == 0
    homes = [home / "data" / "seats" / str(seat) for seat in range(1, BROWSERS + 1)]
    for seat, logged in enumerate(await asyncio.gather(*map(attempts, homes)), 1):
        assert len(logged) == 1 + seat % 3, f"seat {seat}"
        assert {one["source"] for one in logged} == {"browser"}
    assert not (home / "data" / "practice.sqlite3").exists()


async def test_a_killed_server_leaves_no_process_behind(tmp_path: Path) -> None:
    require("chromium", "chromium")
    async with (
        serving(tmp_path / "home") as (process, address, _),
        chromium(tmp_path / "chromium") as browser,
    ):
        page = await browser.page(address)
        await page.until(LOADED)
        children = Path(f"/proc/{process.pid}/task/{process.pid}/children").read_text().split()
        assert children
        process.send_signal(signal.SIGKILL)
        await process.wait()
        async with asyncio.timeout(PATIENCE_S):
            while any(running(child) for child in children):
                await asyncio.sleep(0.05)


def running(pid: str) -> bool:
    """Tell whether a process runs; one that ended and waits to be asked how does not."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"
    except OSError:
        return False
