"""A drill as a MusicXML 4.0 score: notation and tablature, each shape with its diagram, barres in words.

What is written can be read again without loss of shapes, fingers, barres, strokes, melody, meter and tempo, but for
barres that reach over muted strings or past every string at their own fret: a diagram has no sign for those.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from math import lcm
from xml.sax.saxutils import escape, quoteattr

from trainer.fretboard.shape import Barre, Shape
from trainer.hand.words import roman
from trainer.practice.drill import Drill, Order, Step
from trainer.practice.record import Texture
from trainer.scores.layout import Sounding, voices
from trainer.scores.musicxml.values import TYPES, Value, values

_HEAD = """\
<?xml version="1.0" encoding="UTF-8"?>
<!DOCTYPE score-partwise PUBLIC
  "-//Recordare//DTD MusicXML 4.0 Partwise//EN" "http://www.musicxml.org/dtds/partwise.dtd">
<score-partwise version="4.0">
"""
_STEPS = tuple(zip("CCDDEFFGGAAB", (0, 1, 0, 1, 0, 0, 1, 0, 1, 0, 1, 0), strict=True))
"""Letter and alteration of each pitch class."""
_NOTATION, _TABLATURE = 1, 2
"""The staves."""
_VOICES_A_STAFF = 4
"""Voices of the second staff are numbered from 5, as programs expect."""
_NYLON_GUITAR = 25


def write(drill: Drill, tempo: float | None = None) -> bytes:
    """Return `drill` as a score in UTF-8, at `tempo` beats a minute where one is given.

    Raises ValueError where a stroke is too short for any note value.
    """
    return "".join(_Writer(drill, drill.tempo if tempo is None else tempo).score()).encode("utf-8")


class _Writer:
    """One score being written."""

    def __init__(self, drill: Drill, tempo: float) -> None:
        self.drill = drill
        self.tempo = tempo
        self.starts = drill.onsets
        self.bar = Fraction(4 * drill.meter[0], drill.meter[1])
        self.voices = voices(drill)
        self.step_at = {start: index for index, start in enumerate(self.starts[:-1])}
        times = [*(each.onset for voice in self.voices for each in voice), *self.starts, self.bar]
        # A value in a tuplet, or the shortest of a tied row, needs no finer division than its ends do, but for halves.
        self.divisions = lcm(*(time.denominator for time in times)) * _FINER

    def score(self) -> Iterator[str]:
        drill = self.drill
        yield _HEAD
        yield f"  <work><work-title>{escape(drill.title)}</work-title></work>\n"
        creator = f'<creator type="composer">{escape(drill.credits)}</creator>' if drill.credits else ""
        yield f"  <identification>{creator}<encoding><software>Changeover</software></encoding></identification>\n"
        yield (
            '  <part-list>\n    <score-part id="P1"><part-name>Guitar</part-name>'
            '<score-instrument id="P1-I1"><instrument-name>Guitar</instrument-name></score-instrument>'
            f'<midi-instrument id="P1-I1"><midi-channel>1</midi-channel><midi-program>{_NYLON_GUITAR}</midi-program>'
            "</midi-instrument></score-part>\n  </part-list>\n"
        )
        yield '  <part id="P1">\n'
        total = self.starts[-1]
        count = -(-total // self.bar)
        for number in range(int(count)):
            start, end = self.bar * number, min(self.bar * (number + 1), total)
            yield f'    <measure number="{number + 1}">\n'
            yield from self.measure(number, start, end, last=number + 1 == count)
            yield "    </measure>\n"
        yield "  </part>\n</score-partwise>\n"

    def measure(self, number: int, start: Fraction, end: Fraction, *, last: bool) -> Iterator[str]:
        ring = self.drill.order is Order.RING
        if ring and number == 0:
            yield '      <barline location="left"><repeat direction="forward"/></barline>\n'
        if number == 0:
            yield self.attributes()
            yield self.metronome()
        back = f"      <backup><duration>{self.long(end - start)}</duration></backup>\n"
        first = True
        for staff in (_NOTATION, _TABLATURE):
            for voice, soundings in enumerate(self.voices):
                if not first:
                    yield back
                yield from self.voice(soundings, voice, staff, start, end)
                first = False
        if last:
            repeat = '<repeat direction="backward"/>' if ring else ""
            yield f'      <barline location="right"><bar-style>light-heavy</bar-style>{repeat}</barline>\n'

    def attributes(self) -> str:
        instrument, (beats, value) = self.drill.instrument, self.drill.meter
        tuning = "".join(
            f'<staff-tuning line="{line}">{_pitch(pitch, "tuning-")}</staff-tuning>'
            for line, pitch in enumerate(instrument.tuning, start=1)
        )
        capo = f"<capo>{instrument.capo}</capo>" if instrument.capo else ""
        return (
            f"      <attributes><divisions>{self.divisions}</divisions><key><fifths>0</fifths></key>"
            f"<time><beats>{beats}</beats><beat-type>{value}</beat-type></time><staves>2</staves>"
            '<clef number="1"><sign>G</sign><line>2</line><clef-octave-change>-1</clef-octave-change></clef>'
            '<clef number="2"><sign>TAB</sign><line>5</line></clef>'
            f'<staff-details number="2"><staff-lines>{instrument.strings}</staff-lines>{tuning}{capo}</staff-details>'
            "</attributes>\n"
        )

    def metronome(self) -> str:
        unit = next(name for name, length in TYPES if length == self.drill.beat)
        quarters = self.tempo * 4 / self.drill.meter[1]
        return (
            '      <direction placement="above"><direction-type><metronome>'
            f"<beat-unit>{unit}</beat-unit><per-minute>{self.tempo:g}</per-minute></metronome></direction-type>"
            f'<sound tempo="{quarters!r}"/></direction>\n'
        )

    def voice(
        self, soundings: tuple[Sounding, ...], voice: int, staff: int, start: Fraction, end: Fraction
    ) -> Iterator[str]:
        for each in soundings:
            if each.end <= start or each.onset >= end:
                continue
            if voice == 0 and staff == _NOTATION and each.onset >= start and each.onset in self.step_at:
                yield from self.shape(self.step_at[each.onset])
            onset, stop = max(each.onset, start), min(each.end, end)
            row = values(stop - onset)
            for index, value in enumerate(row):
                begins = index == 0 and onset == each.onset
                ends = index + 1 == len(row) and stop == each.end
                yield from self.notes(each, value, f"{voice + 1 + (staff - 1) * _VOICES_A_STAFF}", staff, begins, ends)

    def shape(self, index: int) -> Iterator[str]:
        """Write what stands above a shape: its barres in words, its name and its diagram."""
        step = self.drill.steps[index]
        before = self.drill.steps[index - 1].shape.barres if index else ()
        for barre in step.shape.barres:
            if barre not in before:
                words = _barre_words(barre, step.shape)
                yield (
                    f'      <direction placement="above"><direction-type><words>{words}</words></direction-type>'
                    "<staff>1</staff></direction>\n"
                )
        label = step.label
        letter = label[:1] if label[:1] in set("ABCDEFG") else "C"
        kind = "other" if label else "none"
        yield (
            f'      <harmony><root><root-step text="">{letter}</root-step></root>'
            f"<kind text={quoteattr(label)}>{kind}</kind>{_frame(step.shape)}<staff>1</staff></harmony>\n"
        )

    def notes(self, each: Sounding, value: Value, voice: str, staff: int, begins: bool, ends: bool) -> Iterator[str]:
        """Write the notes of one value, which begins or ends what sounds, or lies between."""
        tail = f"<voice>{voice}</voice><type>{value.type}</type>{'<dot/>' if value.dotted else ''}"
        if value.actual > 1:
            tail += (
                f"<time-modification><actual-notes>{value.actual}</actual-notes>"
                f"<normal-notes>{value.normal}</normal-notes></time-modification>"
            )
        tail += f"<staff>{staff}</staff>"
        duration = f"<duration>{self.long(value.quarters)}</duration>"
        if not each.strings:
            yield f"      <note><rest/>{duration}{tail}</note>\n"
            return
        for number, string in enumerate(each.strings):
            fret = _fret(self.drill.steps[each.step].shape, string)
            pitch = _pitch(self.drill.instrument.pitch(string, fret), "")
            chord = "<chord/>" if number else ""
            ties = ("" if begins else '<tie type="stop"/>') + ("" if ends else '<tie type="start"/>')
            tied = ("" if begins else '<tied type="stop"/>') + ("" if ends else '<tied type="start"/>')
            notations = tied + (self.marks(each, number, staff) if begins else self.tablature(string, fret, staff))
            yield (
                f"      <note>{chord}<pitch>{pitch}</pitch>{duration}{ties}{tail}"
                f"{f'<notations>{notations}</notations>' if notations else ''}</note>\n"
            )

    def tablature(self, string: int, fret: int, staff: int) -> str:
        """Return string and, in tablature, fret: all that is printed at a note that is tied to."""
        shown = f"<fret>{fret}</fret>" if staff == _TABLATURE else ""
        return f"<technical><string>{string}</string>{shown}</technical>"

    def marks(self, each: Sounding, number: int, staff: int) -> str:
        """Return what is printed at a note that is struck: fingers above, string and fret below, rolls and slides."""
        string, step = each.strings[number], self.drill.steps[each.step]
        stop = step.shape[string]
        finger = None if stop is None else stop.finger if stop.fret else 0
        technical = "" if finger is None else f"<fingering>{finger}</fingering>"
        right = each.right_hand[number]
        if right is not None:
            technical += f"<pluck>{right}</pluck>"
        fret = _fret(step.shape, string)
        technical += f"<string>{string}</string>" + (f"<fret>{fret}</fret>" if staff == _TABLATURE else "")
        rolled = "<arpeggiate/>" if step.texture is Texture.ROLLED and each.first else ""
        return f"{self.slides(each, string)}<technical>{technical}</technical>{rolled}"

    def slides(self, each: Sounding, string: int) -> str:
        """Return the ends of slides that are to be heard: into this shape, and out of it into the next."""
        steps = self.drill.steps
        found = ""
        if each.step and _slid(steps[each.step - 1], steps[each.step], string):
            found += f'<slide type="stop" number="{min(string, 6)}"/>'
        if each.step + 1 < len(steps) and _slid(steps[each.step], steps[each.step + 1], string):
            found += f'<slide type="start" number="{min(string, 6)}"/>'
        return found

    def long(self, quarters: Fraction) -> int:
        """Return a length in divisions."""
        return int(quarters * self.divisions)


_FINER = 8
"""How much finer than the onsets divisions are: room for the values of tied rows."""


def _slid(before: Step, after: Step, string: int) -> bool:
    """Tell whether one finger is heard sliding along `string` from one shape to the next."""
    old, new = before.shape[string], after.shape[string]
    if not after.sounding_slide or old is None or new is None or old.finger is None:
        return False
    played = string in before.plucked.strings and string in after.plucked.strings
    return played and old.finger == new.finger and old.fret != new.fret


def _fret(shape: Shape, string: int) -> int:
    stop = shape[string]
    return 0 if stop is None else stop.fret


def _barre_words(barre: Barre, shape: Shape) -> str:
    """Return a barre in words: `C III` across all strings, `4/6 C III` across four of six."""
    share = "" if shape.is_full(barre) else f"{barre.width}/{shape.strings} "
    return f"{share}C {roman(barre.fret)}"


def _frame(shape: Shape) -> str:
    """Return the diagram of `shape`; a finger in brackets holds its string without its being played."""
    marks = []
    ends = {}
    for barre in shape.barres:
        ends[barre.low_string, barre.fret] = "start"
        ends[barre.high_string, barre.fret] = "stop"
    for string, stop in shape:
        finger = "" if stop.finger is None else str(stop.finger)
        if stop.silent:
            finger = f"({finger})"
        fingering = f"<fingering>{finger}</fingering>" if finger else ""
        end = ends.get((string, stop.fret))
        barre_end = f'<barre type="{end}"/>' if end and stop.fret else ""
        marks.append(
            f"<frame-note><string>{string}</string><fret>{stop.fret}</fret>{fingering}{barre_end}</frame-note>"
        )
    low = min(shape.frets, default=1)
    high = max(shape.frets, default=1)
    first = low if high > 4 else 1
    shown = f"<first-fret>{first}</first-fret>" if first > 1 else ""
    frets = max(high - first + 1, 4)
    return (
        f"<frame><frame-strings>{shape.strings}</frame-strings><frame-frets>{frets}</frame-frets>{shown}"
        f"{''.join(marks)}</frame>"
    )


def _pitch(number: int, prefix: str) -> str:
    """Return the elements of a pitch; `prefix` is `tuning-` for a string's."""
    step, alter = _STEPS[number % 12]
    altered = f"<{prefix}alter>{alter}</{prefix}alter>" if alter else ""
    return f"<{prefix}step>{step}</{prefix}step>{altered}<{prefix}octave>{number // 12 - 1}</{prefix}octave>"
