"""The matcher: from note events to heard changes. Pure."""

from trainer.listen.matcher.matcher import Matcher, Reading, hear
from trainer.listen.matcher.settings import Filters, Grid, Settings

__all__ = ["Filters", "Grid", "Matcher", "Reading", "Settings", "hear"]
