"""How large the room view's symbols are, and what a beat costs on it.

Run `python tests/bench/bench_room.py`. Angles are those of a symbol's height for somebody who sits so many picture
heights from the screen: 16 minutes of arc is the least for reading and 20 to 22 are comfortable (the figures of the
ergonomics standard ISO 9241-303, from memory). Times are of one run on one machine; the ratios mean more.
"""

from __future__ import annotations

import asyncio
import math
import time
from collections.abc import Callable
from dataclasses import replace

from textual._compositor import CompositorUpdate
from textual.app import App, ComposeResult

from tests.bench.bench_board import COLOURS
from tests.ui.room.scenes import scene
from trainer.ui.board import blocks
from trainer.ui.board.picture import Look
from trainer.ui.board.widget import Board
from trainer.ui.room.neck import SCALES, mark_size
from trainer.ui.room.picture import Painter, symbol
from trainer.ui.room.scene import Scene
from trainer.ui.widgets.room import RoomView

SIZES = ((60, 21), (80, 24), (120, 40), (160, 48), (200, 60))
FAR = (4, 6, 8)
"""Picture heights to the last row of seats."""
ROUNDS = 200


def angle(rows: float, of: int, heights: float) -> float:
    """Return minutes of arc of `rows` out of `of` from so many picture heights away."""
    return math.degrees(math.atan(rows / of / heights)) * 60


def tell_sizes() -> None:
    print("cells of a finger's mark and of its number, and the number's angle in minutes of arc")
    far = "".join(f"{f'{heights} heights':>11}" for heights in FAR)
    print(f"{'window':>10} {'frets':>5} {'mark':>7} {'number':>7}{far}{'  a letter of text':>20}")
    for width, height in SIZES:
        for pair, both in ((("Am", "C"), False), (("G at III", "A at V"), False), (("Am", "C"), True)):
            seen = scene(*pair, both_hands=both)
            mark = symbol(seen, width, height - 1)
            scale = next((scale for scale in SCALES if mark_size(scale) == mark), 1 if mark[1] == 3 else 0)
            number = blocks.size(scale) if scale else (1, 1)
            rows = 2.5 * scale if scale else 1.0
            angles = "".join(f"{angle(rows, height, heights):11.0f}" for heights in FAR)
            frets = f"{4 if pair[0] == 'Am' else 5}{' x2' if both else ''}"
            sizes = f"{mark[0]:>4}x{mark[1]:<2} {number[0]:>4}x{number[1]:<2}"
            print(f"{width:>6}x{height:<3} {frets:>5} {sizes}{angles}{angle(1, height, FAR[1]):20.0f}")


class Bench(App[None]):
    CSS = "RoomView, Board { width: 200; height: 59; }"

    def get_theme_variable_defaults(self) -> dict[str, str]:
        return COLOURS

    def compose(self) -> ComposeResult:
        yield RoomView(Look())
        yield Board()


def timed(times: list[float], work: Callable[[], object]) -> None:
    start = time.perf_counter()
    work()
    times.append((time.perf_counter() - start) * 1000)


def flush(app: App[None], widget: RoomView | Board) -> None:
    """Do what one frame does for a dirty widget."""
    # Textual has no public way to run one frame at once; the bench reads its compositor.
    compositor = app.screen._compositor
    compositor.update_widgets({widget})
    update = compositor.render_update(screen_stack=[])
    assert isinstance(update, CompositorUpdate)
    update.render_segments(app.console)


def line(what: str, times: list[float], yardstick: list[float]) -> None:
    ordered = sorted(times)
    median, late = ordered[len(ordered) // 2], ordered[int(len(ordered) * 0.95)]
    print(f"{what:<46}{median:9.2f}{late:9.2f}{median / sorted(yardstick)[len(yardstick) // 2]:8.2f} x")


async def tell_times() -> None:
    app = Bench()
    first: list[float] = []
    beat: list[float] = []
    change: list[float] = []
    cells: list[float] = []
    board: list[float] = []
    painter = Painter()
    changes = tuple(scene(*pair, beat=1) for pair in (("Am", "C"), ("C", "F"), ("F", "G")))
    async with app.run_test(size=(200, 120)) as pilot:
        view, small = app.query_one(RoomView), app.query_one(Board)
        await pilot.pause()

        def shown(seen: Scene) -> None:
            view.show(lambda width, height: painter.draw(seen, Look(), width, height))
            flush(app, view)

        for seen in changes:
            timed(first, lambda seen=seen: painter.draw(seen, Look(), 200, 59))  # type: ignore[misc]  # called at once

        def on_board(seen: Scene) -> None:
            small.show(seen.change)
            flush(app, small)

        for number in range(ROUNDS):
            new = changes[number % 3]
            later = replace(new, beat=2)
            timed(change, lambda new=new: shown(new))  # type: ignore[misc]  # bound now, called at once
            timed(beat, lambda later=later: shown(later))  # type: ignore[misc]  # as above
            timed(cells, lambda later=later: painter.draw(later, Look(), 200, 59))  # type: ignore[misc]  # as above
            timed(board, lambda new=new: on_board(new))  # type: ignore[misc]  # as above
            await pilot.pause()
    print(f"\n200x59 cells, {ROUNDS} rounds; milliseconds {'median':>11}{'95 %':>9}{'ratio':>10}")
    line("yardstick: the drill's board, a new change", board, board)
    line("the room, a new change", change, board)
    line("the room, the next beat", beat, board)
    line("of it, drawing the text", cells, board)
    line("drawing boards that are not drawn yet", first, board)


if __name__ == "__main__":
    tell_sizes()
    asyncio.run(tell_times())
