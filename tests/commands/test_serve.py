"""`changeover serve`: what it refuses before it serves. Serving itself is tested in tests/serve."""

from __future__ import annotations

import socket

import pytest

from trainer import cli


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--host", "0.0.0.0"], "--seats 12"),
        (["no-such-drill"], "no-such-drill"),
        (["--port", "70000"], "port from 1 to 65535"),
        (["--port", "x"], "port from 1 to 65535"),
        (["--seats", "41"], "from 1 to 40"),
        (["--sessions", "0"], "from 1 to 40"),
        (["--host", "no.such.host.invalid", "--seats", "2"], "cannot serve at no.such.host.invalid"),
    ],
)
def test_bad_input_is_one_line(words: list[str], says: str, capsys: pytest.CaptureFixture[str]) -> None:
    try:
        code: object = cli.main(["serve", *words])
    except SystemExit as left:
        code = left.code
    assert code == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert says in err
    assert err.count("\n") == 1


def test_a_port_that_is_taken(capsys: pytest.CaptureFixture[str]) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        assert cli.main(["serve", "--host", "127.0.0.1", "--port", str(port)]) == 2
    assert f"port {port}" in capsys.readouterr().err
