"""Lists of a class: what goes out comes in again, and nothing hostile comes in at all."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from itertools import count
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.errors import ChangeoverError
from trainer.files import class_lists
from trainer.files.cells import guarded, unguarded
from trainer.practice.roster import Class, Seat

TRIO = Class("Tuesdays", (Seat("kwb", 1, "Window", "Six:strings"), Seat("trp", 2), Seat("zdm", 7, "Door")))
TAB, CR = "\t", "\r"


def ids() -> Callable[[], str]:
    numbers = count(1)
    return lambda: f"new{next(numbers)}"


def read(text: str | bytes, group: Class = TRIO) -> Class:
    data = text if isinstance(text, bytes) else text.encode()
    return class_lists.joined(group, class_lists.parse(data, "list.csv"), ids(), "list.csv")


def told(text: str | bytes, group: Class = TRIO) -> list[str]:
    with pytest.raises(ChangeoverError) as error:
        read(text, group)
    return [str(problem) for problem in error.value.problems]


# The signs are those of OWASP, CSV Injection, https://owasp.org/www-community/attacks/CSV_Injection
@pytest.mark.parametrize("sign", ["=", "+", "-", "@", TAB, CR])
def test_no_cell_starts_a_formula(sign: str) -> None:
    assert guarded(f"{sign}HYPERLINK(0)") == f"'{sign}HYPERLINK(0)"


@given(st.text(st.sampled_from("'=+-@\t\rab"), max_size=5) | st.text(max_size=20))
def test_the_guard_comes_off_again(text: str) -> None:
    assert unguarded(guarded(text)) == text
    assert not guarded(text).startswith(("=", "+", "-", "@", "\t", "\r"))


names = st.text(st.sampled_from("'=+-@ab,;\"' ") | st.characters(categories=("L", "N", "P", "S")), max_size=8)
seats = st.lists(
    st.builds(
        Seat,
        id=st.from_regex(r"[a-z][a-z0-9]{2,9}", fullmatch=True),
        number=st.integers(1, 40),
        name=st.none() | names.filter(lambda name: name.strip() and not name.strip().isdecimal()),
        port=st.none() | names.filter(str.strip),
    ),
    unique_by=(lambda seat: seat.number, lambda seat: seat.id),
    max_size=8,
)


@given(seats)
def test_a_list_goes_out_and_comes_in_unchanged(given_seats: list[Seat]) -> None:
    try:
        group = Class("Any", tuple(given_seats))
    except ChangeoverError:
        return  # two of one name
    text = class_lists.written(group)
    assert read(text, group) == group
    assert class_lists.written(read(text, Class("Any"))) == text
    # What a spreadsheet sees: as many rows as seats, no cell a formula.
    cells = list(csv.reader(io.StringIO(text, newline="")))
    assert len(cells) == 1 + len(group.seats)
    assert not any(cell.startswith(("=", "+", "-", "@", "\t", "\r")) for row in cells for cell in row)


def test_what_is_written() -> None:
    assert class_lists.written(TRIO.rename("trp", '=1+1, "x"')) == (
        'number,name,port\n1,Window,Six:strings\n2,"\'=1+1, ""x""",\n7,Door,\n'
    )


def test_seats_are_found_by_number_or_name_and_others_stay() -> None:
    group = read("name,number\nPillar,2\nStove,\ndoor,\n")
    assert [(seat.number, seat.id, seat.name) for seat in group.seats] == [
        (1, "kwb", "Window"),
        (2, "trp", "Pillar"),
        (3, "new1", "Stove"),
        (7, "zdm", "door"),
    ]
    assert group.seat("kwb").port == "Six:strings"


def test_a_bare_list_of_names_fills_a_new_class() -> None:
    group = read("Name\nStove\n\nDoor\n", Class("New"))
    assert [(seat.number, seat.name) for seat in group.seats] == [(1, "Stove"), (2, "Door")]


def test_an_empty_cell_says_nobody_and_a_missing_column_nothing() -> None:
    assert read("number,name\n1,\n").seat("kwb") == Seat("kwb", 1, None, "Six:strings")
    assert read("number,port\n1,\n").seat("kwb") == Seat("kwb", 1, "Window")


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_what_spreadsheets_write(encoding: str, separator: str, end: str) -> None:
    lines = (("Number", "Name", "", ""), ("1", "Åse, née Ø", "", ""), ("2", '"Door; left"', "", ""), ("", "", "", ""))
    text = end.join(separator.join(f'"{c}"' if "," in c else c for c in line) for line in lines)
    group = read(text.encode(encoding), Class("New"))
    assert [seat.name for seat in group.seats] == ["Åse, née Ø", "Door; left"]


ONE = "number,name\n"


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", "list.csv: is empty (the first line names the columns, of number, name, port)"),
        ("\n,,\n\n", "list.csv: is empty (the first line names the columns, of number, name, port)"),
        ("number,name\n1,Bj\xf8rn\n".encode("latin-1"), "list.csv:2: is not UTF-8 text (save it as CSV in UTF-8)"),
        ("number,name\n".encode("utf-16")[:-1], "list.csv:1: is not UTF-8 text (save it as CSV in UTF-8)"),
        (b"number,name\n1,a\0b\n", "list.csv:2: is no text (save it as CSV in UTF-8)"),
        (b"\x89PNG\r\n\x1a\n\0\0", "list.csv:1: is not UTF-8 text (save it as CSV in UTF-8)"),
        ("Stove\nDoor\n", "list.csv:1: has no column known as 'stove' (the first line names the columns, of number,"),
        ("number,nmae\n", "list.csv:1: has no column known as 'nmae' (did you mean 'name'?)"),
        ("number,name,name\n", "list.csv:1: has two columns 'name' (leave one of them out)"),
        ("port\nSix\n", "list.csv:1: has neither a column 'number' nor a column 'name' ("),
        (",".join(f"c{n}" for n in range(1000)), "list.csv:1: has no column known as 'c0' ("),
        (ONE + "1,a,b\n", "list.csv:2: has 3 cells under 2 heads (put a cell that holds a separator in double quotes)"),
        (ONE + ",\nx,y\n", "list.csv:3: number: 'x' is no number from 1 to 40"),
        (ONE + "0,y\n", "list.csv:2: number: '0' is no number from 1 to 40"),
        (ONE + "١,y\n", "list.csv:2: number: '١' is no number from 1 to 40"),
        (ONE + "9" * 5000 + ",y\n", "list.csv:2: number: '99999999999999999999' is no number from 1 to 40"),
        (ONE + "1,a\n1,b\n", "list.csv:3: seat 1 stands in line 2 too"),
        (ONE + "1,a\n2,A\n", "list.csv:3: name: two seats have the name 'A' (give each its own)"),
        (ONE + "2,door\n", "list.csv:2: name: two seats have the name 'door' (give each its own)"),
        (ONE + "2,a\x1b[2J\n", "list.csv:2: name: a name holds a control character (take it out)"),
        (ONE + '2,"a\nb"\n', "list.csv:2: name: a name holds a control character (take it out)"),
        (ONE + "2," + "n" * 61 + "\n", "list.csv:2: name: a name has at most 60 characters, not 61"),
        (ONE + "2," + "n" * 140_000 + "\n", "list.csv:2: cannot be read: field larger than field limit (131072) ("),
        (ONE + '2,"open\n', "list.csv:2: cannot be read: unexpected end of data (save it as CSV in UTF-8)"),
        (ONE + '2,"a"b\n', "list.csv:2: cannot be read: ',' expected after '\"' (save it as CSV in UTF-8)"),
        ("port,number\n" + "p" * 201 + ",2\n", "list.csv:2: port: a port's name has 1 to 200 characters"),
        ("port,number,name\nSix,,\n", "list.csv:2: says neither a number nor a name (take the line out)"),
        ("name\n" + "".join(f"n{n}\n" for n in range(41)), "list.csv:42: a class has at most 40 seats (begin a second"),
        ("name\n" + "".join(f"n{n}\n" for n in range(38)), "list.csv:39: a class has at most 40 seats (begin a second"),
    ],
    ids=lambda value: repr(value)[:30],
)
def test_what_is_wrong_is_told_with_its_line(text: str | bytes, expected: str) -> None:
    (line,) = told(text)
    assert line.startswith(expected)


def test_every_line_that_is_wrong_is_told() -> None:
    assert [line.partition(" ")[0] for line in told(ONE + "x,a\n2,b\n0,c\n")] == ["list.csv:2:", "list.csv:4:"]


@given(st.binary(max_size=200) | st.text(st.sampled_from("number,name;port\t\"\r\n='1"), max_size=60).map(str.encode))
def test_no_bytes_do_more_than_be_refused(data: bytes) -> None:
    try:
        group = read(data)
    except ChangeoverError:
        return
    assert {seat.id for seat in group.seats} >= {"kwb", "trp", "zdm"}


def test_what_is_no_list_is_not_opened(tmp_path: Path) -> None:
    import os

    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "huge").write_bytes(b"x" * (class_lists.MOST_BYTES + 1))
    for name, what in (
        ("pipe", "is not a file"),
        (".", "is not a file"),
        ("none", "cannot be read: there is no such file"),
        ("huge", "is larger than 256 KiB"),
        ("nul\0", "cannot be read"),
    ):
        with pytest.raises(ChangeoverError, match=what):
            class_lists.load(tmp_path / name)
