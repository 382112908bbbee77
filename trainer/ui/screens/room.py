"""A drill before a class: the board as large as the terminal allows, the beat, and what came of each round."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from trainer.listen.decoder import Call as PedalCall
from trainer.practice.drill import Drill
from trainer.practice.room import Phase, Scope, Show
from trainer.practice.rounds import Aim
from trainer.ui.board.canvas import Picture
from trainer.ui.command import Call, Place
from trainer.ui.drilling.passings import Passings
from trainer.ui.loop import LoopScheduler
from trainer.ui.messages import Open
from trainer.ui.room import seating
from trainer.ui.room.desk import Desk, Group, Outlets
from trainer.ui.room.picture import Painter
from trainer.ui.room.scene import Scene
from trainer.ui.screens import pedals
from trainer.ui.screens.projected import Projected
from trainer.ui.services import Services
from trainer.ui.widgets.room import RoomView

_DRAWN = {Show.BOTH: "shape only", Show.SHAPE: "movement only", Show.MOVEMENT: "shape and movement"}
"""What the key that changes what is drawn leads to."""


class RoomScreen(Projected):
    """One drill before a class."""

    place = Place.ROOM
    CSS_PATH = "room.tcss"

    def __init__(
        self, services: Services, drill: Drill, tempo: float | None = None, group: Group | None = None
    ) -> None:
        """Show `drill` at the tempo given, else its own; `group` plays rounds, None: nobody is marked."""
        super().__init__(services)
        self._drill, self._tempo, self._first = drill, tempo, group
        self._passings = Passings(drill, services.hand)
        self._painter = Painter()
        self._desk: Desk | None = None

    def on_mount(self) -> None:
        """Stand before the first change."""
        scheduler = LoopScheduler(self.services.clock, self.fail)
        outlets = Outlets(self.app.bell, self._show, self._mark, self._pedal)
        self._desk = Desk(self.services, self._drill, scheduler, outlets, self._first)
        if self._tempo is not None:
            self._desk.aim = Aim(self._tempo)
        self._desk.start()
        self._show()

    def on_unmount(self) -> None:
        """Let go of what sounds."""
        self.desk.close()

    @property
    def desk(self) -> Desk:
        """What stands behind it."""
        if self._desk is None:
            raise RuntimeError("the screen was not mounted")
        return self._desk

    @property
    def may_turn(self) -> bool:
        """False while the beat goes."""
        return self.desk.room.phase is not Phase.PLAYING

    def do_room_again(self, _: Call) -> None:
        """Count in and play."""
        self.desk.again()

    def do_room_next(self, _: Call) -> None:
        """Go on to the next part."""
        self.desk.move(1)

    def do_room_before(self, _: Call) -> None:
        """Go back to the part before."""
        self.desk.move(-1)

    def do_room_slower(self, _: Call) -> None:
        """One step slower."""
        self.desk.tempo(-1)

    def do_room_faster(self, _: Call) -> None:
        """One step faster."""
        self.desk.tempo(1)

    def do_room_part(self, _: Call) -> None:
        """Play more of the drill in a round, or less."""
        self.desk.other_scope()

    def do_room_hide(self, _: Call) -> None:
        """Show only the names, or all again."""
        self.desk.look(replace(self.desk.room, hidden=not self.desk.room.hidden))

    def do_room_freeze(self, _: Call) -> None:
        """Stop the beat where it is, or go on."""
        self.desk.freeze()

    def do_room_show(self, _: Call) -> None:
        """Draw something else of the change."""
        self.desk.look(self.desk.room.other_show())

    def do_room_mirror(self, _: Call) -> None:
        """Draw it for both hands, or once."""
        self.desk.look(replace(self.desk.room, both_hands=not self.desk.room.both_hands))

    def show_own_keys(self) -> None:
        """Show the keys as they are now: what a key leads to stands at it."""
        if self._desk is None:
            return
        room = self.desk.room
        labels = {
            "room_again": "again" if self.desk.played else "play",
            "room_hide": "show" if room.hidden else "hide",
            "room_freeze": "go on" if room.phase is Phase.FROZEN else "freeze",
            "room_show": _DRAWN[room.show],
            "room_mirror": "one hand" if room.both_hands else "both hands",
        }
        self.show_keys(labels)

    def _mark(self) -> None:
        """Let the round that is over be marked."""
        self.post_message(Open("marks", desk=self.desk))

    def _pedal(self, called: PedalCall) -> None:
        """Do what a MIDI pedal calls, on the screen that is seen: a round may be being marked."""
        pedals.call(self.app.screen, called)

    def _show(self) -> None:
        """Show what is due."""
        if self._desk is None or not self.query(RoomView):  # while it is taken down
            return
        self.set_class(self.desk.room.phase is Phase.PLAYING, "-playing")
        self.query_one(RoomView).show(self._picture())
        self.show_own_keys()

    def _picture(self) -> Callable[[int, int], Picture]:
        """Return what draws the change at hand, or what came of the round before."""
        desk, look = self.desk, self.services.look
        if desk.last is not None and desk.group is not None:
            group, last, tempo, said = desk.group, desk.last, desk.aim.tempo, desk.said
            return lambda width, height: seating.told(group, last, tempo, said, look, width, height)
        scene = self._scene()
        return lambda width, height: self._painter.draw(scene, look, width, height)

    def _scene(self) -> Scene:
        desk, room = self.desk, self.desk.room
        moment = room.moment
        pair = room.legs[moment.leg].pair
        passing = self._passings[pair]
        names = (passing.after.name, "") if moment.arrived else (passing.before.name, passing.after.name)
        return Scene(
            change=passing.change,
            instrument=self._drill.instrument,
            names=names,
            words="" if room.hidden else passing.words,
            beat=moment.beat,
            counting=moment.counting,
            tempo=desk.aim.tempo,
            said=self._said(),
            show=room.show,
            arrived=moment.arrived,
            hidden=room.hidden,
            both_hands=room.both_hands,
        )

    def _said(self) -> str:
        """Return what there is to say besides, what matters most alone."""
        desk, room = self.desk, self.desk.room
        if desk.said or desk.ears.trouble:
            return desk.said or desk.ears.trouble
        if room.phase is Phase.FROZEN:
            return "frozen"
        if room.hidden:
            return "from memory"
        part = room.part.name if room.scope is not Scope.SEGMENT else f"segment: {room.part.name}"
        there, of = desk.ears.there
        if not of or room.phase is Phase.PLAYING:
            return part
        return f"{part}; guitars: {of}" if there == of else f"{part}; guitars: {there} of {of}"
