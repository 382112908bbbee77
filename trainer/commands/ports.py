"""`changeover ports`: the MIDI ports there are, and with `--watch` what comes in on them."""

from __future__ import annotations

import argparse
import sys
import time
from contextlib import suppress
from queue import Empty, SimpleQueue
from typing import TYPE_CHECKING

from trainer.commands.output import print_json
from trainer.errors import plain
from trainer.fretboard.pitch import note_name
from trainer.listen import wire
from trainer.listen.arrival import Arrival, Found, Lost, Report

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trainer.files.guitars import Guitar

_CENTRE = 8192
_LOOK_S = 0.5
"""Seconds after which Ctrl-C is noticed at the latest: one that comes just before a wait begins does not end it."""


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments."""
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--watch", action="store_true", help="print what comes in, a line each, until Ctrl-C")
    form.add_argument("--json", action="store_true", help="one JSON document")


def run(options: argparse.Namespace) -> int:
    """Print the ports; 1 where MIDI cannot be had here, with what is missing."""
    from trainer.files import paths
    from trainer.files.guitars import load
    from trainer.listen.ports import missing, port_names

    problem = missing()
    found = port_names() if problem is None else ()
    if problem is None and options.watch:
        _watch()
        return 0
    guitars, wrong = load(paths.guitars_file())
    sys.stderr.writelines(f"changeover: {each}\n" for each in wrong)
    if options.json:
        ports = [
            {"name": plain(port.name), "key": port.key, "guitar": _document(guitars.get(port.key))} for port in found
        ]
        print_json({"ports": ports, "missing": None if problem is None else str(problem)})
    elif problem is not None:
        sys.stdout.write(f"{problem}\n")
    else:
        sys.stdout.writelines(f"{port.key}: {known(guitars.get(port.key))}\n" for port in found)
        if not found:
            sys.stdout.write("No MIDI ports. Plug in a guitar or a pedal and ask again.\n")
    return 0 if problem is None else 1


def known(guitar: Guitar | None) -> str:
    """Return what is known of a guitar, in one line."""
    if guitar is None:
        return "not set up yet"
    strings = len(guitar.wiring.strings)
    told = (
        f"{strings} strings, each on its channel" if strings else "strings not told apart",
        f"latency {guitar.calibration}",
        "levelled" if guitar.wiring.levelled else "not levelled",
        f"played by {guitar.player}" if guitar.player else "",
        f"seat {guitar.seat}" if guitar.seat is not None else "",
    )
    return plain("; ".join(part for part in told if part))


def _document(guitar: Guitar | None) -> dict[str, object] | None:
    if guitar is None:
        return None
    return {
        "channels": {str(string): channel for channel, string in guitar.wiring.strings.items()},
        "calibration": guitar.calibration,
        "levelled": guitar.wiring.levelled,
        "player": plain(guitar.player) or None,
        "seat": guitar.seat,
    }


def _watch() -> None:
    """Print what comes in on every port until Ctrl-C."""
    from trainer.listen.ports import Listener

    inbox: SimpleQueue[tuple[Report, ...]] = SimpleQueue()
    start = time.monotonic()
    listener = Listener(None, inbox.put)
    listener.start()
    sys.stdout.write("Play; Ctrl-C ends it. Seconds, port, what came in:\n")
    try:
        while True:
            sys.stdout.flush()
            with suppress(Empty):
                for report in inbox.get(timeout=_LOOK_S):
                    sys.stdout.writelines(f"{report.at - start:9.3f}  {plain(line)}\n" for line in lines(report))
    except KeyboardInterrupt:
        sys.stdout.write("\n")
    finally:
        listener.close()


def lines(report: Report) -> Iterator[str]:
    """Yield a report in words, a line for each message in it."""
    if isinstance(report, Arrival):
        yield from (f"{report.port}  {_words(message)}" for message in wire.Wire().feed(report.data))
    elif isinstance(report, Found):
        yield f"{report.port}  is heard"
    elif isinstance(report, Lost):
        yield f"{report.port}  is gone; it is heard again as soon as it is back"
    else:
        yield f"{report.port}  {report.what}" if report.port else report.what


def _words(message: wire.Message) -> str:
    status, channel, first, second = message
    words = {
        wire.NOTE_OFF: f"{note_name(first)} ends",
        wire.NOTE_ON: f"{note_name(first)} velocity {second}" if second else f"{note_name(first)} ends",
        wire.KEY_PRESSURE: f"{note_name(first)} pressure {second}",
        wire.CONTROL: f"controller {first} value {second}",
        wire.PROGRAM: f"program {first}",
        wire.PRESSURE: f"pressure {first}",
        wire.BEND: f"bend {(second << 7 | first) - _CENTRE:+d}",
    }
    return f"channel {channel:2}  {words[status]}" if status in words else "reset"
