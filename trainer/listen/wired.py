"""A wiring as plain values that JSON can hold, and back."""

from __future__ import annotations

from typing import Any, get_args

from trainer.practice.wiring import Sends, Trigger, Wiring


def to_plain(wiring: Wiring) -> dict[str, Any]:
    """Return a wiring as numbers, texts, lists and dictionaries with text keys."""
    return {
        "strings": {str(channel): string for channel, string in wiring.strings.items()},
        "master": wiring.master,
        "bend_semitones": wiring.bend_semitones,
        "latency_ms": {str(string): ms for string, ms in wiring.latency_ms.items()},
        "latency_all_ms": wiring.latency_all_ms,
        "levels": {str(string): level for string, level in wiring.levels.items()},
        "calls": [[called.kind, called.number, called.channel, id_] for called, id_ in wiring.calls.items()],
    }


def from_plain(value: dict[str, Any]) -> Wiring:
    """Return the wiring that `to_plain` made `value` of.

    Raises ValueError, TypeError, KeyError or AttributeError where it is none.
    """
    master = value["master"]
    return Wiring(
        strings={int(channel): int(string) for channel, string in value["strings"].items()},
        master=None if master is None else int(master),
        bend_semitones=float(value["bend_semitones"]),
        latency_ms={int(string): float(ms) for string, ms in value["latency_ms"].items()},
        latency_all_ms=float(value["latency_all_ms"]),
        levels={int(string): float(level) for string, level in value["levels"].items()},
        calls={_trigger(kind, number, channel): str(id_) for kind, number, channel, id_ in value["calls"]},
    )


def _trigger(kind: object, number: object, channel: object) -> Trigger:
    sends = next((known for known in get_args(Sends) if known == kind), None)
    if sends is None or not isinstance(number, int) or not isinstance(channel, int | None):
        raise ValueError("no pedal")
    return Trigger(sends, number, channel)
