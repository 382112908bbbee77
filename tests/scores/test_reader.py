"""MusicXML read: every kind of thing a guitarist's score says, told from what is not understood."""

from __future__ import annotations

import xml.etree.ElementTree as ElementTree
from collections import Counter
from fractions import Fraction
from pathlib import Path

import pytest

from tests.scores.building import DATA, HEAD, STANDARD_TUNING, document, measure, note, packed, score
from trainer.errors import ChangeoverError
from trainer.fretboard.shape import Barre
from trainer.fretboard.text import print_shape
from trainer.scores.musicxml.directions import barre_text, roman
from trainer.scores.score import Tie
from trainer.scores.source import load, parse

FILES = sorted((DATA / "lilypond-suite").glob("*.xml"))


def test_a_note_says_where_it_lies_and_how_it_is_held() -> None:
    mark = "<technical><pluck>m</pluck></technical><slur type='start'/><arpeggiate/>"
    read = score(measure(note("C#4", 6, string=2, fret=2, finger=3, more=mark), attributes=HEAD))
    (found,) = read.parts[0].notes
    assert (found.pitch, found.at, found.duration) == (61, Fraction(0), Fraction(3, 2))
    printed = found.printed
    assert (printed.string, printed.fret, printed.fingers, printed.pluck) == (2, 2, (3,), "m")
    assert printed.marks == {"slur start", "arpeggiate up"}


def test_chords_share_their_onset_and_backup_lays_voices_over_each_other() -> None:
    bar = (
        note("E4", 8) + note("G4", 8, chord=True) + note("F4", 8)
        + "<backup><duration>16</duration></backup>"
        + note("C3", 4, voice=2) + "<forward><duration>4</duration></forward>" + note("D3", 4, voice=2)
    )  # fmt: skip
    read = score(measure(bar, attributes=HEAD))
    found = [(n.pitch, n.at, n.duration, n.voice) for n in read.parts[0].notes]
    assert [(pitch, float(at), float(length), voice) for pitch, at, length, voice in found] == [
        (64, 0.0, 2.0, "1"),
        (67, 0.0, 2.0, "1"),
        (48, 0.0, 1.0, "2"),
        (65, 2.0, 2.0, "1"),
        (50, 2.0, 1.0, "2"),
    ]
    assert read.parts[0].voices == ("1", "2")


def test_tuplets_last_as_their_durations_say_and_grace_notes_not_at_all() -> None:
    grace = note("D4", 0).replace("<duration>0</duration>", "").replace("<note>", "<note><grace/>")
    bar = "".join(note("E4", 1) for _ in range(3)) + grace + note("C4", 6)
    read = score(measure(bar, attributes=HEAD.replace("4</divisions>", "3</divisions>")))
    assert [n.duration for n in read.parts[0].notes] == [Fraction(1, 3)] * 3 + [0, 2]
    assert [n.grace for n in read.parts[0].notes] == [False] * 3 + [True, False]


def test_ties_substitutions_and_alternatives() -> None:
    several = (
        "<technical><fingering>1</fingering><fingering substitution='yes'>3</fingering>"
        "<fingering alternate='yes'>2</fingering></technical>"
    )
    tied = note("E4", 16, more=several).replace("<voice>", "<tie type='start'/><voice>")
    again = note("E4", 16).replace("<voice>", "<tie type='stop'/><voice>")
    first, second = score(measure(tied, attributes=HEAD), measure(again, 2)).parts[0].notes
    assert (first.tie, second.tie) == (Tie.START, Tie.STOP)
    assert (first.printed.fingers, first.printed.alternatives) == ((1, 3), (2,))


def test_tuning_capo_transposition_and_clefs_belong_to_the_part() -> None:
    attributes = (
        HEAD
        + "<transpose><chromatic>0</chromatic><octave-change>-1</octave-change></transpose>"
        + "<clef><sign>G</sign></clef>"
        + f"<staff-details><staff-lines>6</staff-lines>{STANDARD_TUNING}<capo>3</capo></staff-details>"
    )
    retuned = (
        "<direction><direction-type><scordatura><accord string='6'><tuning-step>D</tuning-step>"
        "<tuning-octave>2</tuning-octave></accord></scordatura></direction-type></direction>"
    )
    (part,) = score(measure(retuned + note("E4", 16), attributes=attributes)).parts
    assert (part.tuning, part.capo, part.transpose) == ((38, 45, 50, 55, 59, 64), 3, -12)


def test_bars_know_their_pickup_repeats_endings_meter_and_tempo() -> None:
    tempo = (
        "<direction><direction-type><metronome><beat-unit>quarter</beat-unit><beat-unit-dot/>"
        "<per-minute>40</per-minute></metronome></direction-type></direction>"
    )
    meter = "<time><beats>6</beats><beat-type>8</beat-type></time>"
    read = score(
        measure(note("E4", 2), 0, HEAD, "implicit='yes'"),
        measure("<barline location='left'><repeat direction='forward'/></barline>" + tempo + note("E4", 12), 1, meter),
        measure("<barline><ending number='1' type='start'/></barline>" + note("E4", 12)
                + "<barline><ending number='1' type='stop'/><repeat direction='backward' times='3'/></barline>", 2),
        measure("<barline><ending number='2,3' type='start'/></barline>" + note("E4", 12), 3),
    )  # fmt: skip
    assert [(b.length, b.meter, b.pickup) for b in read.bars[:2]] == [
        (Fraction(1, 2), (4, 4), True),
        (3, (6, 8), False),
    ]
    assert [(b.opens, b.closes, sorted(b.endings)) for b in read.bars[1:]] == [
        (True, 0, []),
        (False, 3, [1]),
        (False, 0, [2, 3]),
    ]
    assert read.tempos[0].quarters == 60


def test_a_diagram_says_fingers_barre_open_and_muted_strings() -> None:
    frame = (
        "<harmony><root><root-step>F</root-step></root><kind>major</kind><bass><bass-step>C</bass-step></bass>"
        "<frame><frame-strings>6</frame-strings><frame-frets>4</frame-frets><first-fret>1</first-fret>"
        "<frame-note><string>5</string><fret>3</fret><fingering>3</fingering></frame-note>"
        "<frame-note><string>4</string><fret>3</fret><fingering>(4)</fingering></frame-note>"
        "<frame-note><string>3</string><fret>2</fret><fingering>2</fingering></frame-note>"
        "<frame-note><string>2</string><fret>1</fret><barre type='start'/></frame-note>"
        "<frame-note><string>1</string><fret>1</fret><barre type='stop'/></frame-note></frame></harmony>"
    )
    (symbol,) = score(measure(frame + note("C4", 16), attributes=HEAD)).parts[0].symbols
    assert symbol.name == "F/C"
    assert symbol.shape is not None
    assert print_shape(symbol.shape) == "x 3/3 (3/4) 2/2 1/1 1/1"
    assert symbol.shape.barres == (Barre(1, 1, 2, 1),)


@pytest.mark.parametrize(
    ("text", "fret", "share"),
    [
        ("C III", 3, None),
        ("CVII", 7, None),
        ("BV", 5, None),
        ("½C II", 2, Fraction(1, 2)),
        ("1/2 B IX", 9, Fraction(1, 2)),
        ("C 4/6 IV", 4, Fraction(2, 3)),
        ("3/6 II - - -", 2, Fraction(1, 2)),
        ("Barré XII", 12, None),
    ],
)
def test_barres_in_words(text: str, fret: int, share: Fraction | None) -> None:
    """Ways of writing found in editions; common practice, no source."""
    assert barre_text(text) == (fret, share)


@pytest.mark.parametrize("text", ["C7", "Bm", "VII", "dolce", "C", "", "CIVIL", "0/5 II", "9/2 III", "C IIIIII IIII"])
def test_what_is_no_barre(text: str) -> None:
    assert barre_text(text) is None


def test_roman_numerals_are_read_as_they_are_written() -> None:
    from trainer.hand.words import roman as written

    assert [roman(written(fret)) for fret in range(1, 25)] == list(range(1, 25))


def test_what_is_not_understood_is_listed_with_bar_and_element_and_looks_are_not() -> None:
    bar = (
        note(
            "E4",
            16,
            more="<ornaments><trill-mark/></ornaments><technical><bend><bend-alter>2</bend-alter></bend></technical>",
        )
        + "<direction><direction-type><words>dolce</words></direction-type></direction><figured-bass/>"
    )
    looks = note("C4", 16).replace("<staff>", "<type>whole</type><stem>up</stem><beam>begin</beam><staff>")
    read = score(measure(looks, 1, HEAD), measure(bar, 2), measure(bar, 3))
    assert {(u.bar, u.what) for u in read.unread} == {
        (number, what)
        for number in ("2", "3")
        for what in ("ornaments/trill-mark", "technical/bend", "words 'dolce'", "figured-bass")
    }


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_counts_equal_a_count_of_the_elements(file: Path) -> None:
    """Independent count: ElementTree over the same file, without regard to where an element stands."""
    root = ElementTree.parse(file).getroot()
    parents = {kid: parent for parent in root.iter() for kid in parent}
    counts = Counter(element.tag for element in root.iter())
    technical = Counter(
        element.tag
        for element in root.iter()
        if parents.get(element) is not None and parents[element].tag == "technical"
    )
    read = load(file)
    pitched = [n for n in root.iter("note") if n.find("pitch") is not None and n.find("cue") is None]
    kept = {
        kind: read.understood.get(kind, 0) for kind in ("notes", "string", "fret", "frame", "harmony", "frame-note")
    }
    assert kept == {
        "notes": len(pitched),
        "string": technical["string"],
        "fret": technical["fret"],
        "frame": counts["frame"],
        "harmony": counts["harmony"],
        "frame-note": counts["frame-note"],
    }
    unread = sum(u.count for u in read.unread if u.what.startswith(("fingering", "pluck")))
    assert read.understood.get("fingering", 0) + read.understood.get("pluck", 0) + unread == (
        technical["fingering"] + technical["pluck"]
    )


def test_timewise_says_the_same_as_partwise() -> None:
    """Turned inside out as the W3C's parttime.xsl does: the bars around the parts."""
    for file in FILES:
        root = ElementTree.parse(file).getroot()
        turned = ElementTree.Element("score-timewise", root.attrib)
        turned.extend(kid for kid in root if kid.tag != "part")
        parts = root.findall("part")
        for bars in zip(*parts, strict=True):
            bar = ElementTree.SubElement(turned, "measure", bars[0].attrib)
            for part, content in zip(parts, bars, strict=True):
                ElementTree.SubElement(bar, "part", part.attrib).extend(content)
        data = ElementTree.tostring(turned, encoding="utf-8", xml_declaration=True)
        straight, back = load(file), parse(data, str(file))
        assert (back.parts, back.bars, back.tempos) == (straight.parts, straight.bars, straight.tempos)


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "iso-8859-1", "windows-1252"]
)
def test_every_usual_encoding_plain_and_compressed(encoding: str) -> None:
    bom = {"utf-16-le": "\ufeff", "utf-16-be": "\ufeff"}.get(encoding, "")
    declared = encoding.removesuffix("-sig").removesuffix("-le").removesuffix("-be")
    text = document(measure(note("E4", 16), attributes=HEAD), name="Gitarre für é")
    text = bom + text.replace('version="1.0"', f'version="1.0" encoding="{declared}"', 1)
    data = text.encode(encoding)
    for file in (data, packed("inside/score.xml", data)):
        read = parse(file, "x")
        assert read.parts[0].name == "Gitarre für é"
        assert len(read.parts[0].notes) == 1


@pytest.mark.parametrize("version", ["3.0", "3.1", "4.0"])
def test_versions_are_read_alike(version: str) -> None:
    assert len(parse(document(measure(note("E4", 16), attributes=HEAD), version=version).encode(), "x").bars) == 1


@pytest.mark.parametrize(
    ("broken", "what"),
    [
        ("<duration>NaN</duration>", "'NaN'"),
        ("<duration>-4</duration>", "'-4'"),
        ("<duration>INF</duration>", "'INF'"),
        ("<duration>1e999</duration>", "'1e999'"),
        ("<duration>999999999</duration>", "quarters"),
        ("<duration></duration>", "''"),
    ],
)
def test_durations_that_cannot_be_are_refused_with_their_line(broken: str, what: str) -> None:
    text = document(measure("\n" + note("E4", 4).replace("<duration>4</duration>", broken), attributes=HEAD))
    with pytest.raises(ChangeoverError, match=what) as caught:
        parse(text.encode(), "x.xml")
    assert caught.value.problems[0].line == 2


@pytest.mark.parametrize("divisions", ["0", "-1", "NaN", "1e6", "99999999999"])
def test_divisions_that_cannot_be_are_refused(divisions: str) -> None:
    attributes = HEAD.replace("<divisions>4<", f"<divisions>{divisions}<")
    with pytest.raises(ChangeoverError, match="divisions"):
        score(measure(note("E4", 4), attributes=attributes))
