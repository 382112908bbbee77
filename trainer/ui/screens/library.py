"""All drills: search by what is written of them, narrow by what they train, drill one."""

from __future__ import annotations

from textual import work
from textual.app import ComposeResult
from textual.content import Content
from textual.widgets import Input, OptionList, Static
from textual.worker import get_current_worker

from trainer.errors import Problem
from trainer.files.library import Entry, Library, library
from trainer.practice.drill import SKILLS, Drill
from trainer.ring import turned
from trainer.ui.command import Call, Place
from trainer.ui.messages import Open
from trainer.ui.screens.base import CommandScreen
from trainer.ui.services import Services
from trainer.ui.widgets.lines import TopLine, shortened
from trainer.ui.widgets.rows import Rows
from trainer.ui.widgets.words import Words

_ALL = ""
_TITLE = 34
"""Cells of the column of titles."""
_READ_AT_ONCE = 200
"""Drills whose heads are read before the list is shown; then it is shown at each doubling."""


class LibraryScreen(CommandScreen):
    """Every drill there is."""

    place = Place.LIBRARY
    CSS_PATH = "library.tcss"
    AUTO_FOCUS = "Input"
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
        yield Rows(fine=self.services.look.glyphs.fine)
        yield Words()

    def on_screen_resume(self) -> None:
        """List the drills by name at once; what is written of them is read in the background.

        They are listed again by who comes back: a drill may have been kept meanwhile.
        """
        super().on_screen_resume()
        found = library()
        if found != self._library:
            self._library = found
            self._read_heads()

    def on_input_changed(self, _: Input.Changed) -> None:
        """Show what fits what is typed."""
        self._show()

    def on_input_submitted(self, _: Input.Submitted) -> None:
        """Drill what is highlighted."""
        self._open()

    def on_option_list_option_highlighted(self, _: OptionList.OptionHighlighted) -> None:
        """Say what is known of the drill."""
        self._tell()

    def on_option_list_option_selected(self, _: OptionList.OptionSelected) -> None:
        """Drill what was clicked."""
        self._open()

    def do_open(self, _: Call) -> None:
        """Drill what is highlighted."""
        self._open()

    def do_line_up(self, _: Call) -> None:
        """Highlight the drill above."""
        self.query_one(OptionList).action_cursor_up()

    def do_line_down(self, _: Call) -> None:
        """Highlight the drill below."""
        self.query_one(OptionList).action_cursor_down()

    def do_page_up(self, _: Call) -> None:
        """Highlight a drill a page above."""
        self.query_one(OptionList).action_page_up()  # type: ignore[no-untyped-call]  # Textual leaves it untyped

    def do_page_down(self, _: Call) -> None:
        """Highlight a drill a page below."""
        self.query_one(OptionList).action_page_down()  # type: ignore[no-untyped-call]  # Textual leaves it untyped

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
                self.app.call_from_thread(self._have_read, count)
        broken = set()
        for entry in self._library.entries:
            if worker.is_cancelled:
                return
            if not entry.ships and entry.load(self.services.hand)[0] is None:
                broken.add(entry.name)
        if broken:
            self.app.call_from_thread(self._have_tried, frozenset(broken))

    def _have_tried(self, broken: frozenset[str]) -> None:
        """Mark the drills that cannot be used; the highlight stays where it is."""
        self._broken = broken
        drills = self.query_one(OptionList)
        at = drills.highlighted
        self._list()
        drills.highlighted = at

    def _have_read(self, count: int) -> None:
        self._read = count
        self._show()

    def _turn(self, by: int) -> None:
        self._skill = turned((_ALL, *SKILLS), self._skill, by)
        self._show()

    def _show(self) -> None:
        words = self.query_one(Input).value.casefold().split()
        known = self._library.entries[: self._read]
        fitting = (entry for entry in known if self._fits(entry, words))
        self._shown = tuple(sorted(fitting, key=lambda entry: _rank(entry, words)))
        self._list()
        self.query_one(OptionList).highlighted = 0 if self._shown else None
        what = f"trains: {self._skill} ({SKILLS[self._skill]})" if self._skill else "trains: anything"
        self.query_one("#skills", Static).update(what)
        self._show_count()
        self._tell()

    def _list(self) -> None:
        self.query_one(OptionList).set_options(
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
        index = self.query_one(OptionList).highlighted
        return None if index is None or index >= len(self._shown) else self._shown[index]

    def _loaded(self) -> tuple[Drill | None, tuple[Problem, ...]]:
        return (None, ()) if self._chosen is None else self._chosen.load(self.services.hand)

    def _tell(self) -> None:
        drill, problems = self._loaded()
        words = self.query_one(Words)
        if self._chosen is None:
            words.show("No drill fits. Take a letter back, or press TAB for another skill.")
        elif drill is None:
            words.show("", str(next(problem for problem in problems if not problem.warning)), warn=True)
        else:
            names = " ".join(step.name for step in drill.steps)
            words.show(f"{drill.about} {len(drill.pairs)} changes: {names}", drill.caution)

    def _open(self) -> None:
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
