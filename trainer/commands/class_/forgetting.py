"""A seat or a class forgotten, with all that it played."""

from __future__ import annotations

import argparse
import shutil
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from trainer.commands.class_.taking import tries_in
from trainer.commands.output import print_json
from trainer.counts import plural
from trainer.errors import ChangeoverError, plain, wrong
from trainer.files import atomic, classes, paths
from trainer.files.mentions import files, in_file, mentions_of, parts_of
from trainer.log import forgetting
from trainer.log.mending.swap import is_aside

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from trainer.files.mentions import Mentions
    from trainer.practice.roster import Class

_LOG = ".sqlite3"
"""How the name of a log ends."""
_SURE = "say so where you are sure; 'changeover class take' writes the log to a file first"


def add_forget(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of `forget`."""
    parser.add_argument(
        "seat", nargs="?", metavar="SEAT", help="its number, the name on it, or its id; left out: the whole class"
    )
    parser.add_argument("--yes", action="store_true", help="delete it; it cannot be brought back")


@dataclass(frozen=True, slots=True)
class _Lost:
    """What is to be forgotten."""

    ids: tuple[str, ...]
    """The seats' ids."""
    words: tuple[str, ...]
    """Names and ids that are not to be found in any file afterwards."""
    title: str
    """What to call it."""


def do_forget(options: argparse.Namespace) -> int:
    """Delete a seat, or a class, and all that it played; 1 where a name still stands somewhere afterwards."""
    path, group = classes.find(options.name)
    lost = _lost(group, options.seat)
    mentions = mentions_of(*lost.words)
    logs = [log for key in lost.ids if (log := paths.seat_log(key)).exists()]
    if not options.yes:
        what = f"{lost.title} and what was played there would be gone for good: {_gone(logs, mentions)}"
        raise wrong(what, key="--yes", hint=_SURE)
    for log in logs:
        if forgetting.in_use(log):
            raise wrong("somebody plays there", file=str(log), hint="close the app at that seat first")
    # The class comes last: whoever is stopped in the middle still finds the seat in it, to say it again.
    for key in lost.ids:
        _delete(paths.seat_dir(key))
    remarks = sum(forgetting.remove_remarks(log, mentions) for log in _logs() if _anywhere(log, lost.words))
    _forget_in_classes(lost, mentions)
    if options.seat is None:
        path.unlink(missing_ok=True)
    left = [plain(str(file)) for file in files() if _still(file, lost.words, mentions)]
    if options.json:
        print_json({"forgotten": list(lost.ids), "remarks": remarks, "left": left})
    else:
        sys.stdout.write(
            plain(f"Forgotten: {lost.title}") + (f", and {plural(remarks, 'remark')}" if remarks else "") + ".\n"
        )
        sys.stdout.writelines(f"Still mentioned in {file}\n" for file in left)
        sys.stdout.writelines(
            f"{plain(str(folder))} is of a seat that no class has any more; delete it to forget that too.\n"
            for folder in _unseated()
        )
        sys.stdout.write("What was written to other folders (pages, lists, logs taken home) is not touched.\n")
    return int(bool(left))


def _gone(logs: Sequence[Path], mentions: Mentions) -> str:
    """Return how much would be gone with these logs, and with the remarks in others."""
    others = (log for log in _logs() if log not in logs)
    remarks = sum(_readable(lambda log: forgetting.remarks(log, mentions), log) for log in others)
    tries = sum(_readable(tries_in, log) for log in logs)
    return f"{tries:,} tries" + (f", and {plural(remarks, 'remark')} elsewhere" if remarks else "")


def _lost(group: Class, word: str | None) -> _Lost:
    if word is None:
        names = (seat.name for seat in group.seats if seat.name)
        ids = tuple(seat.id for seat in group.seats)
        return _Lost(ids, (*ids, *names), f"'{group.name}'")
    try:
        seat = group.find(word)
    except ChangeoverError:
        # One that was removed from its class is known by its folder alone.
        if not (word.isalnum() and not word.isdecimal() and paths.seat_dir(word).is_dir()):
            raise
        return _Lost((word,), (word,), f"seat {word}")
    return _Lost((seat.id,), tuple(filter(None, (seat.id, seat.name))), f"{seat.title} of '{group.name}'")


def _unseated() -> list[Path]:
    """Return the folders of seats that were taken out of their class; those with numbers for names are of no class."""
    known = {seat.id for entry in classes.every() if entry.group is not None for seat in entry.group.seats}
    folders = paths.seat_dir("").iterdir() if paths.seat_dir("").is_dir() else ()
    return sorted(folder for folder in folders if not folder.name.isdecimal() and folder.name not in known)


def _delete(folder: Path) -> None:
    try:
        shutil.rmtree(folder)
    except FileNotFoundError:
        pass
    except OSError as error:
        raise atomic.refused("deleted", folder, error) from error


def _forget_in_classes(lost: _Lost, mentions: Mentions) -> None:
    """Take the seats out of every class that has them, and out of what else stands in the folder of classes."""
    for entry in classes.every():
        if entry.group is not None and any(seat.id in lost.ids for seat in entry.group.seats):
            _forget_in_class(entry.path, entry.group, lost, mentions)
    for draft in paths.classes_dir().glob(".*.tmp"):
        if in_file(draft, mentions):
            draft.unlink(missing_ok=True)


def _forget_in_class(path: Path, group: Class, lost: _Lost, mentions: Mentions) -> None:
    """Take the seats out of a class; where a comment still mentions them, all comments go."""
    for seat in group.seats:
        if seat.id in lost.ids:
            group = group.remove(seat.id)
    classes.save(path, group)
    if in_file(path, mentions):
        atomic.write_text(path, classes.written("", group))


def _logs() -> list[Path]:
    """Return every log among the user's files; out of a damaged one that was put aside nothing can be taken."""
    return sorted(file for file in files() if file.name.endswith(_LOG) and not is_aside(file))


def _anywhere(log: Path, words: Sequence[str]) -> bool:
    """Tell whether the bytes of a log hold one of `words`, what was deleted and what waits beside it included."""
    holds = parts_of(*words)
    return any(in_file(log.with_name(log.name + side), holds) for side in ("", "-wal", "-journal"))


def _still(file: Path, words: Sequence[str], mentions: Mentions) -> bool:
    """Tell whether a file still mentions them; of a log, that has no other text of people's left, a drill's title."""
    if is_aside(file):
        return _anywhere(file, words)
    if file.name.endswith(_LOG):
        return bool(_readable(lambda log: forgetting.titled(log, mentions), file))
    return in_file(file, mentions)


def _readable(count: Callable[[Path], int], log: Path) -> int:
    """Return what is counted in a log; nothing in one that cannot be read."""
    try:
        return count(log)
    except ChangeoverError:
        return 0
