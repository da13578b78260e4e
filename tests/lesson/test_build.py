"""The finished programme: which readings, in which order, in which chapters."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lessoncut.decisions.records import BUILT_PASS, Subject
from lessoncut.decisions.subjects import (
    about_added_chapter,
    about_caption,
    about_edge,
    about_gap,
    about_section,
    about_slot,
)
from lessoncut.hearing.records import HeardWord, Sound
from lessoncut.lesson.build import build
from lessoncut.lesson.pacing import Pacing
from lessoncut.lesson.records import Lesson, LineItem
from lessoncut.times import Span
from tests.decisions.scene import MISHAPS, Scene
from tests.lesson.telling import CLEAN, MARKET, take_of, told, with_change, with_words

WHOLE = Pacing(split=False)
ONLY_MODEL = CLEAN[: CLEAN.index("repeat")] + "L006 - 33000 33900"


def lesson_of(scene: Scene, pacing: Pacing = WHOLE) -> Lesson:
    return build(scene.script, take_of(50_000), scene.match, scene.effects, pacing)


def told_as(lesson: Lesson) -> list[str]:
    """Every item as ``line pass start``, talk as ``talk start``."""
    return [
        f"{item.line_id} {item.pass_id or '-'} {item.span.start_ms}"
        if isinstance(item, LineItem)
        else f"talk {item.span.start_ms}"
        for item in lesson.items
    ]


def order(text: str) -> list[str]:
    return told_as(lesson_of(Scene(text)))


def lines(lesson: Lesson) -> list[LineItem]:
    return [item for item in lesson.items if isinstance(item, LineItem)]


CLEAN_ORDER = [
    "L001 - 1000", "L002 - 2900",
    "L003 P1 6000", "L004 P1 8300", "L005 P1 10900",
    "L003 P2 15000", "L004 P2 20500", "L005 P2 26000",
    "L006 - 33000",
]  # fmt: skip


def changed(**readings: str) -> list[str]:
    """The clean order with other readings: ``L004_P2="40000"``."""
    wanted = {name.replace("_", " "): start for name, start in readings.items()}
    return [
        f"{row.rsplit(' ', 1)[0]} {wanted[row.rsplit(' ', 1)[0]]}" if row.rsplit(" ", 1)[0] in wanted else row
        for row in CLEAN_ORDER
    ]


def test_a_clean_take_plays_as_it_was_spoken() -> None:
    assert order(CLEAN) == CLEAN_ORDER


def test_a_line_read_again_at_the_end_of_its_pass_stands_in_its_place() -> None:
    assert order(CLEAN + "L003 P2 29000 30900") == changed(L003_P2="29000")


def test_a_line_read_again_after_the_ending_stands_in_its_place() -> None:
    assert order(CLEAN + "L004 P2 40000 41900") == changed(L004_P2="40000")


def test_a_line_outside_the_passage_read_again_at_the_end_stands_in_its_place() -> None:
    again = order(CLEAN + "L002 - 40000 41400")
    assert again == [row.replace("L002 - 2900", "L002 - 40000") for row in CLEAN_ORDER]


def test_a_forgotten_line_said_later_stands_in_its_place() -> None:
    late = CLEAN.replace("L001 -  1000 2200", "L001 - 40000 41200")
    assert order(late) == ["L001 - 40000", *CLEAN_ORDER[1:]]


def test_the_first_line_after_the_passage_stays_after_it_when_it_is_picked_up() -> None:
    scene = Scene(CLEAN.replace("L006 -  33000 33900", "") + "L006 - 44000 45000")
    scene.pick_ups = (Span(43000, 46000),)
    assert told_as(lesson_of(scene)) == [*CLEAN_ORDER[:-1], "L006 - 44000"]


def test_the_last_line_before_the_passage_stays_before_it_when_it_is_picked_up() -> None:
    scene = Scene(CLEAN.replace("L002 -  2900 4300", "") + "L002 - 44000 45000")
    scene.pick_ups = (Span(43000, 46000),)
    assert told_as(lesson_of(scene)) == ["L001 - 1000", "L002 - 44000", *CLEAN_ORDER[2:]]


def test_the_repeat_pass_may_come_first() -> None:
    swapped = CLEAN.replace("model P1", "repeat P1").replace("repeat P2", "model P2")
    assert order(swapped) == CLEAN_ORDER
    assert [item.kind for item in lesson_of(Scene(swapped)).passes] == ["repeat", "model"]


def test_a_line_said_between_the_passes_stays_between_them() -> None:
    between = CLEAN.replace("L002 -  2900 4300", "L002 - 13500 14500")
    assert order(between) == [CLEAN_ORDER[0], *CLEAN_ORDER[2:5], "L002 - 13500", *CLEAN_ORDER[5:]]


def test_a_borrowed_line_plays_in_the_pass_that_lacks_it() -> None:
    lesson = lesson_of(Scene(CLEAN.replace("L004 P2 20500 22400", "")))
    assert told_as(lesson) == changed(L004_P2="8300")
    assert [item.source for item in lines(lesson)].count("borrowed") == 1
    assert lesson.left_out == ()


def test_what_is_left_out_is_told() -> None:
    scene = Scene(CLEAN)
    scene.decide(about_slot("L004", "P2", MARKET, scene.match), "leave_out")
    lesson = lesson_of(scene)
    assert "L004 P2 20500" not in told_as(lesson)
    assert lesson.left_out == (("L004", "P2"),)


def test_a_repetition_that_is_meant_plays_twice() -> None:
    scene = Scene()
    scene.decide(scene.finding("repeated_line"), "keep_both")
    assert [row for row in told_as(lesson_of(scene)) if row.startswith("L003 P2")] == ["L003 P2 15000", "L003 P2 18000"]


def test_a_start_that_is_left_in_is_marked_as_partial() -> None:
    scene = Scene()
    scene.decide(scene.finding("false_start"), "leave_in")
    mine = [item for item in lines(lesson_of(scene)) if item.line_id == "L004" and item.pass_id == "P1"]
    assert [(item.partial, item.text) for item in mine] == [(True, "We want"), (False, "We want seven vests, please.")]


# -- talk --------------------------------------------------------------------------------------------


def test_talk_that_is_kept_stays_where_it_was_said() -> None:
    scene = Scene()
    scene.decide(scene.finding("ad_lib"), "keep")
    lesson = lesson_of(scene)
    assert told_as(lesson)[:4] == ["L001 - 1000", "L002 - 2900", "talk 4700", "L003 P1 6000"]
    assert lesson.items[2].text == "water please"
    assert lesson.chapters[0].items[-1] == lesson.items[2], "talk belongs to what it follows"
    assert lesson.items[2].cut == Span(4620, 5520)


def test_talk_before_everything_opens_the_first_chapter() -> None:
    scene = Scene("talk 200 700 hello there\n" + CLEAN)
    scene.decide(scene.finding("ad_lib"), "keep")
    lesson = lesson_of(scene)
    assert told_as(lesson)[0] == "talk 200"
    assert lesson.chapters[0].title == "Welcome"
    assert lesson.items[0].cut == Span(120, 820)


def test_talk_keeps_away_from_its_neighbours() -> None:
    scene = Scene(CLEAN + "talk 4330 5990 mind the first sound")
    scene.decide(scene.finding("ad_lib"), "keep")
    assert next(item for item in lesson_of(scene).items if not isinstance(item, LineItem)).cut == Span(4300, 6000)


def test_text_that_was_said_after_all_plays_like_talk() -> None:
    scene = Scene(CLEAN)
    scene.words = (HeardWord("lovely", Span(23500, 24300), 0.5, 0.0),)
    scene.decide(scene.finding("stray_text"), "caption_it")
    assert "talk 23500" in told_as(lesson_of(scene))


def test_what_plays_as_a_part_of_a_line_does_not_play_again() -> None:
    scene = Scene(CLEAN + "talk 27000 27300 sorry")
    scene.decide(scene.finding("ad_lib"), "keep")
    assert told_as(lesson_of(scene)) == CLEAN_ORDER


# -- words, edges, cuts ------------------------------------------------------------------------------


def test_captions_follow_what_was_said_and_the_syllables_stay_the_scripts() -> None:
    match = told(MARKET, CLEAN)
    scene = Scene(match=with_change(match, "R07", 2, 2, "eleven"))
    item = next(item for item in lines(lesson_of(scene)) if item.reading_id == "R07")
    assert item.text == "We want eleven vests, please."
    scene.decide(about_caption(match.readings[6], MARKET), "set", "Hm")
    item = next(item for item in lines(lesson_of(scene)) if item.reading_id == "R07")
    assert (item.text, item.syllables) == ("Hm", 6)


def test_moved_edges_move_the_cut_and_what_counts_as_speech() -> None:
    scene = Scene(CLEAN)
    scene.decide(about_edge(scene.match.readings[0], "start", MARKET), "move", 1100)
    scene.decide(about_edge(scene.match.readings[0], "end", MARKET), "move", 2400)
    item = lines(lesson_of(scene))[0]
    assert (item.cut, item.span) == (Span(1100, 2400), Span(1100, 2200))


def test_a_start_inside_a_reading_is_cut_out_between_its_words() -> None:
    text = CLEAN.replace("L004 P2 20500 22400", "L004 P2 20500 23500\n L004 P2 21250 22050 partial 2")
    match = with_words(
        told(MARKET, text), "R07", (20500, 20800), (20800, 21300), (22100, 22400), (22400, 23000), (23000, 23500)
    )
    item = next(item for item in lines(lesson_of(Scene(match=match))) if item.reading_id == "R07")
    assert item.cut_outs == (Span(21300, 22050),)
    assert item.spoken_ms == 3000 - 750


def test_a_cough_is_covered_but_never_a_word() -> None:
    scene = Scene(CLEAN)
    scene.sounds = (Sound(Span(22300, 22900), -30.0),)
    scene.decide(scene.finding("stray_sound"), "cut_out")
    assert lesson_of(scene).covers == (Span(22400, 22900),)


def test_the_teachers_gap_goes_to_her_line_in_the_repeat_pass_and_no_other() -> None:
    scene = Scene(CLEAN)
    scene.decide(about_gap("L004", MARKET), "set", 6400)
    lesson = lesson_of(scene)
    assert [(item.pass_id, item.gap_ms) for item in lines(lesson) if item.line_id == "L004"] == [
        ("P1", 6400),
        ("P2", 6400),
    ]
    assert all(item.gap_ms is None for item in lines(lesson) if item.line_id != "L004")


# -- parts -------------------------------------------------------------------------------------------

PAUSED = [
    (26000, 26200),
    (26200, 26500),
    (26500, 26700),
    (26700, 27000),
    (27400, 27500),
    (27500, 27600),
    (27600, 27900),
    (27900, 28000),
    (28000, 28300),
]
"""L005 with a pause of 400 ms after "The wind is wild,"."""


def parted(pacing: Pacing) -> list[LineItem]:
    scene = Scene(match=with_words(told(MARKET, CLEAN), "R08", *PAUSED))
    return [item for item in lines(lesson_of(scene, pacing)) if item.line_id == "L005"]


def test_a_long_line_comes_in_parts_in_the_repeat_pass_only() -> None:
    model, first, second = parted(Pacing("A1"))
    assert (model.parts, model.text) == (1, "The wind is wild, and the van is slow.")
    assert (first.text, second.text) == ("The wind is wild,", "and the van is slow.")
    assert [(item.part, item.parts, item.syllables) for item in (first, second)] == [(1, 2, 4), (2, 2, 5)]
    assert (first.span, second.span) == (Span(26000, 27000), Span(27400, 28300))
    assert (first.cut, second.cut) == (Span(25940, 27090), Span(27340, 28390))


def test_the_whole_line_may_be_said_again_after_its_parts() -> None:
    *_, whole = parted(Pacing("A1", build_up=True))
    assert (whole.part, whole.parts, whole.text) == (0, 2, "The wind is wild, and the van is slow.")


def test_the_teachers_gap_for_a_line_in_parts_comes_after_its_end() -> None:
    scene = Scene(match=with_words(told(MARKET, CLEAN), "R08", *PAUSED))
    scene.decide(about_gap("L005", MARKET), "set", 6400)
    parts = [item for item in lines(lesson_of(scene, Pacing("A1"))) if item.line_id == "L005" and item.parts > 1]
    assert [item.gap_ms for item in parts] == [None, 6400]


def test_without_a_pause_the_cut_falls_on_the_edge_between_two_words() -> None:
    scene = Scene(CLEAN)
    _, first, second = [item for item in lines(lesson_of(scene, Pacing("A1"))) if item.line_id == "L005"]
    assert first.cut.end_ms == first.span.end_ms == second.span.start_ms == second.cut.start_ms


# -- built repeat pass -------------------------------------------------------------------------------


def test_a_repeat_pass_is_built_right_after_the_model_reading() -> None:
    lesson = lesson_of(Scene(ONLY_MODEL))
    built = [row.replace("P1", BUILT_PASS) for row in CLEAN_ORDER[2:5]]
    assert told_as(lesson) == [*CLEAN_ORDER[:5], *built, CLEAN_ORDER[-1]]
    assert [(item.id, item.kind, item.built) for item in lesson.passes] == [
        ("P1", "model", False),
        (BUILT_PASS, "repeat", True),
    ]
    assert {item.source for item in lines(lesson) if item.pass_id == BUILT_PASS} == {"built"}


def test_no_repeat_pass_is_built_where_the_teacher_wants_none() -> None:
    lesson = lesson_of(Scene(ONLY_MODEL), replace(WHOLE, build_repeat=False))
    assert told_as(lesson) == [*CLEAN_ORDER[:5], CLEAN_ORDER[-1]]
    assert lesson.left_out == ()


def test_a_take_with_nothing_to_play() -> None:
    scene = Scene(match=replace(told(MARKET, CLEAN), passes=(), readings=()))
    lesson = lesson_of(scene)
    assert not any((lesson.chapters, lesson.items))
    assert len(lesson.left_out) == len(MARKET.lines)


# -- chapters ----------------------------------------------------------------------------------------


def chapters(scene: Scene) -> list[tuple[str, int]]:
    return [(chapter.title, len(chapter.items)) for chapter in lesson_of(scene).chapters]


def test_sections_are_chapters_and_each_pass_is_one() -> None:
    assert chapters(Scene(CLEAN)) == [
        ("Welcome", 2),
        ("At the market: listen", 3),
        ("At the market: repeat", 3),
        ("Goodbye", 1),
    ]


def test_several_repeat_passes_are_numbered() -> None:
    twice = CLEAN.replace("L006 -  33000 33900", "repeat P3 35000 45000\n L003 P3 35000 36900\n L006 - 48000 48900")
    assert [title for title, _ in chapters(Scene(twice))] == [
        "Welcome",
        "At the market: listen",
        "At the market: repeat 1",
        "At the market: repeat 2",
        "Goodbye",
    ]


def test_a_passage_that_plays_once_has_its_plain_title() -> None:
    once = "repeat P2 15000 31000\n L003 P2 15000 16900"
    assert chapters(Scene(once)) == [("At the market", 1)]


@pytest.mark.parametrize(
    ("hidden", "left"),
    [
        ([(2, None)], [("Welcome", 2), ("At the market: listen", 3), ("At the market: repeat", 4)]),
        ([(0, None)], [("At the market: listen", 5), ("At the market: repeat", 3), ("Goodbye", 1)]),
        ([(1, "P1"), (1, "P2")], [("Welcome", 8), ("Goodbye", 1)]),
        ([(0, None), (1, "P1"), (1, "P2"), (2, None)], [("Welcome", 9)]),
    ],
)
def test_hidden_chapters_give_their_lines_to_their_neighbour(
    hidden: list[tuple[int, str | None]], left: list[tuple[str, int]]
) -> None:
    scene = Scene(CLEAN)
    for section, pass_id in hidden:
        scene.decide(about_section(section, pass_id, MARKET, scene.match), "hide")
    assert chapters(scene) == left


def test_chapters_are_renamed_and_added() -> None:
    scene = Scene(CLEAN)
    scene.decide(about_section(1, "P2", MARKET, scene.match), "title", "Your turn")
    scene.decide(about_added_chapter("L005", "P1", MARKET, scene.match), "add", "A slow van")
    scene.decide(about_added_chapter("L006", None, MARKET, scene.match), "add", "The end")
    assert chapters(scene) == [
        ("Welcome", 2),
        ("At the market: listen", 2),
        ("A slow van", 1),
        ("Your turn", 3),
        ("The end", 1),
    ]


def test_every_item_is_in_one_chapter() -> None:
    for text in (CLEAN, MISHAPS, ONLY_MODEL):
        lesson = lesson_of(Scene(text))
        assert all(chapter.items for chapter in lesson.chapters)
        assert len(lesson.items) == sum(len(chapter.items) for chapter in lesson.chapters)


# -- sounds held for demonstration ---------------------------------------------------------------------

DEMONSTRATED = CLEAN.replace("model P1", "held 4800 5600\n    model P1")


def test_a_held_sound_plays_where_it_stands_and_has_no_words() -> None:
    lesson = lesson_of(Scene(DEMONSTRATED))
    assert told_as(lesson)[:4] == ["L001 - 1000", "L002 - 2900", "talk 4800", "L003 P1 6000"]
    held = lesson.items[2]
    assert (held.span, held.words) == (Span(4800, 5600), ())
    assert held.cut == Span(4720, 5720)
    assert [chapter.title for chapter in lesson.chapters if held in chapter.items] == ["Welcome"]


def test_the_teacher_may_leave_a_held_sound_out_and_take_it_back() -> None:
    scene = Scene(DEMONSTRATED)
    about = Subject("aside", span=Span(4800, 5600))
    assert "talk 4800" not in told_as(lesson_of(scene.decide(about, "leave_out")))
    assert "talk 4800" in told_as(lesson_of(scene.decide(about, "keep")))
