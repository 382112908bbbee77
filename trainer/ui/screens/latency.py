"""How late the click is heard: it sounds, the player plays along, and what came of it can be kept."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from textual.app import ComposeResult

from trainer.errors import ChangeoverError, plain
from trainer.listen.arrival import Arrival, Report
from trainer.listen.decoder import Decoder
from trainer.practice.notes import NoteOn
from trainer.sound.beat import Pattern
from trainer.sound.player import Player
from trainer.sound.ways import Choice, Way
from trainer.ui.along import BEATS, KEYS, TEMPO, Along, Outcome, outcome
from trainer.ui.command import Call, Place
from trainer.ui.drilling.scheduler import Cancel
from trainer.ui.loop import LoopScheduler
from trainer.ui.played import source_name
from trainer.ui.screens.base import CommandScreen
from trainer.ui.services import PortListener, Services
from trainer.ui.widgets.headline import Headline
from trainer.ui.widgets.lines import TopLine
from trainer.ui.widgets.prompt import Prompt
from trainer.ui.widgets.words import Words

_PATTERN = Pattern(count_in=0)
_TAIL_S = 0.6
"""The last stroke may come so long after its click."""
ABOUT = (
    f"{BEATS} clicks sound, a little slower than you walk. Play one stroke with each, by ear: close your eyes. The "
    "first four are for finding the beat."
)
GUITAR = "Better with the guitar that is set up than with a key: pluck one string, it is what will be graded."
NO_GUITAR = "Tap the key. A guitar that is set up would be better: it is what is graded."
DEAF = "Nothing is to be found here: the beat is seen, and what is seen comes when it should."
"""Said where no click can sound."""


class LatencyScreen(CommandScreen):
    """Playing along with the click, as often as wanted."""

    place = Place.LATENCY
    CSS_PATH = "latency.tcss"
    heading = "Click delay"

    def __init__(self, services: Services) -> None:
        """Open nothing yet."""
        super().__init__(services)
        self._along: Along | None = None
        self._outcome: Outcome | None = None
        self._moments: Callable[[Fraction], float] | None = None
        self._cancel: Cancel | None = None
        self._listening: PortListener | None = None
        self._decoders: dict[str, Decoder] = {}
        self._said = ""

    def body(self) -> ComposeResult:
        """Lay out what is seen: nothing of it moves with the beat, which is to be heard."""
        yield Headline(fine=self.fine)
        yield Words()
        yield Prompt()

    def on_mount(self) -> None:
        """Open the sound device, and listen to the guitars that are set up."""
        services = self.services
        scheduler = self._scheduler = LoopScheduler(services.clock, self.fail)
        self._player = Player(scheduler.soon, lambda _: self._show(), services.clock, services.opening)
        services.ending.append(self._player.wait)
        # What is looked for is not to be in it.
        self._player.open(Way.SOUND, late_s=0.0, only=True)
        if services.guitars:
            wanted = set(services.guitars)
            self._listening = services.listen(
                wanted, lambda batch: scheduler.soon(lambda: self._hear(batch)), services.clock
            )
            self._listening.start()
        self._show()

    def on_unmount(self) -> None:
        """Let go of what was opened."""
        self._stop()
        self._player.close()
        if self._listening is not None:
            self._listening.close()

    @property
    def may_turn(self) -> bool:
        """False while the clicks sound: every press is a stroke."""
        return self._along is None

    def do_along_go(self, call: Call) -> None:
        """Begin; while it sounds, tap; once it is over, keep what was found and leave."""
        if self._along is not None:
            self.do_along_tap(call)
        elif self._outcome is not None and self._outcome.ms is not None:
            self._keep(call, self._outcome.ms)
        elif self._deaf:
            self.do_close(call)
        else:
            self._begin()

    def do_along_tap(self, call: Call) -> None:
        """Take a tap at the moment its key came in."""
        if self._along is not None:
            self._along = self._along.struck(call.at, KEYS)
            self._show()

    def do_along_again(self, _: Call) -> None:
        """Begin anew, whatever was found."""
        if not self._deaf:
            self._stop()
            self._begin()

    @property
    def _choice(self) -> Choice | None:
        return self._player.choice

    @property
    def _deaf(self) -> bool:
        """True where no click can sound."""
        return self._choice is not None and self._choice.way is not Way.SOUND

    def _begin(self) -> None:
        """Begin to click, once there is something to click through."""
        if self._choice is None:
            return
        self._along, self._outcome, self._said = Along(), None, ""
        moments = self._moments = self._player.play(TEMPO, _PATTERN)
        self._cancel = self._scheduler.at(moments(Fraction(BEATS - 1)) + self._slack, self._over)
        self._show()

    @property
    def _slack(self) -> float:
        """How long after the last click is sent its stroke may still come: delay that is set, and a slow hand."""
        return self.services.settings.click_late_ms / 1000 + _TAIL_S

    def _over(self) -> None:
        """Work out what was found, by the moments as the stream's clock knows them now."""
        along, moments = self._along, self._moments
        if along is not None and moments is not None:
            clicks = [moments(Fraction(number)) for number in range(BEATS)]
            self._outcome = outcome(clicks, along, self.services.settings.click_late_ms)
        self._stop()
        self._show()

    def _stop(self) -> None:
        self._along = self._moments = None
        self._player.stop()
        if self._cancel is not None:
            self._cancel()
            self._cancel = None

    def _hear(self, batch: tuple[Report, ...]) -> None:
        """Take what guitars play; each string's own latency is taken off, as it will be where it is graded."""
        for report in batch:
            if not isinstance(report, Arrival):
                continue
            port = report.port
            decoder = self._decoders.setdefault(port, Decoder(self.services.guitar(port).wiring))
            for event in decoder.feed(report.at, report.data):
                if isinstance(event, NoteOn) and self._along is not None:
                    self._along = self._along.struck(event.at, port)
        self._show()

    def _keep(self, call: Call, ms: int) -> None:
        try:
            self.services.change(click_late_ms=ms)
        except ChangeoverError as error:
            self._said = str(error.problems[0])
            self._show()
        else:
            self.do_close(call)

    def _show(self) -> None:
        if not self.query(TopLine):  # while it is taken down, a guitar may still play
            return
        headline, words = self.query_one(Headline), self.query_one(Words)
        self.query_one(TopLine).show(self.heading, f"{self.services.settings.click_late_ms} ms are set")
        along, found = self._along, self._outcome
        if self._deaf and self._choice is not None:
            headline.show("no click", "-")
            words.show(plain(f"No click can sound: {self._choice.hindered or 'no sound device'}."), DEAF)
        elif along is not None:
            headline.show(f"strokes, {BEATS} in all", str(len(along.strokes)))
            words.show(ABOUT, f"From {source_name(along.source)}." if along.source else "")
        elif found is not None:
            headline.show("found" if found.ms is not None else "not found", found.big)
            words.show(found.words, self._said or found.meaning, warn=bool(self._said))
        else:
            headline.show("play along", str(BEATS))
            words.show(ABOUT, GUITAR if self.services.guitars else NO_GUITAR)
        self._prompt()

    def _prompt(self) -> None:
        does, id_ = "begins.", "along_go"
        if self._deaf:
            does = "leaves."
        elif self._along is not None:
            does, id_ = "or a string, with each click.", "along_tap"
        elif self._choice is None:
            does = "begins, as soon as the sound device is open."
        elif self._outcome is not None:
            does = "begins again." if self._outcome.ms is None else f"keeps {self._outcome.ms} ms."
        self.query_one(Prompt).show(self.first_key(id_), does)
        self.show_own_keys()

    def show_own_keys(self) -> None:
        """Show the keys of this moment."""
        keep = "keep it" if self._outcome is not None and self._outcome.ms is not None else "begin"
        hidden = {"along_tap"} if self._along is None else {"along_go"}
        if self._outcome is None:
            hidden.add("along_again")
        if self._deaf:
            hidden.add("along_go")
        self.show_keys({"along_go": keep}, frozenset(hidden))
