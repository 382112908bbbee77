"""The one table of commands: key handling, the key bar, the help page, the palette and rebinding all read it.

A command belongs to a place (a kind of screen) or to everywhere. Keys are plain letters, digits, arrows, page keys,
space, enter and F keys: those reach a program from every terminal, and page-turner pedals send them.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from trainer.ui.command import SEAT_KEYS, Command, Place, keys_of

_EVERYWHERE = (
    Command("help", Place.EVERYWHERE, ("question_mark", "f1"), "help", "Every key and every mark, explained."),
    Command("close", Place.EVERYWHERE, ("escape",), "back", "Leave this screen."),
    Command("quit", Place.EVERYWHERE, ("q", "ctrl+q"), "quit", "End the program at once."),
)

_DRILL = (
    Command(
        "press",
        Place.DRILL,
        ("space", "enter", "pagedown", "right", "down"),
        "go / leave / land",
        "The one key or pedal of a run: what it does next stands on the screen.",
    ),
    Command(
        "leave", Place.DRILL, ("j",), "leave", "Say that the hand leaves the shape, on a key of its own.", bar=False
    ),
    Command("land", Place.DRILL, ("k",), "land", "Say that the shape has landed, on a key of its own.", bar=False),
    Command("unclean", Place.DRILL, ("u", "pageup", "left", "up"), "unclean", "The last landing was not clean."),
    Command("undo", Place.DRILL, ("backspace",), "undo", "The last landing or answer did not happen."),
    Command(
        "answer",
        Place.DRILL,
        tuple("0123456789"),
        "how many",
        "After a run to the beat: how many of its changes landed.",
        bar=False,
        fixed=True,
    ),
    Command("miss", Place.DRILL, ("x",), "missed", "The change in flight did not land.", bar=False),
    Command("next", Place.DRILL, ("n",), "next", "On to the next change.", bar=False),
    Command("previous", Place.DRILL, ("b",), "before", "Back to the change before."),
    Command("again", Place.DRILL, ("a",), "again", "The change played last once more.", bar=False),
    Command("restart", Place.DRILL, ("r",), "restart", "A new run from its first change.", bar=False),
    Command("pause", Place.DRILL, ("p",), "pause", "Stop timing, or go on.", bar=False),
    Command("slower", Place.DRILL, ("minus",), "slower", "One step slower."),
    Command("faster", Place.DRILL, ("plus", "equals_sign"), "faster", "One step faster."),
    Command(
        "mode", Place.DRILL, ("m",), "way", "How to practise: to the beat, two presses, on cue, walk through, by ear."
    ),
    Command(
        "course",
        Place.DRILL,
        ("c",),
        "which",
        "What to practise: all of it, this change there and back, this change only, a segment, or the join plan.",
    ),
    Command(
        "plan", Place.DRILL, ("o",), "join plan", "Cut the drill into segments and join them step by step.", bar=False
    ),
    Command("check", Place.DRILL, ("v",), "check", "Pluck the shape slowly, string by string, or go on.", bar=False),
    Command(
        "chord", Place.DRILL, ("s",), "hear it", "Let the shape to come sound, as the drill asks for it.", bar=False
    ),
    Command("target", Place.DRILL, ("l",), "target", "This tempo is the drill's target, or is no longer.", bar=False),
    Command(
        "memory",
        Place.DRILL,
        ("h",),
        "by heart",
        "Play from memory: what you know is shown less and less, or all of it again.",
        bar=False,
    ),
    Command("tuning", Place.DRILL, ("t",), "tuning", "The open strings' notes and frequencies.", bar=False),
    Command("remark", Place.DRILL, ("w",), "remark", "Write one line about this run.", bar=False),
    Command("bench", Place.DRILL, ("f",), "fingering", "Compare ways to finger the drill, side by side.", bar=False),
    Command("guitar_of_drill", Place.DRILL, ("g",), "guitar", "Set up the guitar that is heard.", bar=False),
)

_HOME = (
    Command(
        "start", Place.HOME, ("enter", "space", "pagedown", "right"), "start", "Drill what is highlighted.", bar=False
    ),
    Command("up", Place.HOME, ("up", "pageup", "k"), "up", "Highlight the line above.", bar=False),
    Command("down", Place.HOME, ("down", "j"), "down", "Highlight the line below.", bar=False),
    Command("library", Place.HOME, ("d",), "drills", "All drills, with search."),
    Command("make", Place.HOME, ("m",), "new", "Place two shapes on the board and drill them."),
    Command("scores", Place.HOME, ("i",), "scores", "Take bars of a MusicXML or MIDI file.", bar=False),
    Command("warmup", Place.HOME, ("w",), "warm-up", "Warm up for a few minutes: gentle first, over by itself."),
    Command("room", Place.HOME, ("r",), "class", "Show what is highlighted to a class, and play rounds.", bar=False),
    Command("guitar", Place.HOME, ("g",), "guitar", "Set up a MIDI guitar and its pedals, to be heard."),
    Command("progress", Place.HOME, ("p",), "progress", "How fast each change has become."),
    Command("settings", Place.HOME, ("s",), "settings", "Hand, neck, marks, theme, keys."),
)

_LIBRARY = (
    Command("open", Place.LIBRARY, ("enter",), "drill it", "Drill what is highlighted."),
    Command("line_up", Place.LIBRARY, ("up",), "up", "Highlight the drill above.", bar=False),
    Command("line_down", Place.LIBRARY, ("down",), "down", "Highlight the drill below.", bar=False),
    Command("page_up", Place.LIBRARY, ("pageup",), "page up", "Highlight a drill a page above.", bar=False),
    Command("page_down", Place.LIBRARY, ("pagedown",), "page down", "Highlight a drill a page below.", bar=False),
    Command("skill", Place.LIBRARY, ("tab", "f2"), "what it trains", "Show only drills that train one skill, in turn."),
    Command("scores_of_library", Place.LIBRARY, ("f4",), "scores", "Take bars of a score."),
    Command("room_of_library", Place.LIBRARY, ("f5",), "class", "Show what is highlighted to a class."),
    Command("bench_of_library", Place.LIBRARY, ("f6",), "fingering", "Compare ways to finger what is highlighted."),
    Command("skill_before", Place.LIBRARY, ("shift+tab", "f3"), "before", "The same, backwards.", bar=False),
)

_PROGRESS = (
    Command("drill_change", Place.PROGRESS, ("enter", "space"), "drill it", "Drill what is highlighted."),
    Command("changes", Place.PROGRESS, ("c",), "changes", "How fast each change has become."),
    Command("drills", Place.PROGRESS, ("d",), "drills", "How much each drill was played, and its pace day by day."),
    Command("weeks", Place.PROGRESS, ("w",), "weeks", "Week by week, and what stands out lately."),
    Command("hand", Place.PROGRESS, ("h",), "hand", "What costs your hand most, and how sure that is."),
    Command("sort", Place.PROGRESS, ("o",), "order", "Order the changes by another column."),
    Command("runs", Place.PROGRESS, ("r",), "runs", "The last runs with their remarks, or the changes again."),
)

_PLAN = (
    Command("plan_go", Place.PLAN, ("enter", "pagedown"), "practise it", "Practise the step that is highlighted."),
    Command("plan_up", Place.PLAN, ("up", "pageup", "k"), "up", "Highlight the step above.", bar=False),
    Command("plan_down", Place.PLAN, ("down", "j"), "down", "Highlight the step below.", bar=False),
    Command("plan_left", Place.PLAN, ("left", "h"), "left", "Go to the change before.", bar=False),
    Command("plan_right", Place.PLAN, ("right", "l"), "right", "Go to the next change.", bar=False),
    Command("plan_cut", Place.PLAN, ("space", "x"), "cut or join", "Cut in the change at the cursor, or join there."),
    Command("plan_suggest", Place.PLAN, ("s",), "suggest", "Cut at bar lines, at shifts and at the slowest changes."),
    Command("plan_shorter", Place.PLAN, ("minus",), "shorter", "The same, a segment one change shorter at most."),
    Command("plan_longer", Place.PLAN, ("plus", "equals_sign"), "longer", "The same, one change longer."),
    Command("plan_again", Place.PLAN, ("backspace",), "from the start", "Practise every step again; the cuts stay."),
)

_BENCH = (
    Command("bench_drill", Place.BENCH, ("enter", "t"), "drill it", "Take the way over, and drill it.", bar=False),
    Command("bench_next", Place.BENCH, ("right", "space", "pagedown", "l"), "step", "On to the next shape."),
    Command("bench_before", Place.BENCH, ("left", "pageup", "h"), "before", "Back to the shape before.", bar=False),
    Command("bench_way", Place.BENCH, tuple("1234"), "way", "Look at this way.", bar=False, fixed=True),
    Command("bench_up", Place.BENCH, ("up", "k"), "way before", "Look at the way before.", bar=False),
    Command("bench_down", Place.BENCH, ("down", "j"), "way", "Look at the next way."),
    Command("bench_apart", Place.BENCH, ("n",), "differs", "On to the next shape that the ways take differently."),
    Command("bench_note", Place.BENCH, ("tab",), "note", "Look at one note of the shape after the other.", bar=False),
    Command(
        "bench_pin", Place.BENCH, ("p",), "set", "Set the shape, or the note looked at, as it is taken; or let it go."
    ),
    Command("bench_finger", Place.BENCH, ("f",), "finger", "Set the next finger for the note looked at.", bar=False),
    Command("bench_undo", Place.BENCH, ("u", "backspace"), "undo", "Ask for what was asked before."),
    Command("bench_school", Place.BENCH, ("s",), "weights", "Weigh by any hand, by printed editions, by your times."),
    Command("bench_aim", Place.BENCH, ("a",), "aim", "Make the whole easy, or its worst change."),
    Command("bench_keep", Place.BENCH, ("o",), "strings", "Keep the frets as written, or let other strings be taken."),
    Command("bench_save", Place.BENCH, ("w",), "keep", "Keep the way looked at as a drill file of yours.", bar=False),
)

_WARMUP = (
    Command(
        "warm_go",
        Place.WARMUP,
        ("space", "enter", "pagedown", "right", "down"),
        "begin / rest",
        "Begin, put both hands down for a while, or go on.",
    ),
    Command("warm_next", Place.WARMUP, ("n", "pageup", "left", "up"), "next", "On to the next part."),
    Command("warm_shorter", Place.WARMUP, ("minus",), "shorter", "One minute less, before it begins."),
    Command("warm_longer", Place.WARMUP, ("plus", "equals_sign"), "longer", "One minute more, before it begins."),
    Command("warm_easy", Place.WARMUP, ("e",), "sore day", "No barre, no stretch, hardly a rise, before it begins."),
)

_ROOM = (
    Command(
        "room_again",
        Place.ROOM,
        ("space", "enter", "pagedown", "right", "down"),
        "again",
        "Count in and play the change at hand, once more from its beginning.",
    ),
    Command("room_next", Place.ROOM, ("n", "pageup", "left", "up"), "next", "On to the next change or segment."),
    Command("room_before", Place.ROOM, ("b",), "before", "Back to the one before.", bar=False),
    Command("room_slower", Place.ROOM, ("minus",), "slower", "One step slower."),
    Command("room_faster", Place.ROOM, ("plus", "equals_sign"), "faster", "One step faster."),
    Command("room_part", Place.ROOM, ("s",), "segment", "Play a segment, the whole drill, or one change."),
    Command("room_hide", Place.ROOM, ("h",), "hide", "Show only the names, to be answered from memory, or all again."),
    Command("room_freeze", Place.ROOM, ("f", "p"), "freeze", "Stop the beat where it is, or go on at that shape."),
    Command("room_show", Place.ROOM, ("m",), "drawn", "Draw the shape only, the movement only, or both."),
    Command("room_mirror", Place.ROOM, ("l",), "both hands", "Draw it for right- and left-handed players, or once."),
)

_MARKS = (
    Command("mark", Place.MARKS, SEAT_KEYS, "mark", "Mark this seat, or take its mark back.", bar=False, fixed=True),
    Command(
        "mark_done",
        Place.MARKS,
        ("enter", "space", "pagedown", "right", "down"),
        "done",
        "Keep the round as it is marked; the tempo follows.",
    ),
    Command("mark_way", Place.MARKS, ("tab",), "other way", "Mark who missed, or who had it; marks begin anew."),
    Command("mark_away", Place.MARKS, ("f2",), "away", "The next seat's key says who is away, until taken back."),
    Command("mark_port", Place.MARKS, ("f3",), "guitar", "The next seat's key asks for its guitar: play a string."),
)

_SETTINGS = (
    Command(
        "change_setting", Place.SETTINGS, ("enter", "space", "right"), "change", "Take the next value, or write one."
    ),
    Command("change_back", Place.SETTINGS, ("left",), "value before", "Take the value before.", bar=False),
    Command("setting_up", Place.SETTINGS, ("up", "pageup", "k"), "up", "Highlight the setting above.", bar=False),
    Command("setting_down", Place.SETTINGS, ("down", "pagedown", "j"), "down", "Highlight the one below.", bar=False),
    Command("default", Place.SETTINGS, ("backspace",), "as it was", "Back to what it starts out as."),
    Command("latency", Place.SETTINGS, ("c",), "click delay", "Find how late the click is heard: play along with it."),
)

_LATENCY = (
    Command("along_go", Place.LATENCY, ("enter",), "begin / keep", "Begin, or keep what was found."),
    Command(
        "along_tap", Place.LATENCY, ("space", "pagedown", "right", "down", "j"), "tap", "One stroke with each click."
    ),
    Command("along_again", Place.LATENCY, ("r", "backspace"), "again", "Begin anew, whatever was found."),
)

_MAKE = (
    Command("drill_made", Place.MAKE, ("enter",), "drill it", "Drill the change there and back."),
    Command("other_shape", Place.MAKE, ("tab",), "other shape", "Go on to the other of the two shapes."),
    Command(
        "finger", Place.MAKE, tuple("1234"), "finger", "Put this finger at the cursor, or take it off.", fixed=True
    ),
    Command("open_string", Place.MAKE, ("0",), "open", "Leave the cursor's string open."),
    Command("mute_string", Place.MAKE, ("x",), "not played", "Neither hold nor play the cursor's string."),
    Command("keep_made", Place.MAKE, ("w",), "keep", "Keep the change as a drill file of yours."),
    Command("copy_shape", Place.MAKE, ("c",), "copy", "Begin this shape as a copy of the other."),
    Command("cursor_up", Place.MAKE, ("up", "k"), "up", "Cursor to the string above.", bar=False),
    Command("cursor_down", Place.MAKE, ("down", "j"), "down", "Cursor to the string below.", bar=False),
    Command("cursor_right", Place.MAKE, ("right", "l"), "right", "Cursor to the fret at the right.", bar=False),
    Command("cursor_left", Place.MAKE, ("left", "h"), "left", "Cursor to the fret at the left.", bar=False),
)

_GUITAR = (
    Command(
        "guitar_go", Place.GUITAR, ("enter", "space", "pagedown", "right"), "go", "What stands above: begin, go on."
    ),
    Command("guitar_before", Place.GUITAR, ("left", "pageup", "b"), "before", "Back to the step before."),
    Command("guitar_next", Place.GUITAR, ("n",), "next", "On to the next step, done or not."),
    Command("guitar_again", Place.GUITAR, ("r", "a"), "again", "Begin this step from its start."),
    Command("guitar_port", Place.GUITAR, ("tab", "p"), "port", "Set up what is on another port."),
    Command("guitar_up", Place.GUITAR, ("up", "k"), "up", "The port above, or what the pedal did before.", bar=False),
    Command("guitar_down", Place.GUITAR, ("down", "j"), "down", "The port below, or what it may do next.", bar=False),
)

_SCORES = (
    Command("score_open", Place.SCORES, ("enter", "pagedown"), "open", "Open the folder or score that is highlighted."),
    Command("folder_above", Place.SCORES, ("tab", "f2"), "folder above", "List the folder above."),
    Command("score_up", Place.SCORES, ("up", "pageup"), "up", "Highlight the line above, in a ring.", bar=False),
    Command("score_down", Place.SCORES, ("down",), "down", "Highlight the line below, in a ring.", bar=False),
)

_SCORE = (
    Command("drill_score", Place.SCORE, ("enter",), "drill it", "Drill the shapes that were found.", bar=False),
    Command("keep_score", Place.SCORE, ("w",), "keep", "Keep them as a drill file of yours.", bar=False),
    Command("field_next", Place.SCORE, ("tab", "right", "l"), "which", "Change the next value: bars, part, voice."),
    Command("field_before", Place.SCORE, ("shift+tab", "left", "h"), "before", "The value before.", bar=False),
    Command("bar_more", Place.SCORE, ("up", "plus", "k"), "more", "The next bar, part or voice."),
    Command("bar_less", Place.SCORE, ("down", "minus", "j"), "less", "The bar, part or voice before.", bar=False),
    Command("bar_number", Place.SCORE, tuple("0123456789"), "bar", "Type a bar's number.", bar=False, fixed=True),
    Command("stroke_next", Place.SCORE, ("space", "pagedown"), "stroke", "On to the next stroke of the bars."),
    Command("stroke_before", Place.SCORE, ("b", "pageup"), "before", "Back to the stroke before.", bar=False),
    Command("shape_next", Place.SCORE, ("n",), "shape", "On to the next shape.", bar=False),
    Command("shape_before", Place.SCORE, ("p",), "shape before", "Back to the shape before.", bar=False),
    Command("cut", Place.SCORE, ("s",), "split", "Begin a shape at the stroke, or begin none there."),
    Command("uncut", Place.SCORE, ("backspace",), "as found", "Drop your own splits and joins.", bar=False),
    Command("score_notes", Place.SCORE, ("i",), "notes", "What of the score was understood and what was not."),
)

_HELP = (
    Command("scroll_up", Place.HELP, ("up", "k"), "up", "A line up.", bar=False),
    Command("scroll_down", Place.HELP, ("down", "j"), "down", "A line down.", bar=False),
    Command("scroll_page_up", Place.HELP, ("pageup", "left"), "up", "A page up."),
    Command("scroll_page_down", Place.HELP, ("pagedown", "space", "right"), "down", "A page down."),
)

COMMANDS: tuple[Command, ...] = (
    *_HOME,
    *_DRILL,
    *_LIBRARY,
    *_MAKE,
    *_GUITAR,
    *_SCORES,
    *_SCORE,
    *_PROGRESS,
    *_PLAN,
    *_BENCH,
    *_WARMUP,
    *_ROOM,
    *_MARKS,
    *_SETTINGS,
    *_LATENCY,
    *_HELP,
    *_EVERYWHERE,
)
"""Every command, in the order that help and the key bar show them."""

BY_ID: Mapping[str, Command] = MappingProxyType({command.id: command for command in COMMANDS})
"""Every command by what settings call it."""

IDS = frozenset(command.id for command in COMMANDS if not command.fixed)
"""What settings may rebind."""


def commands_of(place: Place) -> tuple[Command, ...]:
    """Return the commands that work at `place`, its own before those that work everywhere."""
    return tuple(command for command in COMMANDS if command.place in {place, Place.EVERYWHERE})


def keymap(place: Place, rebound: Mapping[str, tuple[str, ...]]) -> Mapping[str, Command]:
    """Return the command of each key at `place`; `rebound` replaces the keys of the commands it names by id.

    A command of the place itself goes before one that works everywhere.
    """
    keys: dict[str, Command] = {}
    for command in commands_of(place):
        for key in keys_of(command, rebound):
            keys.setdefault(key, command)
    return MappingProxyType(keys)
