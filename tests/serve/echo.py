"""Stands in for the app at the other end of a pipe: tells its size and variables, sends keys back, and may misbehave.

Packets as Textual's web driver has them: a letter, four bytes of length (big end first), the payload.
"""

from __future__ import annotations

import json
import os
import sys
from typing import NoReturn


def send(kind: bytes, payload: bytes) -> None:
    os.write(1, kind + len(payload).to_bytes(4, "big") + payload)


def read(count: int) -> bytes:
    found = b""
    while len(found) < count:
        more = os.read(0, count - len(found))
        if not more:
            sys.exit(0)
        found += more
    return found


def main(habit: str) -> NoReturn:
    os.write(1, b"__GANGLION__\n")
    told = {name: os.environ.get(name) for name in ("COLUMNS", "ROWS", "SEAT", "TEXTUAL_DRIVER")}
    send(b"D", json.dumps({**told, "pid": os.getpid(), "words": sys.argv[1:]}).encode())
    if habit == "complains":
        os.write(2, b"\x1b[31mred [bold]words[/]\n")
    while True:
        kind = read(1)
        payload = read(int.from_bytes(read(4), "big"))
        if kind == b"D":
            send(b"D", payload)
        elif json.loads(payload)["type"] == "quit" and habit != "stays":
            sys.exit(0)
        else:
            send(b"D", payload)


if __name__ == "__main__":
    main(sys.argv[1])
