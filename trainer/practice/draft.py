"""A shape in the making: fingers put down and taken off one at a time, never into a shape that contradicts itself."""

from __future__ import annotations

from dataclasses import dataclass, replace

from trainer.errors import ChangeoverError
from trainer.fretboard.instrument import Instrument
from trainer.fretboard.shape import Shape, Stop
from trainer.hand.hold import checked


@dataclass(frozen=True, slots=True)
class Draft:
    """A shape, where the cursor stands on it, and what was said of the last attempt."""

    shape: Shape
    """What is placed so far."""
    string: int = 1
    """The cursor's string."""
    fret: int = 1
    """The cursor's fret, from 1."""
    said: str = ""
    """Why the last finger could not be placed; empty where it could."""

    def moved(self, instrument: Instrument, strings: int = 0, frets: int = 0) -> Draft:
        """Return the draft with its cursor moved, as far as the neck goes."""
        string = min(max(self.string + strings, 1), instrument.strings)
        fret = min(max(self.fret + frets, 1), instrument.top_fret)
        return replace(self, string=string, fret=fret, said="")

    def placed(self, finger: int, instrument: Instrument) -> Draft:
        """Return the draft with `finger` at the cursor; the same finger there already comes off.

        A finger is at one fret: from another it comes along, at the same one it becomes a barre.
        """
        here = self.shape[self.string]
        if here is not None and (here.finger, here.fret) == (finger, self.fret):
            return self.opened(instrument)
        stops = {
            string: Stop(0) if stop.finger == finger and stop.fret != self.fret else stop for string, stop in self.shape
        }
        return self._with({**stops, self.string: Stop(self.fret, finger)}, instrument)

    def opened(self, instrument: Instrument) -> Draft:
        """Return the draft with the cursor's string open."""
        return self._with({**dict(self.shape), self.string: Stop(0)}, instrument)

    def muted(self, instrument: Instrument) -> Draft:
        """Return the draft with the cursor's string neither held nor played."""
        stops = {string: stop for string, stop in self.shape if string != self.string}
        return self._with(stops, instrument)

    def _with(self, stops: dict[int, Stop], instrument: Instrument) -> Draft:
        try:
            shape = Shape(tuple(stops.get(string) for string in range(self.shape.strings, 0, -1)))
            return replace(self, shape=checked(shape, instrument), said="")
        except ChangeoverError as error:
            return replace(self, said=str(error.problems[0]))


def empty(instrument: Instrument) -> Draft:
    """Return a draft of all open strings."""
    return Draft(Shape((Stop(0),) * instrument.strings))
