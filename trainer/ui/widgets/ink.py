"""The style of a widget's component class, as content takes it."""

from __future__ import annotations

from textual.style import Style
from textual.widget import Widget

_REVERSED = Style(reverse=True)


def ink(widget: Widget, component: str) -> Style:
    """Return the style of a component class of `widget`.

    Textual 8.2 leaves `reverse` out of what `get_visual_style` returns; without colours nothing else tells a key or a
    chosen line apart.
    """
    style = widget.get_visual_style(component)
    return style + _REVERSED if widget.get_component_styles(component).text_style.reverse else style
