"""Takes through files: what is found in real playing, and how long a take takes to grade and to keep.

Run `python tests/bench/bench_takes.py [TAKE.json …]` from the top of the repository; further takes of the kind in
tests/data/takes may be named. Each is written by mido as another program would write it, and graded from that file.
Times are processor time of this one process, so that a busy machine tells much the same as an idle one.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable, Iterable
from io import BytesIO
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.listen.building import BLOCKS
from tests.listen.player import Habits
from tests.listen.sending import GUITAR, played
from tests.listen.takes import TAKES, as_midi, folded_drill, played_drill, read_take, report, strums
from trainer.listen.ear import Ear
from trainer.listen.entries import Entry, Message, on_grid
from trainer.listen.take import TakeWriter, grade, parse_take

HOUR_S = 3600
BENDS_S = 0.02
"""Between two bends of a guitar that never stops to send them."""
WAYS: tuple[tuple[str, dict[str, Any]], ...] = (
    ("a channel a string", {"channels": {string: string for string in range(1, 7)}}),
    ("the other way round", {"channels": {string: 17 - string for string in range(1, 7)}}),
    ("a track a string", {"tracks": True}),
    ("one channel", {}),
)


def found(paths: list[Path]) -> None:
    print("changes found within 20 ms, landings beside, distance from the last annotated onset\n")
    for path in paths:
        notes = read_take(path)
        every = strums(notes)
        folded_into, folded = folded_drill(every, path.stem)
        for what, drill, steps in (("strums", played_drill(every, path.stem), every), ("shapes", folded_into, folded)):
            for name, way in WAYS:
                take = parse_take(as_midi(notes, **way), path.stem, drill)
                heard = report(steps, grade(take, drill))
                print(
                    f"{path.stem:18} {what:8} {name:20} {heard.found:4} of {heard.changes:4}, {heard.extra} beside, "
                    f"median {1000 * heard.median_s:.2f} ms, worst {1000 * heard.worst_s:.1f} ms"
                )


def hour(bends: bool) -> tuple[Entry, ...]:
    """Return an hour of playing; with `bends` each string sends one every 20 ms."""
    stream = played(BLOCKS, round(HOUR_S / 2), 1, Habits(calibrated=False))
    if bends:
        count = round(HOUR_S / BENDS_S)
        stream += [(n * BENDS_S, bytes((0xE0 | n % 6, n % 5, 64))) for n in range(count)]
        stream.sort(key=lambda message: message[0])
    at = 0.0
    entries: list[Entry] = []
    for moment, data in stream:
        at = max(at, on_grid(moment))
        entries.append(Message(at, data))
    return tuple(entries)


def graded(name: str, entries: tuple[Entry, ...]) -> None:
    file = BytesIO()
    writer = TakeWriter(file, GUITAR, BLOCKS.title)
    for entry in entries:
        writer.keep(entry)
    data = file.getvalue()
    read_s, take = _took(lambda: parse_take(data, name, BLOCKS))
    grade_s, changes = _took(lambda: grade(take, BLOCKS))
    print(
        f"1 h take, {name}: {len(entries)} messages, {len(data) / 1000:.0f} kB, {len(changes)} changes: "
        f"read {read_s:.2f} s + graded {grade_s:.2f} s = {read_s + grade_s:.2f} s (aim 2 s)"
    )


def one_by_one(entries: tuple[Entry, ...]) -> None:
    ear = Ear(BLOCKS, GUITAR)
    each: list[float] = []
    landing: list[float] = []
    for entry in entries:
        if isinstance(entry, Message):
            began = time.process_time()
            heard = ear.hear(entry.at, entry.data)
            spent = time.process_time() - began
            each.append(spent)
            if heard.changes:
                landing.append(spent)
    _times("a message from the queue through the ear", each)
    _times("a message that lands a change, to the graded change", landing)


def kept(entries: Iterable[Entry]) -> None:
    with tempfile.TemporaryDirectory() as folder, (Path(folder) / "take.mid").open("xb", buffering=0) as file:
        writer = TakeWriter(file, GUITAR, BLOCKS.title)
        each: list[float] = []
        for entry in entries:
            began = time.process_time()
            writer.keep(entry)
            each.append(time.process_time() - began)
    _times("an entry kept in a file that is whole after it", each)


def _took(work: Callable[[], Any]) -> tuple[float, Any]:
    began = time.process_time()
    result = work()
    return time.process_time() - began, result


def _times(what: str, spent: list[float]) -> None:
    ordered = sorted(spent)
    mean, late = sum(ordered) / len(ordered), ordered[int(0.99 * len(ordered))]
    print(f"{what}: {1e6 * mean:.0f} us mean, {1e6 * late:.0f} us at the 99th percentile (aim 200 us)")


if __name__ == "__main__":
    found([*sorted(TAKES.glob("*.events.json")), *(Path(argument) for argument in sys.argv[1:])])
    print("\nspeed")
    plain = hour(bends=False)
    graded("notes alone", plain)
    graded("bends without end", hour(bends=True))
    one_by_one(plain)
    kept(plain)
