"""How the measures of heard changes are written and read: one row each, its fingers and its odd notes beside it."""

from __future__ import annotations

import json
import sqlite3
from typing import TYPE_CHECKING, Any

from trainer.log import rows
from trainer.log.rows import COUNT, MAYBE_COUNT, MAYBE_REAL, MAYBE_TEXT, TEXT
from trainer.practice.measures import NUMBERS, Answer, Direction, Measures

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

_NUMBERS = tuple(name for name in NUMBERS if name != "change_ms")
"""Columns of the measures; the change time stands with the attempt."""
_COLUMNS = ("attempt", "guitar", "expected", "direction", *_NUMBERS)
_FINGERS = {"kept": "kept_down", "guide": "guides"}
"""What was asked of a finger, and the attribute that holds the answers."""

# Constant text: nothing of it comes from outside.
_INSERT = f"INSERT INTO measures ({', '.join(_COLUMNS)}) VALUES ({', '.join('?' * len(_COLUMNS))})"  # noqa: S608
_OF_ATTEMPTS = f"""
    SELECT m.attempt, g.device, g.calibration, m.expected, m.direction, a.change_ms, {", ".join(f"m.{name}" for name in _NUMBERS)}
    FROM json_each(?) AS asked JOIN measures AS m ON m.attempt = asked.value
    JOIN attempts AS a ON a.n = m.attempt JOIN guitars AS g ON g.n = m.guitar"""  # noqa: E501, S608
_MEASURES: rows.Shape = (COUNT, TEXT, TEXT, COUNT, MAYBE_TEXT, MAYBE_REAL, *(MAYBE_REAL for _ in _NUMBERS))
_OF_FINGERS = """
    SELECT f.attempt, f.asked, f.finger, f.answer
    FROM json_each(?) AS asked JOIN fingers AS f ON f.attempt = asked.value ORDER BY f.attempt, f.asked, f.finger"""
_OF_NOTES = """
    SELECT n.attempt, n.what, n.string, n.midi
    FROM json_each(?) AS asked JOIN notes AS n ON n.attempt = asked.value ORDER BY n.attempt, n.what, n.place"""


def write(connection: sqlite3.Connection, attempt: int, measures: Measures) -> None:
    """Write the measures of the attempt with number `attempt`, in place of those that are there."""
    connection.execute("DELETE FROM measures WHERE attempt = ?", (attempt,))
    guitar = _guitar(connection, measures)
    numbers = (getattr(measures, name) for name in _NUMBERS)
    connection.execute(_INSERT, (attempt, guitar, measures.expected, measures.direction, *numbers))
    connection.executemany(
        "INSERT INTO fingers (attempt, asked, finger, answer) VALUES (?, ?, ?, ?)",
        (
            (attempt, asked, finger, answer)
            for asked, attribute in _FINGERS.items()
            for finger, answer in getattr(measures, attribute).items()
        ),
    )
    connection.executemany(
        "INSERT INTO notes (attempt, what, place, string, midi) VALUES (?, ?, ?, ?, ?)",
        ((attempt, *note) for note in _odd_notes(measures)),
    )


def kept(connection: sqlite3.Connection, attempt: int) -> tuple[int, int, int]:
    """Return of one attempt whether it is measured (1 or 0), how many fingers stayed down, and of how many it is known.

    The same as `Measures.kept`, for what stands in the log.
    """
    found: tuple[int, int, int] = connection.execute(
        "SELECT (SELECT count(*) FROM measures WHERE attempt = :n), count(*) FILTER (WHERE answer = 'yes'),"
        " count(*) FILTER (WHERE answer <> 'not heard') FROM fingers WHERE attempt = :n AND asked = 'kept'",
        {"n": attempt},
    ).fetchone()
    return found


def read(connection: sqlite3.Connection, attempts: Sequence[int]) -> dict[int, Measures]:
    """Return the measures of the attempts with these numbers, those that have any, by number."""
    numbers = json.dumps(attempts)
    found = [rows.sound(row, _MEASURES) for row in connection.execute(_OF_ATTEMPTS, (numbers,))]
    if not found:
        return {}
    fingers = _grouped(connection.execute(_OF_FINGERS, (numbers,)), (COUNT, TEXT, COUNT, TEXT))
    notes = _grouped(connection.execute(_OF_NOTES, (numbers,)), (COUNT, TEXT, MAYBE_COUNT, COUNT))
    return {row[0]: _measures(row[1:], fingers.get(row[0], {}), notes.get(row[0], {})) for row in found}


def _measures(
    row: rows.Row, fingers: Mapping[str, list[tuple[Any, Any]]], notes: Mapping[str, list[tuple[Any, Any]]]
) -> Measures:
    device, calibration, expected, direction, change_ms, *numbers = row
    told: dict[str, Any] = dict(zip(_NUMBERS, numbers, strict=True))
    for asked, attribute in _FINGERS.items():
        told[attribute] = {finger: rows.one_of(Answer, answer) for finger, answer in fingers.get(asked, ())}
    return Measures(
        device,
        calibration,
        bool(expected),
        change_ms=change_ms,
        direction=None if direction is None else rows.one_of(Direction, direction),
        wrong=tuple(midi for _, midi in notes.get("wrong", ())),
        octaves=tuple(notes.get("octave", ())),
        missing=tuple(notes.get("missing", ())),
        **told,
    )


def _grouped(cursor: Iterable[rows.Row], shape: rows.Shape) -> dict[int, dict[str, list[tuple[Any, Any]]]]:
    """Return rows of (attempt, word, one, other) as pairs by attempt and word, in the order they come."""
    found: dict[int, dict[str, list[tuple[Any, Any]]]] = {}
    for row in cursor:
        attempt, word, *pair = rows.sound(row, shape)
        found.setdefault(attempt, {}).setdefault(word, []).append((pair[0], pair[1]))
    return found


def _odd_notes(measures: Measures) -> Iterator[tuple[str, int, int | None, int]]:
    """Yield what was wrong with each odd note, its place among its kind, its string and itself."""
    for place, midi in enumerate(measures.wrong):
        yield "wrong", place, None, midi
    for what, notes in (("octave", measures.octaves), ("missing", measures.missing)):
        for place, (string, midi) in enumerate(notes):
            yield what, place, string, midi


def _guitar(connection: sqlite3.Connection, measures: Measures) -> int:
    """Return the number of what it was heard from, which is entered where it is new."""
    values = (measures.device, measures.calibration)
    found = connection.execute("SELECT n FROM guitars WHERE device = ? AND calibration = ?", values).fetchone()
    if found is None:
        found = connection.execute(
            "INSERT INTO guitars (device, calibration) VALUES (?, ?) RETURNING n", values
        ).fetchone()
    return int(found[0])
