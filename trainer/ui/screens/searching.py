"""A list that is narrowed by what is typed into the line above it: what the library and the scores share."""

from __future__ import annotations

from textual.widgets import Input, OptionList

from trainer.ui.screens.base import CommandScreen


class Searching(CommandScreen):
    """A screen with one `Input` and one `OptionList`; what is highlighted is opened by enter or a click."""

    AUTO_FOCUS = "Input"

    def show(self) -> None:
        """List what fits what is typed."""
        raise NotImplementedError

    def tell(self) -> None:
        """Say what is highlighted."""
        raise NotImplementedError

    def open(self) -> None:
        """Open what is highlighted."""
        raise NotImplementedError

    @property
    def typed(self) -> str:
        """What is typed."""
        return self.query_one(Input).value

    @property
    def lines(self) -> OptionList:
        """The list."""
        return self.query_one(OptionList)

    def on_input_changed(self, _: Input.Changed) -> None:
        """List what fits what is typed now."""
        self.show()

    def on_input_submitted(self, _: Input.Submitted) -> None:
        """Open what is highlighted."""
        self.open()

    def on_option_list_option_highlighted(self, _: OptionList.OptionHighlighted) -> None:
        """Say what is highlighted now."""
        self.tell()

    def on_option_list_option_selected(self, _: OptionList.OptionSelected) -> None:
        """Open what was clicked."""
        self.open()
