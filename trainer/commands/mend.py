"""`changeover mend`: all that can still be read of a damaged practice log into a new one."""

from __future__ import annotations

import argparse
import sys
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from trainer.counts import plural
from trainer.errors import plain

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trainer.log.mend import Mended
    from trainer.log.mending.anew import Saved


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments."""
    parser.add_argument("file", type=Path, nargs="?", metavar="FILE", help="a practice log; else your own")
    parser.add_argument(
        "-o", dest="output", type=Path, metavar="NEW", help="write the new log there and leave the damaged one in place"
    )
    parser.add_argument("--json", action="store_true", help="one JSON document")


def run(options: argparse.Namespace) -> int:
    """Mend the log and say what was saved; return 1 where something is lost."""
    from trainer.files.paths import log_file
    from trainer.log.mend import mend

    path = log_file() if options.file is None else options.file
    mended = mend(path, date.today(), into=options.output)
    if options.json:
        from trainer.commands.output import print_json

        print_json(_document(mended, path))
    else:
        lines = [f"{plain(str(path))}: nothing to mend."] if mended is None else _lines(mended)
        sys.stdout.writelines(f"{line}\n" for line in lines)
    return int(mended is not None and not _whole(mended.saved))


def _whole(saved: Saved) -> bool:
    return saved.all_counted and not (saved.unread or saved.unmarked or saved.untitled or saved.measures_unread)


def _lines(mended: Mended) -> Iterator[str]:
    saved = mended.saved
    yield f"Saved: {plural(saved.changes, 'change')} in {plural(saved.runs, 'run')}{_between(saved)}."
    least = "" if saved.all_counted else "at least "
    yield f"Could not be read: {least}{plural(saved.unread, 'change')}."
    for count, word, lost in (
        (saved.unmarked, "change", "clean or not"),
        (saved.measures_unread, "change", "what was heard besides the time"),
        (saved.untitled, "run", "the drill's name"),
    ):
        if count:
            yield f"Lost of {plural(count, word)}: {lost}."
    if saved.heard:
        heard = plural(saved.heard, "change")
        yield f"Of {heard} that were heard a finger or an odd note may be missing: nothing counts those."
    if not saved.deleted_told:
        yield "What had been taken back may be among it again: the list of that is damaged."
    yield f"The new log: {plain(str(mended.log))}"
    yield f"The damaged one: {plain(str(mended.damaged))}"


def _between(saved: Saved) -> str:
    if saved.first is None or saved.last is None:
        return ""
    return f", from {_day(saved.first) or 'before any calendar'} to {_day(saved.last) or 'beyond any calendar'}"


def _day(at: float) -> str | None:
    try:
        return date.fromtimestamp(at).isoformat()
    except (ValueError, OverflowError, OSError):
        return None


def _document(mended: Mended | None, path: Path) -> dict[str, object]:
    if mended is None:
        return {"log": plain(str(path)), "damaged": None, "changes": None, "runs": None}
    saved = mended.saved
    return {
        "log": plain(str(mended.log)),
        "damaged": plain(str(mended.damaged)),
        "changes": {
            "saved": saved.changes,
            "unread": saved.unread,
            "all_counted": saved.all_counted,
            "clean_lost": saved.unmarked,
            "measures_lost": saved.measures_unread,
            "heard": saved.heard,
            "first_at": saved.first,
            "last_at": saved.last,
        },
        "runs": {"saved": saved.runs, "title_lost": saved.untitled},
        "deleted_known": saved.deleted_told,
    }
