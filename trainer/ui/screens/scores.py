"""Scores on this machine: folders and files, narrowed by what is typed; the one chosen is opened to take bars of it."""

from __future__ import annotations

from pathlib import Path

from textual.app import ComposeResult
from textual.content import Content
from textual.widgets import Input

from trainer.counts import plural
from trainer.errors import plain
from trainer.scores.names import SUFFIXES
from trainer.ui.choosing.folders import Item, Shelf, first_folder, listed, named
from trainer.ui.command import Call, Place
from trainer.ui.loop import LoopScheduler
from trainer.ui.messages import Open
from trainer.ui.screens.searching import Searching
from trainer.ui.services import Services
from trainer.ui.widgets.lines import TopLine
from trainer.ui.widgets.prompt import Prompt
from trainer.ui.widgets.rows import Rows
from trainer.ui.widgets.words import Words


class ScoresScreen(Searching):
    """A folder at a time."""

    place = Place.SCORES
    CSS_PATH = "scores.tcss"
    heading = "Scores"

    def __init__(self, services: Services) -> None:
        """List nothing yet."""
        super().__init__(services)
        self._shelf = Shelf(first_folder(services.kept.scores, Path.home()))
        self._shown: tuple[Item, ...] = ()
        self._scheduler: LoopScheduler | None = None
        self._waiting: Path | None = None

    def body(self) -> ComposeResult:
        """Lay out what is typed, the lines, and what there is to say."""
        yield Input(placeholder="type to narrow: a part of a name; or a whole path")
        yield Rows(fine=self.fine)
        yield Words()
        yield Prompt()

    def on_mount(self) -> None:
        """List the folder looked in last."""
        self._scheduler = LoopScheduler(self.services.clock, self.fail)
        self._list(self._shelf.folder)

    def do_score_open(self, _: Call) -> None:
        """Open the folder or score that is highlighted."""
        self.open()

    def do_score_up(self, _: Call) -> None:
        """Highlight the line above."""
        self.lines.action_cursor_up()

    def do_score_down(self, _: Call) -> None:
        """Highlight the line below."""
        self.lines.action_cursor_down()

    def do_folder_above(self, _: Call) -> None:
        """List the folder above."""
        self._list(self._shelf.folder.parent)

    def _list(self, folder: Path) -> None:
        """List `folder`, away from the screen: it may lie on a disk that is slow to wake."""
        if self._scheduler is not None:
            self._waiting = folder
            self._scheduler.aside(lambda: listed(folder), self._have_listed)

    def _have_listed(self, shelf: Shelf) -> None:
        if not self.is_attached or shelf.folder != self._waiting:
            return
        before, self._waiting = self._shelf.folder, None
        self._shelf = shelf
        self.query_one(Input).value = ""
        self.show()
        # Who comes up from a folder stands on it again.
        at = next((index for index, item in enumerate(self._shown) if item.path == before), self._first_line)
        self.lines.highlighted = at
        self.tell()

    @property
    def _first_line(self) -> int | None:
        """The first line that does not lead back up, where there is one."""
        return min(1, len(self._shown) - 1) if self._shown else None

    def show(self) -> None:
        """List the folders and scores that fit what is typed."""
        typed = self.typed
        self._shown = () if named(typed) else self._shelf.fitting(typed)
        self.lines.set_options(Content.styled(item.name, "bold" if not item.folder else "") for item in self._shown)
        self.lines.highlighted = (0 if typed else self._first_line) if self._shown else None
        where = f"{self.heading} in {plain(str(self._shelf.folder))}"
        self.query_one(TopLine).show(where, plural(self._shelf.scores, "score"))
        self.tell()

    @property
    def _chosen(self) -> Item | None:
        at = self.lines.highlighted
        return None if at is None or at >= len(self._shown) else self._shown[at]

    def tell(self) -> None:
        """Say what would be opened."""
        typed, item = named(self.typed), self._chosen
        words, prompt = self.query_one(Words), self.query_one(Prompt)
        words.show(f"Scores are files that end in {' '.join(SUFFIXES)}.", self._shelf.said, warn=True)
        if typed is not None:
            prompt.show("ENTER", f"opens {plain(str(typed))}.")
        elif item is None:
            prompt.show("", "Nothing here fits. Take a letter back, or TAB for the folder above.")
        elif item.folder:
            prompt.show("ENTER", f"looks into {plain(str(item.path))}.", "looks into this folder.")
        else:
            prompt.show("ENTER", f"takes bars of {item.name}.")

    def open(self) -> None:
        """Open what is typed in full, else what is highlighted."""
        typed, item = named(self.typed), self._chosen
        path = typed or (None if item is None else item.path)
        if path is None:
            return
        if item.folder if item is not None and typed is None else path.is_dir():
            self._list(path)
            return
        folder = str(path.parent)
        if folder != self.services.kept.scores and folder.isprintable():
            self.services.keep_scores(folder)
        self.post_message(Open("score", path=path))
