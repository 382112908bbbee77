"""All drills: search by what is written of them, narrow by what they train, drill one."""

from __future__ import annotations

from textual import work
from textual.app import ComposeResult
from textual.content import Content
from textual.widgets import Input, Static
from textual.worker import get_current_worker

from trainer.errors import Problem
from trainer.files.library import Entry, Library, library
from trainer.practice.drill import SKILLS, Drill
from trainer.ring import turned
from trainer.ui.command import Call, Place
from trainer.ui.fitting import shortened
from trainer.ui.messages import Open
from trainer.ui.screens.searching import Searching
from trainer.ui.services import Services
from trainer.ui.widgets.lines import TopLine
from trainer.ui.widgets.rows import Rows
from trainer.ui.widgets.words import Words

_ALL = ""
_TITLE = 34
"""Cells of the column of titles."""
_READ_AT_ONCE = 200
"""Drills whose heads are read before the list is shown; then it is shown at each doubling."""


class LibraryScreen(Searching):
    """Every drill there is."""

    place = Place.LIBRARY
    CSS_PATH = "library.tcss"
    heading = "Drills"

    def __init__(self, services: Services) -> None:
        """List nothing yet."""
        super().__init__(services)
        self._library = Library((), ())
        self._shown: tuple[Entry, ...] = ()
        self._read = 0
        self._skill = _ALL
        self._broken: frozenset[str] = frozenset()

    def body(self) -> ComposeResult:
        """Lay out the search, the list and what is known of the highlighted drill."""
        yield Input(placeholder="type to search: a title, a chord, a word")
        yield Static(id="skills", markup=False)
        yield Rows(fine=self.fine)
        yield Words()

    def on_screen_resume(self) -> None:
        """List the drills by name at once; what is written of them is read in the background.

        They are listed again by who comes back: a drill may have been kept meanwhile.
        """
        found = library()
        if found != self._library:
            self._library = found
            self._read_heads()

    def do_open(self, _: Call) -> None:
        """Drill what is highlighted."""
        self.open()

    def do_line_up(self, _: Call) -> None:
        """Highlight the drill above."""
        self.lines.action_cursor_up()

    def do_line_down(self, _: Call) -> None:
        """Highlight the drill below."""
        self.lines.action_cursor_down()

    def do_page_up(self, _: Call) -> None:
        """Highlight a drill a page above."""
        self.lines.action_page_up()  # type: ignore[no-untyped-call]  # Textual leaves it untyped

    def do_page_down(self, _: Call) -> None:
        """Highlight a drill a page below."""
        self.lines.action_page_down()  # type: ignore[no-untyped-call]  # Textual leaves it untyped

    def do_scores_of_library(self, _: Call) -> None:
        """Look for a score."""
        self.post_message(Open("scores"))

    def do_room_of_library(self, __: Call) -> None:
        """Show what is highlighted to a class."""
        drill, _ = self._loaded()
        if drill is not None:
            self.post_message(Open("room", drill=drill))

    def do_bench_of_library(self, __: Call) -> None:
        """Compare ways to finger what is highlighted."""
        drill, _ = self._loaded()
        if drill is not None:
            self.post_message(Open("bench", drill=drill))

    def do_skill(self, _: Call) -> None:
        """Show only drills that train the next skill."""
        self._turn(1)

    def do_skill_before(self, _: Call) -> None:
        """Show only drills that train the skill before."""
        self._turn(-1)

    @work(thread=True, exclusive=True)
    def _read_heads(self) -> None:
        """Read the heads of all drills, away from the screen, which shows what there is so far."""
        worker, due = get_current_worker(), _READ_AT_ONCE
        for count, entry in enumerate(self._library.entries, start=1):
            if worker.is_cancelled:
                return
            _ = entry.head
            if count in (due, len(self._library.entries)):
                due = 2 * count
                self.from_thread(self._have_read, count)
        broken = set()
        for entry in self._library.entries:
            if worker.is_cancelled:
                return
            if not entry.ships and entry.load(self.services.hand)[0] is None:
                broken.add(entry.name)
        if broken:
            self.from_thread(self._have_tried, frozenset(broken))

    def _have_tried(self, broken: frozenset[str]) -> None:
        """Mark the drills that cannot be used; the highlight stays where it is."""
        self._broken = broken
        at = self.lines.highlighted
        self._list()
        self.lines.highlighted = at

    def _have_read(self, count: int) -> None:
        self._read = count
        self.show()

    def _turn(self, by: int) -> None:
        self._skill = turned((_ALL, *SKILLS), self._skill, by)
        self.show()

    def show(self) -> None:
        """List the drills that fit, and the first one highlighted."""
        words = self.typed.casefold().split()
        known = self._library.entries[: self._read]
        fitting = (entry for entry in known if self._fits(entry, words))
        self._shown = tuple(sorted(fitting, key=lambda entry: _rank(entry, words)))
        self._list()
        self.lines.highlighted = 0 if self._shown else None
        what = f"trains: {self._skill} ({SKILLS[self._skill]})" if self._skill else "trains: anything"
        self.query_one("#skills", Static).update(what)
        self._show_count()
        self.tell()

    def _list(self) -> None:
        self.lines.set_options(
            _row(entry, broken=not entry.ships and entry.name in self._broken) for entry in self._shown
        )

    def _show_count(self) -> None:
        self.query_one(TopLine).show(self.heading, f"{len(self._shown)} of {len(self._library.entries)}")

    def _fits(self, entry: Entry, words: list[str]) -> bool:
        if self._skill and self._skill not in entry.head.trains:
            return False
        written = " ".join((entry.name, *entry.head[:2], *entry.head.trains)).casefold()
        return all(word in written for word in words)

    @property
    def _chosen(self) -> Entry | None:
        index = self.lines.highlighted
        return None if index is None or index >= len(self._shown) else self._shown[index]

    def _loaded(self) -> tuple[Drill | None, tuple[Problem, ...]]:
        return (None, ()) if self._chosen is None else self._chosen.load(self.services.hand)

    def tell(self) -> None:
        """Say what is known of the drill that is highlighted."""
        drill, problems = self._loaded()
        words = self.query_one(Words)
        if self._chosen is None:
            words.show("No drill fits. Take a letter back, or press TAB for another skill.")
        elif drill is None:
            words.show("", str(next(problem for problem in problems if not problem.warning)), warn=True)
        else:
            names = " ".join(step.name for step in drill.steps)
            words.show(f"{drill.about} {len(drill.pairs)} changes: {names}", drill.caution)

    def open(self) -> None:
        """Drill what is highlighted."""
        drill, _ = self._loaded()
        if drill is not None:
            self.post_message(Open("drill", drill=drill))


def _rank(entry: Entry, words: list[str]) -> tuple[bool, bool, str]:
    """Return what to sort by: what has every word in its name or title, then the user's own, then the title."""
    title = entry.head.title.casefold()
    named_so = all(word in f"{entry.name} {title}".casefold() for word in words)
    return not named_so, entry.ships, title


def _row(entry: Entry, *, broken: bool) -> Content:
    title = shortened(entry.head.title, _TITLE)
    trains = "! cannot be used, see below" if broken else ", ".join(entry.head.trains)
    return Content.assemble(Content.styled(f"{title:<{_TITLE}}", "bold"), "  ", Content(trains))
