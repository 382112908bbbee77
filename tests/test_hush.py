"""What ALSA's library prints is silenced, whether it is loaded by then or only afterwards."""

from __future__ import annotations

import ctypes
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
COMPLAIN = """
import ctypes
sound = ctypes.CDLL("libasound.so.2")
{hush}
handle = ctypes.c_void_p()
assert sound.snd_pcm_open(ctypes.byref(handle), b"no such device", 0, 0) < 0
"""


@pytest.mark.parametrize(
    ("hush", "before", "silent"),
    [
        ("", "", False),
        ("from trainer.hush import hush; hush()", "", True),
        ("", "from trainer.hush import hush; hush(ahead=True)", True),
        ("", "from trainer.hush import hush; hush()", False),  # it was not there yet to be told anything
    ],
)
def test_a_library_complains_to_nobody(hush: str, before: str, *, silent: bool) -> None:
    try:
        ctypes.CDLL("libasound.so.2")
    except OSError:
        pytest.skip("ALSA's library is not installed")
    code = before + COMPLAIN.format(hush=hush)
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert ("no such device" not in done.stderr) is silent
    assert done.stdout == ""
