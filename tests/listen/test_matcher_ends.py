"""How notes ended: let go, planted, faded, or as written; and what of it is held against the player."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from tests.listen.building import AM, D7, DM, C, E, Playing, drill, step
from trainer.listen.matcher import Settings, hear
from trainer.practice.flaws import Flaw
from trainer.practice.measures import HeardChange
from trainer.practice.record import Texture


def change(before: str, after: str, off: float | Mapping[int, float], at: float = 1.0, **more: float) -> HeardChange:
    """Return the change from one shape, struck at 0, to another, struck at `at`."""
    playing = Playing().shape(0, before, off).shape(at, after, **more)  # type: ignore[arg-type]  # apart
    return hear(drill(before, after), playing.events)[0]


class TestCutOff:
    @pytest.mark.parametrize(("end", "cut"), [(0.84, True), (0.86, False), (0.99, False)])
    def test_every_string_up_to_150_ms_before_the_stroke_is_planting(self, end: float, cut: bool) -> None:
        assert (change(E, AM, end).mend == "cut off before the change") is cut

    def test_one_string_that_rings_on_and_it_is_no_planting(self) -> None:
        # F# on string 6 leaves and has no stroke in the next shape; open string 5 rings on.
        off = {6: 0.88, 5: 1.5}
        assert change("2/1 0 x x x x", "x x 0 2/2 x x", off).mend == "cut off before the change"

    def test_one_string_that_ended_long_before_and_it_is_no_planting(self) -> None:
        off = {6: 0.88, 5: 0.5}
        assert change("2/1 0 x x x x", "x x 0 2/2 x x", off).mend == "cut off before the change"

    def test_strings_that_end_one_after_the_other_are_no_planting(self) -> None:
        off = {6: 0.88, 5: 0.94}
        assert change("2/1 0 x x x x", "x x 0 2/2 x x", off).mend == "cut off before the change"

    def test_a_lost_end_does_not_speak_against_planting(self) -> None:
        assert change("2/1 0 x x x x", "x 0 2/1 x x x", {6: 0.88}).mend is None

    @pytest.mark.parametrize(("end", "cut"), [(0.83, True), (0.86, False)])
    def test_the_string_about_to_be_struck(self, end: float, cut: bool) -> None:
        # Am to C: only string 3 leaves, it is struck again; the others ring on.
        off = {5: 1.0, 4: 1.0, 3: end, 2: 1.0, 1: 1.0}
        assert (change(AM, C, off).mend == "cut off before the change") is cut

    @pytest.mark.parametrize(("last", "cut"), [(5, True), (4, False)])
    def test_the_string_that_ended_last_tells(self, last: int, cut: bool) -> None:
        # C to D7: strings 5 and 4 leave, only 4 is struck again. The last one to end makes the gap.
        off = {5: 0.86, 4: 0.86, 3: 1.2, 2: 1.2, 1: 1.2, last: 0.9}
        assert (change(C, D7, off).mend == "cut off before the change") is cut

    @pytest.mark.parametrize(("end", "cut"), [(0.91, True), (0.93, False)])
    def test_a_short_silence_is_an_articulation(self, end: float, cut: bool) -> None:
        # 80 ms; string 6 has no stroke in the next shape, open string 5 rings on.
        off = {6: end, 5: 1.5}
        assert (change("2/1 0 x x x x", "x x 0 2/2 x x", off).mend == "cut off before the change") is cut

    def test_one_note_held_until_the_change_and_it_is_not_cut_off(self) -> None:
        off = {6: 0.99, 5: 0.6, 4: 0.6}
        found = change("2/1 2/2 2/3 x x x", "x x x 2/1 2/2 x", off)
        assert found.gap_ms == pytest.approx(10)
        assert Flaw.CUT_OFF not in [fault.flaw for fault in found.faults]

    def test_a_lost_end_proves_nothing(self) -> None:
        playing = Playing().note(0, 6, 42).note(0.005, 5, 47, 0.6).shape(1, "x x 0 2/2 x x", 1.9)
        found = hear(drill("2/1 2/2 x x x x", "x x 0 2/2 x x"), playing.events)[0]
        assert found.gap_ms == pytest.approx(400)
        assert found.mend is None

    @pytest.mark.parametrize(("end", "cut"), [(1.99, True), (2.01, False)])
    def test_a_note_may_fade_alone_after_two_seconds(self, end: float, cut: bool) -> None:
        found = change("2/1 x x x x x", "x x 0 2/2 x x", end, at=4)
        assert (found.mend == "cut off before the change") is cut

    @pytest.mark.parametrize(("other", "cut"), [(2.3, True), (2.7, True), (2.2, False), (2.8, False)])
    def test_two_that_end_within_250_ms_were_let_go(self, other: float, cut: bool) -> None:
        # String 6 leaves and ends at 2.5 s; string 5, open, ends at the time given.
        found = change("2/1 0 x x x x", "x x 0 2/2 x x", {6: 2.5, 5: other}, at=4)
        assert (Flaw.CUT_OFF in [fault.flaw for fault in found.faults]) is cut

    def test_a_kept_note_that_sounds_on_did_not_end(self) -> None:
        playing = Playing().note(0, 6, 42, 2.5).note(0, 5, 45)
        found = hear(drill("2/1 0 x x x x", "x x 0 2/2 x x"), playing.shape(4, "x x 0 2/2 x x").events)[0]
        assert found.mend is None

    def test_the_bound_is_a_setting(self) -> None:
        playing = Playing().shape(0, "2/1 0 x x x x", {6: 0.91, 5: 1.5}).shape(1, "x x 0 2/2 x x")
        settings = Settings(cut_s=0.1)
        assert hear(drill("2/1 0 x x x x", "x x 0 2/2 x x"), playing.events, settings)[0].mend is None

    def test_figures_owe_only_what_is_written_until_the_end(self) -> None:
        # Bass on string 6 until the end, string 4 until the next stroke: string 4 ends early as written.
        steps = (
            step("2/1 x 4/4 0 x x", strokes={1: [6], 2: [4], 3: [3]}, texture=Texture.FIGURE),
            step("x 0 2/1 2/2 x x", strokes={1: [5], 2: [4], 3: [3]}, texture=Texture.FIGURE),
        )
        for bass, cut in ((1.45, False), (1.0, True)):
            playing = Playing().note(0, 6, 42, bass).note(0.5, 4, 54, 0.98).note(1, 3, 55, 1.7)
            playing.note(1.5, 5, 45).note(2, 4, 52).note(2.5, 3, 57)
            found = hear(drill(*steps), playing.events)[0]
            assert (found.mend == "cut off before the change") is cut


class TestChangeTime:
    @pytest.mark.parametrize(
        ("early", "last", "ms"),
        [
            pytest.param(2.1, 3.2, 1020, id="faded 1.1 s before the rest"),
            pytest.param(2.1, 3.0, 2120, id="0.9 s before the rest is leaving"),
            pytest.param(2.5, 3.5, 1720, id="a second before the rest is leaving too"),
            pytest.param(1.9, 3.0, 2320, id="too young to have faded"),
        ],
    )
    def test_a_faded_note_is_no_finger_that_left(self, early: float, last: float, ms: float) -> None:
        # Dm, struck at 0-15 ms, to Am at 4.2-4.22 s; strings 3, 2 and 1 leave, string 2 at the first time given.
        off = {4: 4.2, 3: last, 2: early, 1: last}
        found = change(DM, AM, off, at=4.2)
        assert found.landed_s == pytest.approx(4.22)
        assert found.change_ms == pytest.approx(ms)

    def test_never_negative(self) -> None:
        # The only leaving note goes on past the landing, on a string that has no stroke.
        assert change("2/1 0 x x x x", "x x 0 2/2 x x", {6: 1.5, 5: 0.9}).change_ms is None


class TestCutShort:
    @staticmethod
    def flaws(off: Mapping[int, float], after: str = AM) -> list[tuple[Flaw, int | None]]:
        playing = Playing().shape(0, AM, 0.98).shape(1, C, off).shape(2, after)
        found = hear(drill(AM, C) if after == AM else drill(AM, C, after), playing.events)[0]
        assert found.clean is (not found.faults)
        return [(fault.flaw, fault.string) for fault in found.faults]

    @pytest.mark.parametrize(("end", "short"), [(1.84, True), (1.86, False)])
    def test_a_string_struck_next_may_have_been_planted(self, end: float, short: bool) -> None:
        off = {5: 2.0, 4: 2.0, 3: end, 2: 2.0, 1: 2.0}
        assert self.flaws(off) == ([(Flaw.CUT_SHORT, 3)] if short else [])

    @pytest.mark.parametrize(("end", "short"), [(1.91, True), (1.93, False)])
    def test_a_string_not_struck_next(self, end: float, short: bool) -> None:
        # C to D7: string 5 has no stroke in D7.
        off = {5: end, 4: 2.0, 3: 2.0, 2: 2.0, 1: 2.0}
        assert self.flaws(off, D7) == ([(Flaw.CUT_SHORT, 5)] if short else [])

    def test_several_from_the_bass_on(self) -> None:
        off = {5: 1.5, 4: 1.5, 3: 2.0, 2: 1.5, 1: 2.0}
        assert self.flaws(off) == [(Flaw.CUT_SHORT, 5), (Flaw.CUT_SHORT, 4), (Flaw.CUT_SHORT, 2)]

    @pytest.mark.parametrize(("end", "short"), [(1.91, True), (1.93, False)])
    def test_an_inner_note_lasts_until_the_next_stroke(self, end: float, short: bool) -> None:
        # Strokes on beats 1, 2 and 3, 500 ms apart: string 4, inner, is struck at 1.5 s and owes its sound until 2 s.
        figure = {1: [5], 2: [4], 3: [3]}
        steps = [step(shape, strokes=figure, texture=Texture.FIGURE) for shape in (AM, "x 0 1/1 2/2 x x")]
        playing = Playing().note(0, 5, 45, 1).note(0.3, 4, 52, 0.6).note(0.6, 3, 57, 1)
        playing.note(1, 5, 45, 2.99).note(1.5, 4, 51, end).note(2, 3, 57, 2.99)
        playing.note(3, 5, 45).note(3.5, 4, 52).note(4, 3, 57)
        found = hear(drill(*steps), playing.events)[0]
        assert found.landed_s == pytest.approx(2)
        assert [(fault.flaw, fault.string) for fault in found.faults if fault.flaw is Flaw.CUT_SHORT] == (
            [(Flaw.CUT_SHORT, 4)] if short else []
        )
        assert found.clean is not short

    def test_a_note_plucked_again_in_the_figure_need_not_last(self) -> None:
        figure = {1: [5], 2: [4], 3: [5]}
        steps = [step(shape, strokes=figure, texture=Texture.FIGURE) for shape in (AM, "x 0 1/1 2/2 x x")]
        playing = Playing().note(0, 5, 45, 0.2).note(0.3, 4, 52, 0.6).note(0.6, 5, 45, 1)
        playing.note(1, 5, 45, 1.2).note(1.5, 4, 51, 2).note(2, 5, 45, 2.99)
        found = hear(drill(*steps), playing.note(3, 5, 45).note(3.5, 4, 52).note(4, 5, 45).events)[0]
        assert found.clean is True
