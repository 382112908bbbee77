"""A change in one plain sentence, as a teacher would say it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from fractions import Fraction

from trainer.fretboard.plucked import Plucked
from trainer.fretboard.shape import Barre, Shape
from trainer.hand.change import Action, BarreAction, BarreMove, Change, Move, Reach, Why

_WORTH_SAYING = 2
"""Frets of shift from which it is worth saying that an open string buys the time."""
_ROMAN = ((10, "X"), (9, "IX"), (5, "V"), (4, "IV"), (1, "I"))


def roman(fret: int) -> str:
    """Return a fret or position of 1 or more as a Roman numeral: 7 is `VII`."""
    text = ""
    for value, numeral in _ROMAN:
        while fret >= value:
            text += numeral
            fret -= value
    return text


def beat_text(beat: Fraction) -> str:
    """Return a beat as players say it: 3, 2½, or 7/3 where no simple sign fits."""
    whole, rest = divmod(beat, 1)
    sign = {Fraction(0): "", Fraction(1, 2): "½", Fraction(1, 4): "¼", Fraction(3, 4): "¾"}.get(rest)
    return str(beat) if sign is None else f"{whole}{sign}"


def describe(change: Change, plucked: Plucked | None = None) -> str:
    """Return what happens in `change` as one sentence without a full stop.

    `plucked` says when the strings of the shape that is left are struck; with it the sentence says which fingers
    may stay for how long, and which must go early.
    """
    plain = [move for move in change.moves if not _told_by_barres(move, change)]
    clauses = [
        *_guides(plain),
        *_together(plain, Action.KEPT, "stays", "stay"),
        *(_barre(barre, change) for barre in change.barres),
        *_each(plain, Action.SWAP, _swap),
        *_each(plain, Action.CROSS, _cross),
        *_each(plain, Action.PLACE, _place),
        *_together(plain, Action.LIFT, "comes off", "come off"),
        *_unknown(change),
        *_shift(change),
        *_open_time(change),
        *_damping(change),
        *_timing(change, plucked),
    ]
    return "; ".join(clauses) or "nothing moves"


def _told_by_barres(move: Move, change: Change) -> bool:
    """Tell whether the words for the barres already say all that the finger of `move` does."""
    own = [barre for barre in change.barres if move.finger in {end.finger for end in (barre.start, barre.end) if end}]
    if not any(barre.end for barre in own):
        return bool(own) and move.end is None
    # Of a fingertip that slides and then lies down, the barre's words do not say where it came from.
    return move.action is not Action.GUIDE or any(barre.start for barre in own)


def _each(moves: list[Move], action: Action, say: Callable[[Move], str]) -> list[str]:
    return [say(move) + _reach(move) for move in moves if move.action is action]


def _together(moves: list[Move], action: Action, one: str, many: str) -> list[str]:
    fingers = [move for move in moves if move.action is action]
    if not fingers:
        return []
    return [f"{_listed(str(move.finger) + _reach(move) for move in fingers)} {one if len(fingers) == 1 else many}"]


def _listed(parts: Iterable[str]) -> str:
    *most, last = parts
    return f"{', '.join(most)} and {last}" if most else last


def _reach(move: Move) -> str:
    return {Reach.BACK: " (reaching back)", Reach.FORWARD: " (reaching forward)", None: ""}[move.reach]


def _guides(moves: list[Move]) -> list[str]:
    """Say each guide by itself, or, where several slide equally far, those together."""
    by_way: dict[int, list[Move]] = {}
    for move in moves:
        if move.action is Action.GUIDE:
            (_, old), (_, new) = _ends(move)
            by_way.setdefault(new - old, []).append(move)
    return [_guide(group[0]) if len(group) == 1 else _guides_together(group, way) for way, group in by_way.items()]


def _guide(move: Move) -> str:
    (string, old), (_, new) = _ends(move)
    return f"{move.finger} slides {_up_or_down(new - old)} string {string} from {old} to {new}{_reach(move)}"


def _guides_together(moves: list[Move], way: int) -> str:
    frets = "one fret" if abs(way) == 1 else f"{abs(way)} frets"
    return f"{_listed(f'{move.finger}{_reach(move)}' for move in moves)} slide {_up_or_down(way)} {frets} together"


def _up_or_down(way: int) -> str:
    return "up" if way > 0 else "down"


def _swap(move: Move) -> str:
    (string, fret) = move.end or (0, 0)
    return f"{move.finger} takes over string {string} at fret {fret} while it sounds"


def _cross(move: Move) -> str:
    (old, _), (new, fret) = _ends(move)
    return f"{move.finger} crosses from string {old} to string {new} at fret {fret}"


def _place(move: Move) -> str:
    (string, fret) = move.end or (0, 0)
    return f"{move.finger} comes down on string {string} at fret {fret}"


def _ends(move: Move) -> tuple[tuple[int, int], tuple[int, int]]:
    if move.start is None or move.end is None:
        raise ValueError(f"finger {move.finger} does not go from one place to another")
    return move.start, move.end


def _barre(move: BarreMove, change: Change) -> str:
    """Return what one barre does: the first of its actions that has words for it."""
    if move.start is None and move.end is not None:
        where = "" if change.after.is_full(move.end) else f", {_strings(move.end)}"
        return f"{_extent(move.end, change.after)} on by {move.end.finger} at {roman(move.end.fret)}{where}"
    if move.start is None:
        raise ValueError("a barre that is in neither shape")
    name = _name(move.start, change.before)
    if move.end is None:
        return f"{name} off"
    say = next((say for action, say in _BARRE_WORDS.items() if action in move.actions), _changed)
    return say(name, move.start, move.end)


def _extent(barre: Barre, shape: Shape) -> str:
    return "barre" if shape.is_full(barre) else "half barre"


def _name(barre: Barre, shape: Shape) -> str:
    """Return what to call a barre of `shape`: with its finger where there are several."""
    return f"{_extent(barre, shape)} by {barre.finger}" if len(shape.barres) > 1 else _extent(barre, shape)


def _slid(name: str, start: Barre, end: Barre) -> str:
    way = _up_or_down(end.fret - start.fret)
    resized = "" if start.strings == end.strings else f", now {_strings(end)}"
    return f"{name} slides {way} from {roman(start.fret)} to {roman(end.fret)}{resized}"


def _hinged(name: str, start: Barre, end: Barre) -> str:
    verb = "to cover" if end.width > start.width else "to free"
    changed = sorted(set(start.strings) ^ set(end.strings), reverse=True)
    noun = "string" if len(changed) == 1 else "strings"
    return f"{name} hinges at {roman(end.fret)} {verb} {noun} {_listed(map(str, changed))}"


def _changed(name: str, _: Barre, end: Barre) -> str:
    return f"{name} stays at {roman(end.fret)}, now {_strings(end)}"


_BARRE_WORDS: dict[BarreAction, Callable[[str, Barre, Barre], str]] = {
    BarreAction.KEPT: lambda _, start, __: f"{start.finger} keeps the barre at {roman(start.fret)}",
    BarreAction.SLID: _slid,
    BarreAction.LAID: lambda _, __, end: f"{end.finger} stays and lays the barre over {_strings(end)}",
    BarreAction.RAISED: lambda name, _, end: (
        f"{name} off, {end.finger} stays on string {end.low_string} at fret {end.fret}"
    ),
    BarreAction.HINGED: _hinged,
}
"""How to say what a barre in contact does; the first action that is true of it is said."""


def _strings(barre: Barre) -> str:
    return f"strings {barre.low_string} to {barre.high_string}"


def _unknown(change: Change) -> list[str]:
    missing = any(move.action is Action.UNKNOWN for move in change.moves)
    return ["not every finger is given"] if missing else []


def _shift(change: Change) -> list[str]:
    old, new = change.positions
    if change.shift is None or not change.shift.frets or old is None or new is None:
        return []
    return [f"hand shifts {_up_or_down(new - old)} from {roman(old)} to {roman(new)}"]


def _open_time(change: Change) -> list[str]:
    if not change.buys_time or change.shift is None or abs(change.shift.frets) < _WORTH_SAYING:
        return []
    strings = change.buys_time
    noun, verb = ("string", "buys") if len(strings) == 1 else ("strings", "buy")
    return [f"open {noun} {_listed(map(str, strings))} {verb} the time"]


def _damping(change: Change) -> list[str]:
    strings = [str(string) for string, why in change.stops if why is Why.DAMP]
    if not strings:
        return []
    return [f"damp {'string' if len(strings) == 1 else 'strings'} {_listed(strings)}"]


def _timing(change: Change, plucked: Plucked | None) -> list[str]:
    """Say which fingers are free before the shape is over, those with the same beat together."""
    if plucked is None:
        return []
    by_beat: dict[Fraction, list[str]] = {}
    for move in change.moves:
        if move.free_from is not None and move.free_from < plucked.end:
            by_beat.setdefault(move.free_from, []).append(str(move.finger))
    return [f"{_listed(fingers)} may {_leave(beat)}" for beat, fingers in sorted(by_beat.items())]


def _leave(beat: Fraction) -> str:
    return f"stay until beat {beat_text(beat)}" if beat > 1 else "leave at once"
