"""What is taken out of a log is in none of its bytes afterwards."""

from __future__ import annotations

import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from trainer.errors import ChangeoverError
from trainer.log import connect, forgetting, store
from trainer.log.history import reading
from trainer.log.migrations import transaction
from trainer.practice.record import Run, Timing

WORD = "Quillfeather"


def mentions(text: str) -> bool:
    return WORD in text


def begin(path: Path, *remarks: str | None) -> None:
    with closing(connect.for_writing(path)) as connection, transaction(connection):
        for number, remark in enumerate(remarks):
            run = Run(str(number), "A drill", float(number), Timing.BEAT)
            store.begin(connection, run)
            store.finish(connection, run.id, 4, 4, remark)


def remarks_in(path: Path) -> list[str | None]:
    with reading(path) as history:
        return [run.remark for run in history.runs()][::-1]


def bytes_of(folder: Path) -> bytes:
    return b"".join(file.read_bytes() for file in folder.iterdir())


def test_only_remarks_that_mention_it_go_and_no_byte_of_them_stays(tmp_path: Path) -> None:
    log = tmp_path / "practice.sqlite3"
    begin(log, f"{WORD} was late", "went well", None, f"with {WORD}")
    assert forgetting.remarks(log, mentions) == 2
    assert WORD.encode() in bytes_of(tmp_path)
    assert forgetting.remove_remarks(log, mentions) == 2
    assert remarks_in(log) == [None, "went well", None, None]
    assert WORD.encode() not in bytes_of(tmp_path)
    assert forgetting.remarks(log, mentions) == 0


def test_what_was_deleted_before_is_gone_too(tmp_path: Path) -> None:
    log = tmp_path / "practice.sqlite3"
    begin(log, f"{WORD} " * 500)
    with closing(connect.for_writing(log)) as connection, transaction(connection):
        connection.execute("DELETE FROM runs")
    assert forgetting.remove_remarks(log, mentions) == 0
    assert WORD.encode() not in bytes_of(tmp_path)


def test_a_log_that_somebody_reads_is_told(tmp_path: Path) -> None:
    log = tmp_path / "practice.sqlite3"
    begin(log, f"{WORD} was late")
    with reading(log) as history:
        assert history.runs()
        with pytest.raises(ChangeoverError, match="another program reads the practice log"):
            forgetting.remove_remarks(log, mentions)
    forgetting.remove_remarks(log, mentions)
    assert WORD.encode() not in bytes_of(tmp_path)


def test_a_log_that_another_process_has_open_is_in_use(tmp_path: Path) -> None:
    log = tmp_path / "practice.sqlite3"
    begin(log, None)
    assert not forgetting.in_use(log)
    code = (
        "import sys; from pathlib import Path; from trainer.log import connect\n"
        "connection = connect.for_writing(Path(sys.argv[1]))\n"
        "print('open', flush=True); sys.stdin.read()"
    )
    with subprocess.Popen(
        [sys.executable, "-c", code, log], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as other:
        assert other.stdout is not None
        assert other.stdout.readline() == "open\n"
        assert forgetting.in_use(log)
        other.communicate()
    assert not forgetting.in_use(log)


def test_a_damaged_log_is_not_in_use(tmp_path: Path) -> None:
    log = tmp_path / "practice.sqlite3"
    log.write_bytes(b"no log at all, however long it may be " * 40)
    assert not forgetting.in_use(log)
