"""What follows from each choice of each kind of finding, and from the teacher's own hand."""

from dataclasses import replace

import pytest

from lessoncut.decisions.records import BUILT_PASS, ChapterChange, KeptAside, LineGap, MovedEdges
from lessoncut.decisions.subjects import (
    about_added_chapter,
    about_aside,
    about_caption,
    about_edge,
    about_gap,
    about_section,
    about_slot,
)
from lessoncut.hearing.records import HeardWord, Sound
from lessoncut.times import Span
from tests.decisions.scene import MISHAPS, Scene
from tests.lesson.telling import CLEAN, MARKET, told, with_change

THREE_TIMES = MISHAPS.replace("L003 P2 18000 19900", "L003 P2 18000 19900\n L003 P2 21000 22900")


def test_a_clean_take_plays_every_line_in_every_pass() -> None:
    effects = Scene(CLEAN).effects
    keys = [(slot.line_id, slot.pass_id) for slot in effects.slots]
    assert keys == [
        ("L001", None),
        ("L002", None),
        *((line, passes) for line in ("L003", "L004", "L005") for passes in ("P1", "P2")),
        ("L006", None),
    ]
    assert all(len(slot.reading_ids) == 1 and slot.source == "take" for slot in effects.slots)
    assert not any((effects.asides, effects.cut_outs, effects.covers, effects.edges, effects.wordings))


def test_repeated_line() -> None:
    assert Scene().read("L003", "P2") == (18000,)
    scene = Scene()
    assert scene.decide(scene.finding("repeated_line"), "keep_earlier").read("L003", "P2") == (15000,)
    assert scene.decide(scene.finding("repeated_line"), "keep_both").read("L003", "P2") == (15000, 18000)
    assert scene.decide(scene.finding("repeated_line"), "keep_last").read("L003", "P2") == (18000,)


def test_a_line_read_three_times() -> None:
    scene = Scene(THREE_TIMES)
    first, second = scene.finding("repeated_line", 0), scene.finding("repeated_line", 1)
    assert scene.read("L003", "P2") == (21000,)
    scene.decide(first, "keep_earlier")
    assert scene.read("L003", "P2") == (15000,)
    # The suggestion for the second reading, taken now, must not undo what was said about the first.
    assert scene.decide(second, "keep_last").read("L003", "P2") == (15000,)
    assert scene.decide(second, "keep_both").read("L003", "P2") == (15000, 18000)
    assert scene.decide(first, "keep_last").read("L003", "P2") == (18000, 21000)
    assert scene.decide(second, "keep_last").read("L003", "P2") == (21000,)


def test_false_start() -> None:
    scene = Scene()
    assert scene.read("L004", "P1") == (9000,)
    assert not scene.effects.cut_outs
    assert scene.decide(scene.finding("false_start"), "leave_in").read("L004", "P1") == (8300, 9000)


def test_a_false_start_inside_a_kept_reading_is_cut_out_of_it() -> None:
    inside = CLEAN.replace("L005 P1 10900 13000", "L005 P1 10900 13000\n L005 P1 11500 11900 partial 2")
    scene = Scene(inside)
    assert list(scene.effects.cut_outs) == [Span(11500, 11900)]
    assert list(scene.decide(scene.finding("false_start"), "leave_in").effects.cut_outs) == []


def test_dropped_line() -> None:
    scene = Scene()
    lent = scene.slot("L004", "P2")
    assert (lent.source, scene.read("L004", "P2")) == ("borrowed", (9000,))
    assert scene.decide(scene.finding("dropped_line"), "leave_out").read("L004", "P2") == ()
    assert scene.decide(scene.finding("dropped_line"), "pick_up").read("L004", "P2") == ()
    assert scene.decide(scene.finding("dropped_line"), "borrow").read("L004", "P2") == (9000,)


def test_a_line_dropped_from_both_passes_has_nobody_to_borrow_from() -> None:
    scene = Scene(CLEAN.replace("L004 P1 8300 10200", "").replace("L004 P2 20500 22400", ""))
    assert scene.read("L004", "P1") == scene.read("L004", "P2") == ()


def test_a_pick_up_fills_every_place_where_its_line_is_missing() -> None:
    gone = CLEAN.replace("L004 P1 8300 10200", "").replace("L004 P2 20500 22400", "").replace("L006 -  33000 33900", "")
    scene = Scene(gone + "L004 - 41000 42900\n L006 - 44000 45000\n L003 - 46000 47800")
    scene.pick_ups = (Span(40000, 50000),)
    assert scene.read("L004", "P1") == scene.read("L004", "P2") == (41000,)
    assert scene.slot("L004", "P2").source == "picked_up"
    assert scene.read("L006", None) == (44000,)
    assert scene.read("L003", "P2") == (15000,), "a line that is there keeps its own reading"
    assert scene.decide(scene.finding("dropped_line"), "leave_out").read("L004", "P1") == ()
    assert scene.read("L004", "P2") == (41000,)


def test_a_pick_up_is_taken_before_a_line_is_borrowed() -> None:
    scene = Scene(CLEAN.replace("L004 P2 20500 22400", "") + "L004 - 41000 42900")
    scene.pick_ups = (Span(40000, 50000),)
    assert scene.read("L004", "P2") == (41000,)
    assert scene.decide(scene.finding("dropped_line"), "pick_up").read("L004", "P2") == (41000,)
    assert scene.decide(scene.finding("dropped_line"), "borrow").read("L004", "P2") == (8300,)


def test_misread() -> None:
    match = told(MARKET, CLEAN)
    kept = match.kept("L004", "P2")
    assert kept
    scene = Scene(match=with_change(match, kept.id, 2, 2, "eleven"))
    assert [(w.reading_id, w.changes[0].heard) for w in scene.effects.wordings] == [(kept.id, ("eleven",))]
    finding = scene.finding("misread")
    assert list(scene.decide(finding, "as_script").effects.wordings) == []
    assert scene.read("L004", "P2") == (20500,)
    assert scene.decide(finding, "leave_out").read("L004", "P2") == ()
    assert scene.read("L004", "P1") == (8300,)


def test_ad_lib() -> None:
    scene = Scene()
    assert list(scene.effects.asides) == []
    scene.decide(scene.finding("ad_lib"), "keep")
    assert list(scene.effects.asides) == [KeptAside(Span(4700, 5400), ("water", "please"))]
    assert list(scene.decide(about_aside(Span(4700, 5400)), "leave_out").effects.asides) == []


def test_talk_inside_a_kept_reading_is_cut_out_of_it() -> None:
    scene = Scene(CLEAN + "talk 27000 27300 sorry")
    assert list(scene.effects.cut_outs) == [Span(27000, 27300)]
    assert list(scene.decide(scene.finding("ad_lib"), "keep").effects.cut_outs) == []


def test_stray_sound() -> None:
    scene = Scene(CLEAN)
    between, inside = Span(13500, 13800), Span(27000, 27200)
    scene.sounds = (Sound(between, -30.0), Sound(inside, -30.0))
    assert list(scene.effects.covers) == [between]
    scene.decide(scene.finding("stray_sound", 1), "cut_out")
    scene.decide(scene.finding("stray_sound", 0), "leave_in")
    assert list(scene.effects.covers) == [inside]


def test_stray_text() -> None:
    scene = Scene(CLEAN)
    scene.words = (
        HeardWord("Thank", Span(23500, 23900), 0.5, 0.0),
        HeardWord("you.", Span(23900, 24300), 0.5, 0.0),
    )
    assert list(scene.effects.asides) == []
    scene.decide(scene.finding("stray_text"), "caption_it")
    assert list(scene.effects.asides) == [KeptAside(Span(23500, 24300), ("Thank", "you."))]


def test_another_reading_can_be_chosen_for_a_line() -> None:
    scene = Scene()
    slot = about_slot("L003", "P2", MARKET, scene.match)
    assert scene.decide(slot, "keep", reading=Span(15000, 16900)).read("L003", "P2") == (15000,)
    scene.decide(slot, "borrow", reading=Span(6000, 7800))
    assert scene.read("L003", "P2") == (6000,)
    assert scene.slot("L003", "P2").source == "borrowed"
    assert scene.decide(slot, "leave_out").read("L003", "P2") == ()
    # The later word counts, whichever way it was said.
    assert scene.decide(scene.finding("repeated_line"), "keep_earlier").read("L003", "P2") == (15000,)


def test_edges_move_and_go_back() -> None:
    scene = Scene(CLEAN)
    first = scene.match.readings[0]
    scene.decide(about_edge(first, "start", MARKET), "move", 900)
    scene.decide(about_edge(first, "end", MARKET), "move", 2150)
    assert list(scene.effects.edges) == [MovedEdges(first.id, Span(900, 2150))]
    scene.decide(about_edge(first, "end", MARKET), "reset")
    assert list(scene.effects.edges) == [MovedEdges(first.id, Span(900, first.cut.end_ms))]
    scene.decide(about_edge(first, "start", MARKET), "reset")
    assert list(scene.effects.edges) == []


def test_gaps_and_captions() -> None:
    scene = Scene(CLEAN)
    first = scene.match.readings[0]
    scene.decide(about_gap("L004", MARKET), "set", 4400)
    scene.decide(about_caption(first, MARKET), "set", "Hello and welcome!")
    assert list(scene.effects.gaps) == [LineGap("L004", 4400)]
    assert [(w.reading_id, w.text) for w in scene.effects.wordings] == [(first.id, "Hello and welcome!")]
    scene.decide(about_gap("L004", MARKET), "reset")
    scene.decide(about_caption(first, MARKET), "reset")
    assert not any((scene.effects.gaps, scene.effects.wordings))


def test_chapters() -> None:
    scene = Scene(CLEAN)
    scene.decide(about_section(0, None, MARKET, scene.match), "title", "Hello")
    scene.decide(about_section(0, None, MARKET, scene.match), "hide")
    scene.decide(about_section(1, "P2", MARKET, scene.match), "hide")
    scene.decide(about_section(1, "P2", MARKET, scene.match), "show")
    added = about_added_chapter("L005", "P1", MARKET, scene.match)
    scene.decide(added, "add", "The van")
    scene.decide(added, "title", "The slow van")
    assert scene.effects.chapters == (
        ChapterChange(0, None, None, "Hello", hidden=True),
        ChapterChange(1, None, "P2", None, hidden=False),
        ChapterChange(None, "L005", "P1", "The slow van"),
    )
    assert len(scene.decide(added, "remove").effects.chapters) == 2


ONLY_MODEL = CLEAN[: CLEAN.index("repeat")] + "L006 - 33000 33900"


def test_without_a_repeat_pass_one_is_built_of_what_the_model_reading_plays() -> None:
    scene = Scene(ONLY_MODEL.replace("L004 P1 8300 10200", "L004 P1 8300 9200\n L004 P1 9300 10200"))
    assert scene.read("L004", BUILT_PASS) == (9300,)
    assert scene.slot("L004", BUILT_PASS).source == "built"
    scene.decide(scene.finding("repeated_line"), "keep_both")
    assert scene.read("L004", "P1") == (8300, 9300)
    assert scene.read("L004", BUILT_PASS) == (9300,), "once is enough to repeat"


def test_the_built_pass_can_be_decided_about_like_any_other() -> None:
    scene = Scene(ONLY_MODEL)
    scene.decide(about_slot("L004", BUILT_PASS, MARKET, scene.match), "leave_out")
    scene.decide(about_section(1, BUILT_PASS, MARKET, scene.match), "title", "Your turn")
    assert not scene.resolved.stale
    assert scene.read("L004", "P1") == (8300,)
    assert scene.read("L004", BUILT_PASS) == ()
    assert scene.effects.chapters[0].pass_id == BUILT_PASS
    # With a repeat pass in the take the decision is about that one: it is the first of its kind.
    again = scene.analysed_again(told(MARKET, CLEAN))
    assert again.read("L004", "P2") == ()


@pytest.mark.parametrize("kind", ["ad_lib", "false_start"])
def test_a_finding_without_a_slot_or_reading_of_its_own_does_no_harm(kind: str) -> None:
    scene = Scene()
    match = replace(scene.match, readings=(), asides=scene.match.asides if kind == "ad_lib" else ())
    again = scene.analysed_again(match)
    assert all(slot.reading_ids == () for slot in again.effects.slots)
