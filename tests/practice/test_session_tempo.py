"""The limits of a tempo."""

import pytest

from trainer.practice.tempo import within_limits


@pytest.mark.parametrize(("tempo", "kept"), [(5.0, 20.0), (20.0, 20.0), (99.5, 99.5), (240.0, 240.0), (1e9, 240.0)])
def test_limits(tempo: float, kept: float) -> None:
    assert within_limits(tempo) == kept
