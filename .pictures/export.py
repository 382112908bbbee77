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
    # The reader's own monospace font will do; nothing is to be fetched from elsewhere.
    _PICTURE.write_text(re.sub(r"@font-face \{.*?\}|<!--.*?-->", "", picture, flags=re.DOTALL), encoding="utf-8")
    services.log.close()


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as home:
        os.environ["CHANGEOVER_HOME"] = home
        asyncio.run(export())
