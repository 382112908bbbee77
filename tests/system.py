"""Programs that some tests need beside Python: skipped where they are missing, but never on CI."""

from __future__ import annotations

import os
import shutil

import pytest


def require(program: str, package: str) -> str:
    """Return the path of `program`; skip the test where it is missing, or fail it with CI=true."""
    path = shutil.which(program)
    if path is None:
        why = f"{program} is missing: apt-get install {package}"
        if os.environ.get("CI") == "true":
            pytest.fail(why)
        pytest.skip(why)
    return path
