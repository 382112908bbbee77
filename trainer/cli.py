"""The command line: one table of sub-commands, each imported only when it is called."""

from __future__ import annotations

import argparse
import importlib
import os
import sys
from dataclasses import dataclass
from difflib import get_close_matches
from keyword import iskeyword

from trainer.errors import ChangeoverError, plain
from trainer.lookalikes import be_read_and_written

_HOME = "trainer.commands.home"
"""What runs without a sub-command."""
_EXIT_BAD_INPUT = 2
_EXIT_INTERRUPTED = 130


@dataclass(frozen=True, slots=True)
class Command:
    """One sub-command: its module in `trainer.commands` has `arguments(parser)` and `run(options) -> int`."""

    name: str
    """The word typed after `changeover`, also the module's name but for words that Python keeps: `import_`."""
    does: str
    """One line for the help."""

    @property
    def module(self) -> str:
        """The full name of its module."""
        return f"trainer.commands.{self.name}{'_' if iskeyword(self.name) else ''}"


COMMANDS = (
    Command("drill", "drill a shipped drill, a file, or a change between shapes"),
    Command("hear", "a drill in line mode, for screen readers and plain consoles; or a recorded take graded"),
    Command("explain", "each change of a drill: what every finger does"),
    Command("finger", "the best left-hand fingerings of a passage, with alternatives and why"),
    Command("import", "a drill from some bars of a MusicXML or MIDI file"),
    Command("export", "a drill as a fingered MusicXML score or a MIDI file to play along"),
    Command("today", "what to practise next, and why"),
    Command("warmup", "a timed warm-up, gentle first, that stops by itself"),
    Command("sheet", "a page for the stand: shapes, movements, steps and goals"),
    Command("progress", "how fast each change has become"),
    Command("merge", "take in a practice log that was carried away, without doubles"),
    Command("mend", "save what can still be read of a damaged practice log"),
    Command("class", "a class: who sits where, what came of its rounds, a log to take home"),
    Command("serve", "the app in browsers, on this machine or on the room's network"),
    Command("ports", "MIDI ports seen, and what comes in on them"),
    Command("check", "problems of drill, theme and settings files"),
    Command("where", "where your files live"),
)
"""Every sub-command, in the order the help shows them."""


def main(argv: list[str] | None = None) -> int:
    """Run `changeover` with `argv` and return its exit code: 0 done, 1 the work found something wrong, 2 bad input."""
    words = sys.argv[1:] if argv is None else argv
    be_read_and_written()
    try:
        return _dispatch(words)
    except ChangeoverError as error:
        for problem in error.problems:
            sys.stderr.write(f"changeover: {problem}\n")
        return _EXIT_BAD_INPUT
    except KeyboardInterrupt:
        return _EXIT_INTERRUPTED
    except BrokenPipeError:
        # The reader (head, less) has gone; what is left to print has no one to see it.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0


def _dispatch(words: list[str]) -> int:
    if not words:
        # The first frame need not wait for a parser that has nothing to parse.
        return int(importlib.import_module(_HOME).run())
    known = {command.name: command.module for command in COMMANDS}
    first = words[0]
    if not first.startswith("-") and first not in known:
        near = get_close_matches(first, known, n=1)
        hint = f"did you mean '{near[0]}'?" if near else "'changeover --help' lists the commands"
        sys.stderr.write(f"changeover: no command '{plain(first)}' ({hint})\n")
        return _EXIT_BAD_INPUT
    parser = _parser(first if first in known else None)
    options = parser.parse_args(words)
    module = importlib.import_module(known.get(options.command, _HOME))
    return int(module.run(options))


def _parser(called: str | None) -> argparse.ArgumentParser:
    """Return the parser; only the sub-command that was called is imported to add its arguments."""
    parser = _Parser(
        prog="changeover",
        description="Step through chord-shape changes on the fretboard and time each one. Without a command: the app.",
    )
    parser.add_argument("--version", action=_Version)
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", title="commands", parser_class=_Parser)
    for command in COMMANDS:
        said = f"{command.does[0].upper()}{command.does[1:]}."
        sub = commands.add_parser(command.name, help=command.does, description=said)
        if command.name == called:
            importlib.import_module(command.module).arguments(sub)
    return parser


class _Parser(argparse.ArgumentParser):
    """An argument parser whose errors are one line, like every other error of ours."""

    def error(self, message: str) -> None:  # type: ignore[override]  # argparse says NoReturn; so does exit
        self.exit(_EXIT_BAD_INPUT, f"{self.prog}: {plain(message)} (see '{self.prog} --help')\n")


class _Version(argparse.Action):
    """`--version`, imported only when asked for."""

    def __init__(self, option_strings: list[str], dest: str) -> None:
        super().__init__(option_strings, dest=argparse.SUPPRESS, nargs=0, help="print the version and stop")

    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> None:
        from trainer import __version__

        sys.stdout.write(f"changeover {__version__}\n")
        parser.exit()


if __name__ == "__main__":
    sys.exit(main())
