"""Export the README's picture of the drill screen from the running app: `python .pictures/export.py`."""

from __future__ import annotations

import asyncio
import os
import re
import tempfile
from pathlib import Path

from trainer.practice.phases import Mode
from trainer.practice.quick import from_shapes
from trainer.ui.app import ChangeoverApp
from trainer.ui.messages import Open
from trainer.ui.services import open_services

_PICTURE = Path(__file__).parent / "drill.svg"
_LEFT_OUT = re.compile(
    r"@font-face \{.*?\}|<!--.*?-->|<g transform=\"translate\(26,22\)\">.*?</g>",
    flags=re.DOTALL,
)
"""Fonts, for nothing is to be fetched and the reader's own will do, and the buttons of a window that is nobody's."""


async def export() -> None:
    """Drill two changes, then save what the screen shows."""
    services = open_services()
    drill = from_shapes(["Am", "C", "G", "Em"])
    app = ChangeoverApp(services, Open("drill", drill=drill, mode=Mode.PRESSES))
    async with app.run_test(size=(100, 30)) as pilot:
        for wait in (0.9, 0.7, 0.8, 0.6, 0.3, 0.7, 0.4, 0.5):
            await pilot.press("space")
            await pilot.pause(wait)
        picture = app.export_screenshot(title="changeover drill Am C G Em")
    _PICTURE.write_text(_LEFT_OUT.sub("", picture), encoding="utf-8")
    services.log.close()


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as home:
        os.environ["CHANGEOVER_HOME"] = home
        asyncio.run(export())
