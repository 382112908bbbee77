"""`changeover drill --room`: what is refused before any screen opens, in one line."""

from __future__ import annotations

import pytest

from trainer import cli


@pytest.mark.parametrize("count", ["0", "41", "-1", "x", "1.5", "", "100000000000000000000"])
def test_a_number_of_seats_has_a_key_for_each(count: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        cli.main(["drill", "first-change", "--room", f"--seats={count}"])
    assert ended.value.code == 2
    told = capsys.readouterr().err
    assert f"'{count}' is not a number of seats from 1 to 40" in told


def test_seats_are_for_a_room(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["drill", "first-change", "--seats", "12"]) == 2
    assert capsys.readouterr().err.strip().splitlines() == [
        "changeover: --seats: seats are marked before a class (add --room)"
    ]
