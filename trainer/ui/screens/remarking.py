"""The line for a remark, on a screen that practises a drill."""

from __future__ import annotations

from textual.widgets import Input

from trainer.ui.command import Call
from trainer.ui.drilling.rig import Rig
from trainer.ui.screens.base import CommandScreen


class Remarking(CommandScreen):
    """A screen with an input of the id `remark`, shown where the screen has the class `-remark`."""

    @property
    def rig(self) -> Rig:
        """What the drill runs on."""
        raise NotImplementedError

    def do_remark(self, _: Call) -> None:
        """Open the line for a remark."""
        self.rig.conductor.say("One line about this run: enter keeps it, esc drops it.")
        self.set_class(True, "-remark")
        self.show_own_keys()
        self.query_one("#remark", Input).focus()

    def do_close(self, call: Call) -> None:
        """Close the remark's line where it is open, else the screen."""
        if self.has_class("-remark"):
            self._end_remark()
            self.rig.conductor.say("")
        else:
            super().do_close(call)

    def on_input_submitted(self, message: Input.Submitted) -> None:
        """Keep the remark."""
        said = self.rig.remark(message.value.strip())
        self._end_remark()
        self.rig.conductor.say(said)

    def _end_remark(self) -> None:
        self.query_one("#remark", Input).clear()
        self.set_focus(None)
        self.set_class(False, "-remark")
        self.show_own_keys()
