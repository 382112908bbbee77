"""What the board costs: drawing a picture, one whole repaint, one lit string; beside a Static with the same picture.

Run `python tests/bench/bench_board.py`. A repaint is everything from the change being known to the escape codes that
a terminal would get: drawing the cells, rendering the rows, Textual's compositor, the codes; the yardstick draws the
same cells. All is measured in one run on one machine, so the ratios mean more than the milliseconds.
"""

from __future__ import annotations

import asyncio
import itertools
import time
from collections.abc import Callable

from rich.text import Text
from textual._compositor import CompositorUpdate
from textual.app import App, ComposeResult
from textual.widget import Widget
from textual.widgets import Static

from trainer.fretboard.instrument import Instrument
from trainer.fretboard.text import parse_shape
from trainer.hand.analysis import analyse
from trainer.hand.change import Change
from trainer.hand.reach import Hand
from trainer.ui.board.canvas import Picture
from trainer.ui.board.marks import Role, Sign
from trainer.ui.board.picture import draw
from trainer.ui.board.widget import Board

WIDTH, HEIGHT = 120, 12
ROUNDS = 300

PASSAGE = ("x 0 2/2 2/3 1/1 0", "x 3/3 2/2 0 1/1 0", "1/1 3/3 3/4 2/2 1/1 1/1", "3/2 2/1 0 0 0 3/3")
COLOURS = {
    "kept": "#5fd38d",
    "guide": "#5cc8ff",
    "cross": "#ff9f5a",
    "place": "#f2f2f2",
    "lift": "#b48ead",
    "barre": "#e5c07b",
    "good": "#5fd38d",
    "warn": "#ffd866",
    "dim": "#66707a",
}
RICH_STYLES = {role: f"{COLOURS.get(role, '#e0e0e0')} on #101418" for role in Role}


def changes() -> list[Change]:
    shapes = [parse_shape(text) for text in PASSAGE]
    return [analyse(a, b, Instrument(), Hand()) for a, b in itertools.pairwise([*shapes, shapes[0]])]


def as_text(picture: Picture) -> Text:
    """Return the picture as rich Text, the way a Static would be given it."""
    text = Text()
    for row in picture.rows:
        for run in row:
            text.append(run.text, RICH_STYLES[run.ink.role])
        text.append("\n")
    return text


class Bench(App[None]):
    CSS = "Board, Static { width: 120; height: 12; }"

    def get_theme_variable_defaults(self) -> dict[str, str]:
        return COLOURS

    def compose(self) -> ComposeResult:
        yield Board(id="board")
        yield Static(id="static")


def timed(times: list[float], work: Callable[[], object]) -> None:
    start = time.perf_counter()
    work()
    times.append((time.perf_counter() - start) * 1000)


def flush(app: App[None], widget: Widget) -> int:
    """Do what one frame does for a dirty widget; return how many characters a terminal would get."""
    # Textual has no public way to run one frame at once; the bench reads its compositor.
    compositor = app.screen._compositor
    compositor.update_widgets({widget})
    update = compositor.render_update(screen_stack=[])
    assert isinstance(update, CompositorUpdate)
    return len(update.render_segments(app.console))


def line(what: str, times: list[float], yardstick: list[float]) -> None:
    ordered = sorted(times)
    median, late = ordered[len(ordered) // 2], ordered[int(len(ordered) * 0.95)]
    share = median / sorted(yardstick)[len(yardstick) // 2]
    print(f"{what:<52}{median:9.3f}{late:9.3f}{share:8.2f} x")


async def main() -> None:
    app, passage = Bench(), changes()
    drawn: list[float] = []
    whole: list[float] = []
    row: list[float] = []
    static: list[float] = []
    static_row: list[float] = []
    sizes = {}
    async with app.run_test(size=(WIDTH, 2 * HEIGHT)) as pilot:
        board, yardstick = app.query_one(Board), app.query_one("#static", Static)
        await pilot.pause()
        for number in range(ROUNDS):
            change = passage[number % len(passage)]

            def only_draw(change: Change = change) -> None:
                draw(change, Instrument(), WIDTH, HEIGHT)

            def show(change: Change = change) -> None:
                board.show(change)
                sizes["whole"] = flush(app, board)

            def show_static(change: Change = change) -> None:
                picture = draw(change, Instrument(), WIDTH, HEIGHT)
                assert picture is not None
                yardstick.update(as_text(picture))
                sizes["static"] = flush(app, yardstick)

            def light(string: int = 1 + number % 6) -> None:
                board.light(string, Sign.HEARD)
                sizes["row"] = flush(app, board)

            timed(drawn, only_draw)
            timed(whole, show)
            timed(row, light)
            timed(static, show_static)
            # A Static knows no rows: one changed string costs it the whole picture.
            timed(static_row, show_static)
            await pilot.pause()
    print(f"{WIDTH}x{HEIGHT} cells, {ROUNDS} rounds; milliseconds  {'median':>16}{'95 %':>9}{'ratio':>10}")
    line("draw the cells (part of a whole repaint)", drawn, static)
    line("whole repaint, a new change", whole, static)
    line("one string lit, one row repainted", row, static_row)
    line("yardstick: Static with rich Text, whole", static, static)
    print("characters sent to the terminal:", ", ".join(f"{name} {size}" for name, size in sizes.items()))


if __name__ == "__main__":
    asyncio.run(main())
