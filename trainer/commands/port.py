"""From the words of a command line to a MIDI port, and to what is kept of what is heard on it."""

from __future__ import annotations

import argparse
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from trainer.errors import ChangeoverError, wrong

if TYPE_CHECKING:
    from trainer.ui.drilling.ears import Wish


def add_port(parser: argparse.ArgumentParser) -> None:
    """Add the options --port and --keep-take."""
    parser.add_argument("--port", metavar="NAME", help="the MIDI port to hear, or a part of its name")
    parser.add_argument(
        "--keep-take", nargs="?", type=Path, const=Path(), metavar="FILE", help="keep what is heard as a MIDI file"
    )


def wished(port: str | None, keep_take: Path | None) -> Wish:
    """Return what is wished of the guitar on the port with the key `port`; --keep-take may name a file or none.

    Raises ChangeoverError where the file that is named cannot be begun: that is said before anything is played.
    """
    from trainer.files import takes
    from trainer.ui.drilling.ears import Wish

    if keep_take is None or keep_take == Path():
        return Wish(port, keep=keep_take is not None)

    takes.create(keep_take).close()
    keep_take.unlink()
    return Wish(port, keep=True, take=keep_take)


def port_key(wanted: str | None) -> str | None:
    """Return the key of the port that is wanted, by its name or a part of it; of the only one where none is.

    One that is not there yet is heard as soon as it is: a guitar that was set up is known by a part of its name, of any
    other the name is taken as its key. None where none is wanted and none is there. Raises ChangeoverError where
    several fit, or one is wanted and MIDI cannot be had.
    """
    from trainer.files import paths
    from trainer.files.guitars import load
    from trainer.listen.names import THROUGH
    from trainer.listen.ports import missing, port_names

    problem = missing()
    if problem is not None:
        if wanted is None:
            return None
        raise ChangeoverError(problem)
    keys = [port.key for port in port_names()]
    if wanted is None:
        fitting, hint = [key for key in keys if not key.startswith(THROUGH)], "say which with --port"
    else:
        fitting = _fitting(keys, wanted) or _fitting(load(paths.guitars_file())[0], wanted)
        hint = "give more of its name"
    if len(fitting) > 1:
        raise wrong(f"several MIDI ports: {'; '.join(fitting)}", key="--port", hint=hint)
    return fitting[0] if fitting else wanted


def _fitting(keys: Iterable[str], wanted: str) -> list[str]:
    """Return those keys that are what is wanted, or else those that hold it."""
    known = list(keys)
    return [key for key in known if key == wanted] or [key for key in known if wanted.lower() in key.lower()]
