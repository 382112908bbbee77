"""From the words of a command line to a MIDI port."""

from __future__ import annotations

from trainer.errors import ChangeoverError, wrong

_NO_GUITAR = "Midi Through"
"""A port that Linux always has and nobody plays on."""


def port_key(wanted: str | None) -> str | None:
    """Return the key of the port that is wanted, by its name or a part of it; of the only one where none is.

    One that is not there yet is heard as soon as it is, so its name is taken as its key. None where none is wanted and
    none is there. Raises ChangeoverError where several fit, or one is wanted and MIDI cannot be had.
    """
    from trainer.listen.ports import missing, port_names

    problem = missing()
    if problem is not None:
        if wanted is None:
            return None
        raise ChangeoverError(problem)
    keys = [port.key for port in port_names()]
    if wanted is None:
        fitting, hint = [key for key in keys if not key.startswith(_NO_GUITAR)], "say which with --port"
    else:
        exact = [key for key in keys if key == wanted]
        fitting = exact or [key for key in keys if wanted.lower() in key.lower()]
        hint = "give more of its name"
    if len(fitting) > 1:
        raise wrong(f"several MIDI ports: {'; '.join(fitting)}", key="--port", hint=hint)
    return fitting[0] if fitting else wanted
