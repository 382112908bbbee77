"""The player's own settings, for commands that go by them."""

from __future__ import annotations

from trainer.files import settings
from trainer.files.paths import settings_file


def own_settings() -> settings.Settings:
    """Return the settings as far as they can be read; what is wrong with them is told by the app and by `check`."""
    return settings.load(settings_file())[0]
