"""The server against real requests and real processes: who comes in, what is refused, what ends."""

from __future__ import annotations

import asyncio
import json
import logging
import os
import sys
from collections.abc import AsyncIterator, Awaitable, Callable, Sequence
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

import pytest
from aiohttp import ClientWebSocketResponse, WSMsgType, WSServerHandshakeError
from aiohttp.test_utils import TestClient, TestServer
from hypothesis import given
from hypothesis import strategies as st

from trainer.serve import sitting as sitting_module
from trainer.serve.complaints import LONGEST_LINE, OneLine
from trainer.serve.door import FREE, HOLD_S, Door
from trainer.serve.guests import Seat
from trainer.serve.received import FORM_BYTES, MESSAGE_BYTES
from trainer.serve.server import SeatServer
from trainer.serve.sitting import SIZES, bounded

ECHO = str(Path(__file__).parent / "echo.py")
CODE = "KMPQRT"
SEATS = (Seat("s1", "Seat 1", {"SEAT": "one"}), Seat("s2", "<b>Seat 2</b>", {"SEAT": "two"}))


class Clock:
    now = 0.0

    def __call__(self) -> float:
        return self.now


async def at_once(_: float) -> None:
    """Hold nothing."""


@asynccontextmanager
async def serving(
    habit: str = "",
    *,
    door: Door | None = None,
    seats: Sequence[Seat] = SEATS,
    sessions: int = 9,
    clock: Clock | None = None,
    hold: Callable[[float], Awaitable[None]] = at_once,
    more: Sequence[str] = (),
) -> AsyncIterator[TestClient[Any, Any]]:
    made = SeatServer(
        [sys.executable, ECHO, habit, *more],
        seats,
        door=door,
        sessions=sessions,
        host="localhost",
        port=0,
        clock=clock or Clock(),
        hold=hold,
    )
    async with TestClient(TestServer(await made._make_app(), host="127.0.0.1")) as client:
        yield client


def origin(client: TestClient[Any, Any]) -> dict[str, str]:
    return {"Origin": str(client.make_url("")).rstrip("/")}


async def post(client: TestClient[Any, Any], path: str, **form: str) -> tuple[int, str]:
    async with client.post(path, data=form, headers=origin(client)) as answer:
        return answer.status, await answer.text()


async def text(client: TestClient[Any, Any], path: str = "/") -> str:
    async with client.get(path) as answer:
        return await answer.text()


async def connect(client: TestClient[Any, Any], query: str = "") -> ClientWebSocketResponse:
    return await client.ws_connect(f"/ws{query}", headers=origin(client))


async def said(socket: ClientWebSocketResponse) -> Any:
    return json.loads((await asyncio.wait_for(socket.receive(), 10)).data)


async def gone(pid: int) -> None:
    async with asyncio.timeout(10):
        while Path(f"/proc/{pid}").exists():
            await asyncio.sleep(0.02)


async def test_without_a_class_the_page_is_there_at_once() -> None:
    async with serving(seats=[Seat("0", "this machine", {})]) as client:
        page = await text(client)
        assert f'data-session-websocket-url="ws://{client.server.host}:{client.server.port}/ws"' in page
        socket = await connect(client, "?width=97&height=31")
        told = await said(socket)
        assert (told["COLUMNS"], told["ROWS"]) == ("97", "31")
        assert told["TEXTUAL_DRIVER"] == "textual.drivers.web_driver:WebDriver"
        await socket.send_json(["stdin", "ä "])
        assert (await asyncio.wait_for(socket.receive(), 10)).data == "ä ".encode()
        await socket.close()
        await gone(told["pid"])


async def test_words_reach_the_process_as_they_are() -> None:
    """No shell reads them."""
    words = ["x 0 2/2", "$(touch here)", "; rm -rf nothing", "'"]
    async with serving(seats=[Seat("0", "this machine", {})], more=words) as client:
        await text(client)
        socket = await connect(client)
        assert (await said(socket))["words"][1:] == words
        await socket.close()


async def test_code_then_seat_then_the_app_with_the_seats_own_variables() -> None:
    async with serving(door=Door(CODE)) as client:
        assert "code" in await text(client)
        with pytest.raises(WSServerHandshakeError):
            await connect(client)
        assert (await post(client, "/code", code="nonsense"))[0] == 403
        status, page = await post(client, "/code", code="kmp qrt")
        assert status == 200
        assert "&lt;b&gt;Seat 2&lt;/b&gt;" in page
        with pytest.raises(WSServerHandshakeError):
            await connect(client)
        status, page = await post(client, "/seat", seat="s2")
        assert "textual-terminal" in page
        socket = await connect(client)
        assert (await said(socket))["SEAT"] == "two"
        await socket.close()


async def test_a_seat_somebody_plays_on_is_not_given_twice_and_free_again_after() -> None:
    async with serving() as client:
        await text(client)
        await post(client, "/seat", seat="s1")
        socket = await connect(client)
        told = await said(socket)
        with pytest.raises(WSServerHandshakeError):
            await connect(client)  # a second window
        client.session.cookie_jar.clear()
        page = await text(client)
        assert "Seat 1 · taken" in page
        assert "Somebody plays there" in (await post(client, "/seat", seat="s1"))[1]
        await socket.close()
        await gone(told["pid"])
        assert "textual-terminal" in (await post(client, "/seat", seat="s1"))[1]


async def test_no_more_browsers_than_the_limit() -> None:
    async with serving(seats=[Seat(str(each), "this machine", {}) for each in range(4)], sessions=2) as client:
        sockets = []
        for _ in range(2):
            client.session.cookie_jar.clear()
            await text(client)
            sockets.append(await connect(client))
            await said(sockets[-1])
        client.session.cookie_jar.clear()
        await text(client)
        with pytest.raises(WSServerHandshakeError) as refused:
            await connect(client)
        assert refused.value.status == 403
        for socket in sockets:
            await socket.close()


async def test_guessing_is_slowed() -> None:
    clock = Clock()
    async with serving(door=Door(CODE), clock=clock) as client:
        statuses = [(await post(client, "/code", code="nonsense"))[0] for _ in range(FREE + 2)]
        assert statuses == [403] * FREE + [429] * 2
        status, page = await post(client, "/code", code=CODE)
        assert status == 429
        assert "Try again in 1 s" in page
        clock.now = 1.0
        assert (await post(client, "/code", code=CODE))[0] == 200


async def test_wrong_codes_at_once_are_taken_one_after_the_other() -> None:
    """However many ask at the same time, from everywhere together."""
    held: list[float] = []
    inside = 0

    async def hold(seconds: float) -> None:
        nonlocal inside
        inside += 1
        held.append(seconds)
        assert inside == 1
        for _ in range(20):
            await asyncio.sleep(0)
        inside -= 1

    async with serving(door=Door(CODE), hold=hold) as client:
        await asyncio.gather(*(post(client, "/code", code="nonsense") for _ in range(8)))
    assert held == [HOLD_S] * 8


@pytest.mark.parametrize("host", ["evil.example", "evil.example:80", "localhost.evil.example", "10.0.0.7", "[::1"])
async def test_on_this_machine_no_other_name_is_served(host: str) -> None:
    """Or a page of another site could have its name point here: DNS rebinding."""
    async with serving() as client, client.get("/", headers={"Host": host}) as answer:
        assert answer.status == 403


@pytest.mark.parametrize("asked_by", [None, "http://evil.example", "null", "http://[", ""])
async def test_other_pages_ask_in_vain(asked_by: str | None) -> None:
    """RFC 6455, 10.2: a server that is not for every page looks at the origin."""
    headers = {} if asked_by is None else {"Origin": asked_by}
    async with serving(seats=[Seat("0", "this machine", {})]) as client:
        await text(client)
        with pytest.raises(WSServerHandshakeError) as refused:
            await client.ws_connect("/ws", headers=headers)
        assert refused.value.status == 403
        for path in ("/code", "/seat"):
            async with client.post(path, data={"seat": "0"}, headers=headers) as answer:
                assert answer.status == 403


@pytest.mark.parametrize(
    ("kind", "sent"),
    [
        ("multipart/form-data", b"x"),
        ("multipart/form-data; boundary=a", b"--a\r\nbad"),
        ("application/x-www-form-urlencoded; charset=none", b"code=x"),
        ("application/x-www-form-urlencoded", b"code=\xff"),
    ],
)
async def test_what_is_no_form_is_refused(kind: str, sent: bytes) -> None:
    """And is no fault of the server's, which would print where it happened on the teacher's terminal."""
    async with serving(door=Door(CODE)) as client:
        headers = {**origin(client), "Content-Type": kind}
        async with client.post("/code", data=sent, headers=headers) as answer:
            assert answer.status == 400


def test_what_went_wrong_is_one_plain_line() -> None:
    """What a browser sent may stand in it: no control code, no second line, no end without bound."""
    try:
        raise ValueError("\x1b[31mred\nagain" + "a" * 500)
    except ValueError:
        record = logging.LogRecord("any", logging.ERROR, "", 1, "from %s", ("here",), sys.exc_info())
    line = OneLine().format(record)
    assert line.startswith("from here: ValueError: ")
    assert len(line) == LONGEST_LINE
    assert line.isprintable()


async def test_every_answer_keeps_other_pages_out_and_nothing_is_fetched_from_elsewhere() -> None:
    async with serving(door=Door(CODE)) as client:
        for path in ("/", "/pages/serve.css", "/static/js/textual.js", "/nothing"):
            async with client.get(path) as answer:
                policy = answer.headers.get("Content-Security-Policy", "")
                assert answer.status == (404 if path == "/nothing" else 200)
                if path == "/":
                    assert "default-src 'self'" in policy
                    assert "frame-ancestors 'none'" in policy
                    assert answer.headers["Cache-Control"] == "no-store"
        await post(client, "/code", code=CODE)
        _, app = await post(client, "/seat", seat="s1")
        assert "//" not in app.replace("<!DOCTYPE", "").split("ws://")[0]


@pytest.mark.parametrize("path", ["/static/", "/static", "/pages/", "/static/../server.py", "/static/%2e%2e/server.py"])
async def test_no_folder_is_listed_and_nothing_above_is_read(path: str) -> None:
    async with serving() as client, client.get(path) as answer:
        assert answer.status in {403, 404}


@pytest.mark.parametrize("folder", ["/pages/", "/static/"])
async def test_a_name_too_long_for_any_file_is_no_fault_of_the_servers(folder: str) -> None:
    async with serving() as client, client.get(folder + "x" * 300) as answer:
        assert answer.status == 404


@pytest.mark.parametrize(
    "message",
    [
        "no json",
        "[]",
        "{}",
        "12",
        '["stdin"]',
        '["stdin", 5]',
        '["stdin", ["x"]]',
        '["resize", 5]',
        '["download", "x"]',
        '[["stdin"], "x"]',
        '["stdin", "' + "x" * MESSAGE_BYTES + '"]',
    ],
)
async def test_what_is_no_message_ends_the_connection_and_its_process(message: str) -> None:
    async with serving(seats=[Seat("0", "this machine", {})]) as client:
        await text(client)
        socket = await connect(client)
        told = await said(socket)
        await socket.send_str(message)
        async with asyncio.timeout(10):
            while (await socket.receive()).type not in {WSMsgType.CLOSE, WSMsgType.CLOSED, WSMsgType.ERROR}:
                pass
        await gone(told["pid"])


async def test_a_long_form_is_refused() -> None:
    async with serving(door=Door(CODE)) as client:
        assert (await post(client, "/code", code="x" * FORM_BYTES))[0] == 413


async def test_a_process_that_does_not_end_is_ended(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sitting_module, "PATIENCE_S", 0.2)
    async with serving("stays", seats=[Seat("0", "this machine", {})]) as client:
        await text(client)
        socket = await connect(client)
        told = await said(socket)
        await socket.close()
        await gone(told["pid"])


async def test_what_a_process_complains_of_is_told_as_plain_text(capfd: pytest.CaptureFixture[str]) -> None:
    async with serving("complains", seats=[Seat("0", "this machine", {})]) as client:
        await text(client)
        socket = await connect(client)
        told = await said(socket)
        await socket.close()
        await gone(told["pid"])
    err = capfd.readouterr().err
    assert err.startswith("this machine: ")
    assert "[bold]words[/]" in err
    assert "\x1b" not in err


async def test_when_the_server_ends_so_do_its_processes() -> None:
    async with serving(seats=[Seat("0", "this machine", {})]) as client:
        await text(client)
        pid = (await said(await connect(client)))["pid"]
        os.kill(pid, 0)
    assert not Path(f"/proc/{pid}").exists()


@given(st.none() | st.booleans() | st.integers() | st.floats() | st.text(), st.integers(-5, 10**9))
def test_sizes_are_bounded(width: object, height: int) -> None:
    columns, rows = bounded(width, height)
    assert SIZES["width"][0] <= columns <= SIZES["width"][1]
    assert SIZES["height"][0] <= rows <= SIZES["height"][1]
