"""Where each note of an excerpt is taken: as printed, and by the fingering search where the print is silent."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING

from trainer.errors import ChangeoverError, wrong
from trainer.fretboard.shape import Barre, Shape, Stop
from trainer.hand.search.fingering import Fingering, shape_of
from trainer.hand.search.passage import MOST_NOTES, Note, Passage
from trainer.scores.excerpt import Excerpt, Tone
from trainer.scores.pins import barre_pins, loosened, pins, ringing
from trainer.scores.score import Printed

if TYPE_CHECKING:
    from trainer.hand.search.impossible import Impossible

_LET_GO = 40
"""Slices whose printed fingers or strings may be let go before the search is given up."""


@dataclass(frozen=True, slots=True)
class PlacedTone:
    """One note with its place."""

    tone: Tone
    """The note."""
    string: int
    """The string it is played on."""
    fret: int
    """0 where it is open."""
    finger: int | None
    """None where it is open, or where nobody says."""
    ours: bool
    """True where the finger is the program's: neither the printed one nor the player's."""
    chosen: bool = False
    """True where the player has set another finger than the printed one."""


@dataclass(frozen=True, slots=True)
class Hands:
    """An excerpt with every note placed."""

    taken: tuple[PlacedTone, ...]
    """In the order of the tones."""
    barres: tuple[tuple[Fraction, Barre], ...]
    """Barres that the search lays, with the onset of each slice they lie at."""
    said: tuple[str, ...]
    """What had to be let go, a sentence each."""


class NoFingeringError(Exception):
    """The passage cannot be fingered as it is pinned."""

    def __init__(self, found: Impossible) -> None:
        """Tell of the slice that fails."""
        super().__init__(found.why)
        self.found = found
        """The slice, and why it fails."""


def searched(passage: Passage) -> Fingering:
    """Return the best fingering of `passage`, or raise NoFingeringError."""
    # Numpy is paid for only where something has to be sought.
    from trainer.hand.search.impossible import Impossible
    from trainer.hand.search.solve import work_out

    found = work_out(passage, habit=1.0)
    if isinstance(found, Impossible):
        raise NoFingeringError(found)
    return found.best


def taken(excerpt: Excerpt, file: str, finger: Callable[[Passage], Fingering] = searched) -> Hands:
    """Return `excerpt` with each note on a string, the printed ones where they are printed.

    `finger` seeks the rest. A printed finger that cannot be is let go, with a word. Raises ChangeoverError where a
    note cannot be had on the instrument at all.
    """
    pinned = pins(excerpt)
    if _complete(pinned, excerpt.instrument.strings):
        return Hands(tuple(map(_as_printed, excerpt.tones, pinned)), (), tuple(_set_aside(excerpt, pinned)))
    try:
        return fingered(excerpt, file, finger)[1]
    except NoFingeringError as error:
        found = error.found
        raise wrong(
            f"{_where(excerpt, found.onset)}: {' '.join(found.notes)}: {found.why} ({found.nearest})",
            file=file,
            hint="leave the bar out, or give another --part",
        ) from None


def fingered(excerpt: Excerpt, file: str, finger: Callable[[Passage], Fingering]) -> tuple[Fingering, Hands]:
    """Return how `finger` takes all of `excerpt`, with what is printed as pins, and the notes so placed.

    What is printed and cannot be is let go, with a word. Raises NoFingeringError where nothing more can be let go, and
    ChangeoverError where there is nothing to finger, or too much.
    """
    if not excerpt.tones:
        raise wrong(f"{excerpt.name}: no notes", file=file, hint="take other bars with --bars, or another --part")
    if len(excerpt.tones) > MOST_NOTES:
        hint = f"up to {MOST_NOTES} at a time: take some bars with --bars"
        raise wrong(f"{len(excerpt.tones)} notes", file=file, hint=hint)
    pinned = pins(excerpt)
    said = _set_aside(excerpt, pinned)
    pinned = ringing(pinned)
    way = _sought(pinned, excerpt, finger, said, file)
    return way, Hands(tuple(_placed(way, pinned, excerpt)), _lying(way), tuple(said))


def unprinted(excerpt: Excerpt, *, strings: bool = False) -> Excerpt:
    """Return `excerpt` without printed fingers and barres; without strings and frets too where not `strings`."""

    def bare(printed: Printed) -> Printed:
        kept = replace(printed, fingers=(), alternatives=())
        return kept if strings else replace(kept, string=None, fret=None)

    tones = tuple(replace(tone, printed=bare(tone.printed)) for tone in excerpt.tones)
    return replace(excerpt, tones=tones, barres=())


def _placed(way: Fingering, pinned: Sequence[Note], excerpt: Excerpt) -> Iterator[PlacedTone]:
    places = way.places
    for tone, pin in zip(excerpt.tones, pinned, strict=True):
        here = places[pin.onset, pin.midi]
        place = next((each for each in here if each.string == pin.string), here[0])
        here.remove(place)
        ours = pin.finger != place.finger
        yield PlacedTone(tone, place.string, place.fret, place.finger or None, ours and place.finger > 0)


def _lying(way: Fingering) -> tuple[tuple[Fraction, Barre], ...]:
    return tuple(
        (move.onset, lying.barre)
        for move in way.moves
        for lying in move.hands
        if lying.barre is not None and lying.sounding
    )


def _complete(pinned: list[Note], strings: int) -> bool:
    """Tell whether every note has its string and finger, and what is struck together can be held."""
    struck: dict[Fraction, dict[int, Stop]] = {}
    for note in pinned:
        if note.string is None or note.fret is None or note.finger is None:
            return False
        struck.setdefault(note.onset, {})[note.string] = Stop(note.fret, note.finger or None)
    return all(held_shape(stops, {}, strings) is not None for stops in struck.values())


def _set_aside(excerpt: Excerpt, pinned: list[Note]) -> list[str]:
    """Return a sentence for each kind of print that is not used, with how often and where first."""
    found: dict[str, list[Tone]] = {}
    for tone, note in zip(excerpt.tones, pinned, strict=True):
        printed = tone.printed
        if printed.string is not None and note.string != printed.string:
            found.setdefault("printed strings do not have their note and are left out", []).append(tone)
        if printed.fingers and note.finger is None:
            found.setdefault("printed fingers contradict their note and are left out", []).append(tone)
        if len(printed.fingers) > 1:
            found.setdefault("notes change finger while they sound: the first finger is taken", []).append(tone)
    return [f"{len(tones)} {what} (first in bar {excerpt.numbers[tones[0].bar]})" for what, tones in found.items()]


def _as_printed(tone: Tone, note: Note) -> PlacedTone:
    return PlacedTone(tone, note.string or 0, note.fret or 0, note.finger or None, ours=False)


def _sought(
    pinned: list[Note], excerpt: Excerpt, finger: Callable[[Passage], Fingering], said: list[str], file: str
) -> Fingering:
    """Return a fingering; what is set at a slice that cannot be taken is let go, fingers before strings."""
    barres = barre_pins(excerpt)
    for _ in range(_LET_GO):
        passage = Passage.of(pinned, excerpt.instrument, barres)
        try:
            return finger(passage)
        except NoFingeringError as error:
            onset = passage.slices[error.found.index].onset
            where = _where(excerpt, onset)
            if barres and any(pin.start <= onset < pin.end for pin in barres):
                barres = [pin for pin in barres if not pin.start <= onset < pin.end]
                said.append(f"{where}: the barre in words is let go")
                continue
            looser = loosened(pinned, onset)
            if looser is None:
                raise
            what, notes = looser
            for index, note in notes:
                pinned[index] = note
            said.append(f"{where}: printed {what} let go, for they cannot be held together")
    raise wrong("too much of what is printed cannot be held", file=file, hint="is it written for this tuning?")


def _where(excerpt: Excerpt, onset: Fraction) -> str:
    start, bar = excerpt.bar_at(onset)
    return f"bar {excerpt.numbers[bar]}, quarter {float(onset - start + 1):g}"


def held_shape(stops: dict[int, Stop], barres: dict[int, Barre], strings: int) -> Shape | None:
    """Return the shape of `stops` by string, with `barres` by finger where they reach further; None if it is none."""
    try:
        return shape_of((stops.get(string) for string in range(strings, 0, -1)), barres.values())
    except ChangeoverError:
        return None
