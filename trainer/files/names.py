"""Names of files that every system takes."""

from __future__ import annotations

import re
import unicodedata

_LONGEST = 60
"""Characters."""


def file_name(title: str, otherwise: str = "drill") -> str:
    """Return `title` in small letters, digits and hyphens; `otherwise` where it has none of them."""
    bare = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", bare)[:_LONGEST].strip("-") or otherwise
