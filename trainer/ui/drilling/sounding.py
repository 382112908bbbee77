"""The click and the reference chord beside a conductor, as the player has set them. No Textual."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from trainer.errors import plain
from trainer.practice.drill import Drill
from trainer.practice.effects import StartBeat
from trainer.sound.beat import Moments, Pattern, Weight
from trainer.sound.player import Player
from trainer.sound.ways import Choice, Way
from trainer.ui.drilling.ticker import evenly

if TYPE_CHECKING:
    from trainer.files.settings import Settings
    from trainer.sound.clicks import Samples
    from trainer.ui.drilling.scheduler import Scheduler
    from trainer.ui.services import Services

_OPENED = frozenset({Way.SOUND, Way.PORT})
"""Ways for which something has to be opened."""
_INSTEAD = {
    Way.PORT: "It goes out on the MIDI port Changeover click.",
    Way.BELL: "The terminal's bell rings the beat.",
    Way.NONE: "Nothing else sounds the beat.",
}
"""What is said of the way that is taken in place of the one that was wanted."""


def accents(meter: tuple[int, int], settings: Settings) -> tuple[int, ...]:
    """Return the accented beats of a bar: as set, else the first and, in a compound meter, of each group of three."""
    beats, value = meter
    if settings.click_accents:
        return tuple(beat for beat in settings.click_accents if beat <= beats)
    compound = value >= 8 and beats > 3 and beats % 3 == 0
    return tuple(range(1, beats + 1, 3)) if compound else (1,)


class Sounding:
    """What sounds at one drill. Whether or not anything can, the beat goes on."""

    def __init__(
        self,
        services: Services,
        drill: Drill,
        scheduler: Scheduler,
        ring: Callable[[], None] | None,
        say: Callable[[str], None],
    ) -> None:
        """Open nothing yet; `ring` rings the terminal's bell, where there is one, `say` tells the player a line."""
        self._services, self._scheduler, self._ring, self._say = services, scheduler, ring, say
        self._wanted = Way(services.settings.click)
        self.turn_to(drill)
        self._click = self._player(self._click_opened)
        self._chord = self._click if self._wanted is Way.SOUND else self._player(self._chord_opened)
        self._beats: int | None = None
        self._asked = False

    @property
    def rings(self) -> bool:
        """True where the beat rings the terminal's bell: it is wanted, or nothing better can be had or told."""
        if not self._has_bell or self._wanted is Way.NONE:
            return False
        choice = self._click.choice
        # Nobody can tell whether anything is connected to a port that was not asked for.
        return self._wanted is Way.BELL or (choice is not None and choice.way is not self._wanted)

    def turn_to(self, drill: Drill) -> None:
        """Sound for `drill` from the next beat on that is begun."""
        settings = self._services.settings
        self._drill = drill
        self._pattern = Pattern(
            beats=drill.meter[0],
            accents=accents(drill.meter, settings),
            per_beat=settings.click_parts,
            silent_every=2 if settings.silent_bars else 0,
        )

    def start(self) -> None:
        """Open what the click needs, aside, so that it is there when a run begins."""
        if self._wanted in _OPENED:
            self._open(self._click, self._wanted)

    def begin(self, beat: StartBeat) -> Moments:
        """Begin the click, and return when each of its beats is heard."""
        self._beats = 0
        if self._wanted not in _OPENED:
            return evenly(self._services.clock(), 60 / beat.tempo)
        self.start()
        return self._click.play(beat.tempo, self._pattern)

    def end(self) -> None:
        """End the click."""
        self._beats = None
        self._click.stop()

    def bell(self, _: bool) -> None:
        """Ring for go; ring a beat where nothing else sounds it and it is not to be silent."""
        if self._beats is None:
            self._ring_bell()
            return
        weight = self._pattern.weight(self._beats * self._pattern.per_beat)
        self._beats += 1
        if self.rings and weight is not Weight.SILENT:
            self._ring_bell()

    def chord(self, step: int, tempo: float) -> None:
        """Let step `step` of the drill sound as it should at `tempo`, once it has been worked out."""
        self._open(self._chord, Way.SOUND, only=self._chord is not self._click)
        drill, self._asked = self._drill, True

        def work_out() -> Samples:
            from trainer.sound.chord import chord
            from trainer.sound.device import RATE

            return chord(drill.steps[step], drill.instrument, tempo, RATE)

        self._scheduler.aside(work_out, self._sound)

    def close(self) -> None:
        """Let go of what was opened, aside."""
        for player in {self._click, self._chord}:
            player.close()

    @property
    def _has_bell(self) -> bool:
        return self._services.bell and self._ring is not None

    def _ring_bell(self) -> None:
        if self._has_bell and self._ring is not None:
            self._ring()

    def _player(self, told: Callable[[Choice], None]) -> Player:
        player = Player(self._scheduler.soon, told, self._services.clock, self._services.opening)
        self._services.ending.append(player.wait)
        return player

    def _open(self, player: Player, wanted: Way, *, only: bool = False) -> None:
        late_s = self._services.settings.click_late_ms / 1000
        player.open(wanted, bell=self._has_bell, late_s=late_s, only=only)

    def _sound(self, samples: Samples) -> None:
        if not self._chord.sound(samples):
            self._no_chord()

    def _no_chord(self) -> None:
        why = self._chord.choice.hindered if self._chord.choice is not None else ""
        self._say(plain(f"No chord can sound: {why or 'no sound device'}."))

    def _click_opened(self, choice: Choice) -> None:
        """Say once why the click is not heard as it was wanted."""
        if choice.way is self._wanted:
            return
        instead = _INSTEAD[choice.way]
        if choice.way is Way.PORT and self.rings:
            instead = "It goes out on the MIDI port Changeover click, and the bell rings."
        told = plain(f"No click by {self._wanted}: {choice.hindered}. {instead}")
        if told not in self._services.told:
            self._services.told.add(told)
            self._say(told)
        elif self._asked:
            self._no_chord()

    def _chord_opened(self, choice: Choice) -> None:
        if choice.way is not Way.SOUND:
            self._no_chord()
