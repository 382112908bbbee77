"""`changeover check`: what kind each file is, every problem at once, exit codes."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from trainer.cli import main
from trainer.files.drills import KEYS, parse
from trainer.files.paths import shipped

DRILL = 'title = "Two"\n[[shapes]]\nshape = "Am"\n[[shapes]]\nshape = "C"\n'


def write(tmp_path: Path, name: str, text: str) -> str:
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return str(path)


def test_everything_that_ships_is_sound(capsys: pytest.CaptureFixture[str]) -> None:
    files = [str(path) for kind in ("drills", "themes") for path in sorted(shipped(kind).glob("*.toml"))]
    assert len(files) >= 14 + 5
    assert main(["check", *files]) == 0
    assert capsys.readouterr().out.count(": a sound ") == len(files)


def test_all_problems_of_a_file_are_told_with_line_and_key(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bad = write(tmp_path, "bad.toml", 'titel = "Two"\ntempo = "fast"\n[[shapes]]\nshape = "x 3/3 2/3 0 1/1 0"\n')
    assert main(["check", bad]) == 1
    out = capsys.readouterr().out
    assert f"{bad}:1: titel: is not a key known here (did you mean 'title'?)" in out
    assert f"{bad}:2: tempo: " in out
    assert f"{bad}:4: shapes[1].shape: finger 3 is at fret 3 and, on string 4, at fret 2" in out


def test_a_drill_a_theme_and_settings_are_told_apart(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    drill = write(tmp_path, "drill.toml", DRILL)
    theme = str(sorted(shipped("themes").glob("*.toml"))[0])
    settings = write(tmp_path, "settings.toml", 'hand = "small"\n')
    assert main(["check", "--json", drill, theme, settings]) == 0
    found = json.loads(capsys.readouterr().out)["files"]
    assert [one["kind"] for one in found] == ["drill", "theme", "settings"]
    assert all(one["problems"] == [] for one in found)


def test_a_missing_file_is_bad_input(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(tmp_path / "none.toml")]) == 2
    assert "none.toml: there is no such file" in capsys.readouterr().err


def test_a_stretch_is_a_warning_for_the_hand_it_stretches(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    wide = write(tmp_path, "wide.toml", DRILL + '[[shapes]]\nshape = "x x x 5/4 x 1/1"\n')
    assert main(["check", wide]) == 0
    assert main(["check", "--hand", "child", wide]) == 1
    out = capsys.readouterr().out
    assert "warning: " in out
    assert "never force a stretch" in out


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ('title = "T"\ntempo = 60\n[[shape]]\nshape = "Am"\n', "drill"),
        ("", "drill"),
        ("format = 1\n", "drill"),
        ("bell = true\nformat = 1\n", "settings"),
        ('theme = "dark"\nbell = "on"\ntempo = 60\n', "settings"),
        ('title = "T"\nbell = true\n[[shapes]]\n', "drill"),
        ("title = \n", None),
    ],
)
def test_a_file_is_what_most_of_its_keys_belong_to(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str, kind: str | None
) -> None:
    file = write(tmp_path, "some.toml", text)
    main(["check", "--json", file])
    assert [one["kind"] for one in json.loads(capsys.readouterr().out)["files"]] == [kind]


def test_a_file_in_a_place_of_the_programs_is_what_lies_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("CHANGEOVER_HOME", str(tmp_path))
    (tmp_path / "drills" / "set").mkdir(parents=True)
    drill = write(tmp_path, "drills/set/a.toml", "bell = true\n")
    settings = write(tmp_path, "settings.toml", DRILL)
    linked = tmp_path / "elsewhere.toml"
    linked.symlink_to(settings)
    assert main(["check", "--json", drill, settings, str(linked)]) == 1
    found = json.loads(capsys.readouterr().out)["files"]
    assert [one["kind"] for one in found] == ["drill", "settings", "settings"]
    assert {(problem["line"], problem["key"]) for problem in found[1]["problems"]} == {(1, "title"), (2, "shapes")}


def test_the_keys_a_drill_is_told_by_are_those_it_is_read_with() -> None:
    _, problems = parse("".join(f"{key} = 1979-05-27\n" for key in sorted(KEYS)), "a")
    assert {problem.key for problem in problems} == KEYS
    assert not [problem for problem in problems if "not a key known" in problem.what]


def test_what_is_no_file_is_bad_input_and_nothing_is_opened(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "loop").symlink_to(tmp_path / "loop")
    good = write(tmp_path, "good.toml", DRILL)
    assert main(["check", good, *(str(tmp_path / name) for name in ("pipe", "loop", "."))]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.splitlines() == [
        f"changeover: {tmp_path}/pipe: is not a file (give the paths of TOML files)",
        f"changeover: {tmp_path}/loop: there is no such file (give the paths of TOML files)",
        f"changeover: {tmp_path}: is not a file (give the paths of TOML files)",
    ]


@pytest.mark.parametrize("options", [[], ["--json"]])
def test_names_and_texts_reach_the_terminal_plain(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], options: list[str]
) -> None:
    odd = tmp_path / os.fsdecode(b"\x1b[31m\xff.toml")
    odd.write_text(DRILL + '"\\u009b\\u202e" = 1\n', encoding="utf-8")
    assert main(["check", *options, str(odd)]) == 1
    out = capsys.readouterr().out
    shown = json.loads(out)["files"][0]["file"] if options else out
    assert "·[31m·.toml" in shown
    assert not {"\x1b", "\x9b", "\u202e"} & set(out)
    out.encode("utf-8")


def test_every_file_is_checked_whatever_is_wrong_with_the_others(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bad = write(tmp_path, "bad.toml", "tempo = \n")
    latin = tmp_path / "latin.toml"
    latin.write_bytes(b'title = "\xe9"\n')
    good = write(tmp_path, "good.toml", DRILL)
    assert main(["check", bad, str(latin), good]) == 1
    lines = capsys.readouterr().out.splitlines()
    assert [line.split(": ")[0] for line in lines] == [f"{bad}:1", f"{latin}:1", good]
    assert lines[2] == f"{good}: a sound drill file"


def test_without_a_file_all_of_the_users_own_are_checked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("CHANGEOVER_HOME", str(tmp_path))
    assert main(["check"]) == 0
    assert "no files of your own yet" in capsys.readouterr().out
    assert main(["check", "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == {"files": []}
    for folder in ("drills", "themes"):
        (tmp_path / folder).mkdir()
    good = write(tmp_path, "drills/good.toml", DRILL)
    theme = write(tmp_path, "themes/bad.toml", 'accent = "nothing"\n')
    settings = write(tmp_path, "settings.toml", "theme =\n")
    assert main(["check"]) == 1
    out = capsys.readouterr().out
    assert f"{good}: a sound drill file" in out
    assert f"{theme}: about: is missing" in out
    assert f"{settings}:1: " in out


def test_how_well_every_theme_reads_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("CHANGEOVER_HOME", str(tmp_path))
    assert main(["check", "--themes"]) == 0
    head, *rows, foot = capsys.readouterr().out.splitlines()
    assert head.split() == ["theme", "contrast", "worst", "to", "read"]
    assert [row.split()[0] for row in rows] == sorted(path.stem for path in shipped("themes").glob("*.toml"))
    assert "4.5 is enough" in foot
    (tmp_path / "themes").mkdir()
    # #777777 on #ffffff is 4.478: a pair often quoted as the one that just fails.
    text = (shipped("themes") / "white-wall.toml").read_text(encoding="utf-8").replace("#544d42", "#777777")
    text = text.replace("#eef0f3", "#ffffff").replace('"white-wall"', '"mine"')
    write(tmp_path / "themes", "mine.toml", text)
    assert main(["check", "--themes"]) == 1
    assert ["mine", "4.47", "dim", "on", "background"] in [row.split() for row in capsys.readouterr().out.splitlines()]
    assert main(["check", "--themes", "--json"]) == 1
    found = json.loads(capsys.readouterr().out)
    assert next(one["contrast"] for one in found["themes"] if one["theme"] == "mine") == pytest.approx(4.478, abs=0.001)
    assert main(["check", "--themes", "mine.toml"]) == 2
