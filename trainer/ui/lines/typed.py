"""From a typed line to a command: the keys of the drill screen followed by enter, or a command's name."""

from __future__ import annotations

from collections.abc import Container, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from trainer.errors import plain
from trainer.ui.command import Command, Place, key_text
from trainer.ui.commands import commands_of, keymap

ELSEWHERE = MappingProxyType(
    {
        "memory": "no shape is shown here unless s asks for it, so there is nothing to hide",
        "bench": "'changeover finger' and the drill tells the ways to finger it, in lines",
        "guitar_of_drill": "a guitar is set up on the screen; one that was not is heard by its pitches",
        "close": "there is nothing to go back to; q ends",
    }
)
"""The commands of a drill that line mode does not have, by id or name, and why not."""

HERE = frozenset(command.id for command in commands_of(Place.DRILL)) - ELSEWHERE.keys()
"""The commands that line mode has: all others."""

SHAPE = Command("shape", Place.DRILL, ("s",), "shape", "The shape to hold next, its fingers in words.")
"""What only line mode has, for there is no board to look at."""


@dataclass(frozen=True, slots=True)
class Typed:
    """A line that is a command."""

    command: Command
    """Which."""
    at: float
    """When the line came in, monotonic seconds."""
    rest: str
    """What stands after the command's key, and for an answer the number itself."""


def read(line: str, at: float, rebound: Mapping[str, tuple[str, ...]]) -> Typed | None:
    """Return the command that `line` says; None where it says none. An empty line is the press."""
    said = plain(line.strip())
    by_word = words(rebound)
    if _is_number(said):
        return Typed(by_word["answer"], at, said)
    first, _, rest = said.partition(" ")
    command = by_word.get(first) or by_word.get(first.lower())
    if command is None or (command.id == "answer" and not _is_number(rest.strip())):
        return None
    return Typed(command, at, rest.strip())


def elsewhere(line: str, rebound: Mapping[str, tuple[str, ...]]) -> str | None:
    """Return why line mode does not have the command of a drill that `line` names, by key or name; None for others."""
    said = line.strip()
    by_key = {key_text(key): command.id for key, command in keymap(Place.DRILL, rebound).items()}
    return ELSEWHERE.get(by_key.get(said, said.lower()))


def _is_number(said: str) -> bool:
    return said.isascii() and said.isdigit() and len(said) <= 2


def words(rebound: Mapping[str, tuple[str, ...]]) -> Mapping[str, Command]:
    """Return every word a line may begin with, and its command; the empty word is the press."""
    by_id = {command.id: command for command in commands_of(Place.DRILL) if command.id in HERE}
    # The key that lets a chord sound asks for its shape here; the chord sounds by its name.
    keyed = by_id.keys() - {"chord"}
    by_key = {key_text(key): command for key, command in keymap(Place.DRILL, rebound).items() if command.id in keyed}
    return {"": by_id["press"], "s": SHAPE, **by_id, **by_key, "shape": SHAPE}


def guide(rebound: Mapping[str, tuple[str, ...]], known: Container[str]) -> list[str]:
    """Return a line for each command that is `known` by its id: what to type, and what it does."""
    shortest: dict[str, tuple[str, Command]] = {}
    for word, command in words(rebound).items():
        if command.id not in shortest or len(word) < len(shortest[command.id][0]):
            shortest[command.id] = (word, command)
    lines = ["Enter alone: the one key of a run. What it does next is said each time."] if "press" in known else []
    for word, command in shortest.values():
        if command.id in known and command.id not in {"press", "answer"}:
            lines.append(f"{word}: {command.does}")
    if "answer" in known:
        lines.append("A number: how many changes of a paced run landed.")
    return [*lines, "Each followed by enter."]
