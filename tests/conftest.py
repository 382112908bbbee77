"""Fixtures that several folders of tests share."""

from __future__ import annotations

import signal
from collections.abc import Iterator

import pytest
from hypothesis import HealthCheck, settings

from tests.listen.jack import environment, running_jack
from tests.system import require

# A shell that runs the tests in the background has them ignore signals, and the programs they start would inherit that.
signal.signal(signal.SIGINT, signal.default_int_handler)
signal.signal(signal.SIGHUP, signal.SIG_DFL)

# A busy machine is no fault of what is tested: no example is too slow.
settings.register_profile("unhurried", parent=settings(), deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("unhurried")


@pytest.fixture(scope="session")
def jack_server() -> Iterator[str]:
    """One JACK server for the whole test process; its name."""
    with running_jack(require("jackd", "jackd2")) as server:
        yield server


@pytest.fixture
def jack(jack_server: str, monkeypatch: pytest.MonkeyPatch) -> str:
    """Make everything in this test, other processes included, speak MIDI through the test's own JACK server."""
    for name, value in environment(jack_server).items():
        monkeypatch.setenv(name, value)
    return jack_server
