"""From a part of a name to a port: those that are there, and those that are known and not there yet."""

from __future__ import annotations

from pathlib import Path

import pytest

from trainer.commands.port import port_key
from trainer.errors import ChangeoverError
from trainer.files import paths
from trainer.files.guitars import Guitar, save
from trainer.listen import ports
from trainer.listen.names import Port

KNOWN = "Demo guitar:strings"


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(paths.HOME, str(tmp_path))
    monkeypatch.setattr(ports, "missing", lambda: None)
    there(monkeypatch)
    save(paths.guitars_file(), KNOWN, Guitar())


def there(monkeypatch: pytest.MonkeyPatch, *keys: str) -> None:
    monkeypatch.setattr(ports, "port_names", lambda: tuple(Port(key, key) for key in keys))


@pytest.mark.parametrize(
    ("keys", "wanted", "found"),
    [
        ((), "demo", KNOWN),
        ((), KNOWN, KNOWN),
        ((), "another", "another"),
        ((), None, None),
        (("Second demo:out",), "demo", "Second demo:out"),
        (("Midi Through:0", "Second:out"), None, "Second:out"),
    ],
)
def test_a_part_of_a_name_is_enough(
    monkeypatch: pytest.MonkeyPatch, keys: tuple[str, ...], wanted: str | None, found: str | None
) -> None:
    there(monkeypatch, *keys)
    assert port_key(wanted) == found


def test_where_several_fit_they_are_named(monkeypatch: pytest.MonkeyPatch) -> None:
    there(monkeypatch, "One:out", "Two:out")
    with pytest.raises(ChangeoverError, match="One:out; Two:out"):
        port_key("out")
