"""The edit list: frames that can be checked by hand, and what holds for every take."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from lessoncut.decisions.subjects import about_edge, about_gap, about_slot
from lessoncut.hearing.records import Sound
from lessoncut.lesson.build import build
from lessoncut.lesson.pacing import Pacing
from lessoncut.lesson.records import Lesson, LineItem
from lessoncut.take.levels import Levels
from lessoncut.take.records import Take
from lessoncut.timeline.layout import lay_out
from lessoncut.timeline.records import Gap, Marks, TakeEdit, Timeline
from lessoncut.timeline.timemap import time_map
from lessoncut.times import Span
from tests.decisions.scene import Scene
from tests.lesson.telling import CLEAN, MARKET, take_of, told, with_words

TAKE = take_of(50_000)
"""25 frames a second: 40 ms each."""
PLAIN = Pacing("B1", split=False)


def laid(
    scene: Scene, pacing: Pacing = PLAIN, take: Take = TAKE, levels: Levels | None = None
) -> tuple[Lesson, Timeline, Marks]:
    lesson = build(scene.script, take, scene.match, scene.effects, pacing)
    return lesson, *lay_out(lesson, take, scene.match, pacing, levels)


def drawn(timeline: Timeline) -> list[str]:
    """Every edit as ``what item: source frames`` or ``hold item: length of picture``."""
    return [
        f"hold {edit.item}: {edit.lesson_out - edit.lesson_in} of {edit.hold_frame}"
        if isinstance(edit, Gap)
        else f"{edit.role} {edit.item}: {edit.source_in}-{edit.source_out}"
        for edit in timeline.edits
    ]


SHORT = """
    L001 -  1000 2200
    L002 -  2900 4300
    model P1 6000 13000
    L003 P1 6000 7800
    repeat P2 15000 31000
    L003 P2 15000 16900
    L004 P2 21500 23400
"""


def test_every_frame_of_a_short_lesson() -> None:
    """L003's gap at B1: 0.8 + max(1.3 * 1.9, 7 / 3) = 3.27, so 3.3 s. L004 is missing from the model reading."""
    scene = Scene(SHORT)
    for line_id in ("L004", "L005"):
        scene.decide(about_slot(line_id, "P1", MARKET, scene.match), "leave_out")
    lesson, timeline, marks = laid(scene)
    assert [item.line_id for item in lesson.items if isinstance(item, LineItem)] == [
        "L001", "L002", "L003", "L003", "L004",
    ]  # fmt: skip
    assert drawn(timeline) == [
        # Half a second before the first word at 1000 ms (frame 25); its handle begins at 940, frame 24.
        "pause -1: 13-24",
        "line 0: 24-57",
        # 2200 to 2900 was recorded and is kept.
        "pause 0: 57-71",
        "line 1: 71-109",
        # 4300 to 6000 was recorded; between chapters 1500 ms are kept: 37.5 frames, less 60 and 40 ms of handles.
        "pause 1: 109-126",
        "pause 1: 131-149",
        "line 2: 149-197",
        # 7800 to 15000 was recorded, 1500 ms are kept.
        "pause 2: 197-214",
        "pause 2: 356-374",
        "line 3: 374-424",
        # 4600 ms were recorded, 3300 are wanted: 60 and 60 ms of handles, and 79.5 frames make 80.
        "pause 3: 424-464",
        "pause 3: 496-536",
        "line 4: 536-587",
        # The last line has the same gap: 80 ms of handle, and 80.5 frames make 81. The take has it all.
        "pause 4: 587-668",
    ]
    assert marks.items[3].gap.wanted_ms == 3300
    assert marks.items[3].gap.recorded_ms == 4600
    assert [gap.lesson_span.length_ms for gap in (marks.items[3].gap, marks.items[4].gap)] == [3320, 3320]


def edits_after(timeline: Timeline, item: int) -> list[str]:
    return [row for row in drawn(timeline) if row.startswith((f"pause {item}:", f"hold {item}:"))]


def test_a_gap_longer_than_the_pause_holds_the_last_frame_before_the_next_line() -> None:
    scene = Scene(CLEAN)
    scene.decide(about_gap("L003", MARKET), "set", 6000)
    _, timeline, marks = laid(scene)
    # 3600 were recorded: frames 424 to 511 are quiet. 6000 less handles of 60 and 60 are 147 frames.
    assert edits_after(timeline, 5) == ["pause 5: 424-511", "hold 5: 60 of 510"]
    assert marks.items[5].gap.lesson_span.length_ms == 6000


def test_a_gap_may_be_a_held_picture_throughout() -> None:
    scene = Scene(CLEAN)
    scene.decide(about_gap("L003", MARKET), "set", 6000)
    _, timeline, marks = laid(scene, replace(PLAIN, fill="hold"))
    assert edits_after(timeline, 5) == ["hold 5: 147 of 510"]
    assert marks.items[5].gap.lesson_span.length_ms == 6000


def test_where_a_cut_lies_between_quiet_is_taken_from_both_sides() -> None:
    """A line read twice: the first reading stays out, and a stretch of quiet lies on either side of it."""
    scene = Scene(CLEAN + "L004 P2 18000 19900")
    _, timeline, marks = laid(scene)
    assert marks.items[5].gap.recorded_ms is None
    # Quiet from 424 up to the handle at 17940 (frame 448), and from 19990 (500) to the line at frame 511.
    assert edits_after(timeline, 5) == ["pause 5: 424-448", "pause 5: 500-511", "hold 5: 45 of 510"]


def test_without_quiet_before_the_next_line_its_first_frame_is_held() -> None:
    scene = Scene(CLEAN + "talk 16990 20440 no no once more from the top")
    _, timeline, _ = laid(scene)
    assert edits_after(timeline, 5) == ["hold 5: 82 of 512"]


def test_a_borrowed_line_has_the_gap_of_its_own_pass() -> None:
    scene = Scene(CLEAN.replace("L004 P2 20500 22400", ""))
    _, timeline, marks = laid(scene)
    borrowed = marks.items[6]
    assert (borrowed.line_id, borrowed.pass_kind, borrowed.gap.kind) == ("L004", "repeat", "repeat")
    assert (borrowed.gap.wanted_ms, borrowed.gap.recorded_ms) == (3300, None)
    # The model reading goes on at frame 271 after 17 quiet frames; before L005 in the repeat pass there are many.
    assert edits_after(timeline, 6)[0].startswith("pause 6: 257-271")


def test_lines_that_touch_play_on_without_a_doubled_frame() -> None:
    """Inside frame 260 one line ends and the next begins."""
    touching = CLEAN.replace("L004 P1 8300 10200", "L004 P1 8300 10410").replace("P1 10900", "P1 10415")
    _, timeline, marks = laid(Scene(touching))
    assert [row for row in drawn(timeline) if "line 3" in row or "line 4" in row] == [
        "line 3: 206-261",
        "line 4: 261-327",
    ]
    assert marks.items[3].gap.lesson_span.length_ms == marks.items[3].gap.wanted_ms == 5


def test_a_partial_start_that_is_left_in_gets_no_gap() -> None:
    scene = Scene(CLEAN + "L004 P2 19000 19500 partial 2")
    scene.decide(scene.finding("false_start"), "leave_in")
    _, _, marks = laid(scene)
    assert [
        (mark.partial, mark.gap.kind) for mark in marks.items if mark.line_id == "L004" and mark.pass_id == "P2"
    ] == [
        (True, "pause"),
        (False, "repeat"),
    ]


def test_what_is_cut_out_of_a_line_leaves_a_join_and_words_keep_their_times() -> None:
    text = CLEAN.replace("L004 P2 20500 22400", "L004 P2 20500 23500\n L004 P2 21300 22100 partial 2")
    words = ((20500, 20800), (20800, 21300), (22100, 22400), (22400, 23000), (23000, 23500))
    _, timeline, marks = laid(Scene(match=with_words(told(MARKET, text), "R07", *words)))
    # 21300 lies in frame 532, 22100 in frame 552.
    assert [row for row in drawn(timeline) if "line 6" in row] == ["line 6: 511-533", "line 6: 552-588"]
    mark = marks.items[6]
    assert mark.lesson_span.length_ms == 3000 - 19 * 40
    assert mark.words[1].span.end_ms - mark.lesson_span.start_ms == 800
    assert mark.words[2].span.start_ms - mark.lesson_span.start_ms == 1600 - 19 * 40
    assert mark.gap.wanted_ms == 3700, "0.8 + 1.3 * 2.2 of speech"


def test_the_last_pause_is_kept_up_to_a_second_and_never_into_other_speech() -> None:
    assert drawn(laid(Scene(CLEAN))[1])[-1] == "pause 8: 849-872"
    assert drawn(laid(Scene(CLEAN + "talk 34100 34900 was that it"))[1])[-1] == "pause 8: 849-850"


def test_the_opening_never_reaches_into_other_speech() -> None:
    assert drawn(laid(Scene("talk 400 700 is it on\n" + CLEAN))[1])[:2] == ["pause -1: 20-24", "line 0: 24-57"]


def test_talk_that_is_kept_has_natural_pauses_around_it() -> None:
    scene = Scene(CLEAN + "talk 23400 24400 lovely everybody")
    scene.decide(scene.finding("ad_lib"), "keep")
    lesson, _, marks = laid(scene)
    assert [mark.gap.kind for mark in marks.items[6:8]] == ["repeat", "pause"]
    assert marks.items[6].gap.wanted_ms == 3300
    assert marks.items[7].gap.wanted_ms == 1000
    assert marks.items[7].text == lesson.items[7].text == "lovely everybody"


def test_a_moved_edge_moves_the_frames() -> None:
    scene = Scene(CLEAN)
    last = scene.match.readings[-1]
    scene.decide(about_edge(last, "end", MARKET), "move", 33800)
    _, timeline, marks = laid(scene)
    # The reading's speech goes on to 33900: what was cut off must not come back as a pause.
    assert drawn(timeline)[-1] == "line 8: 824-845"
    assert marks.items[8].lesson_span.length_ms == 800


def test_trimming_happens_where_it_is_quiet() -> None:
    """The pause after L003 in the repeat pass, 3600 ms, is trimmed to 3300; a hum ends at 20000."""
    levels = np.full(5000, -70.0, dtype=np.float32)
    levels[1700:2000] = -40.0
    _, timeline, _ = laid(Scene(CLEAN), levels=Levels(levels, levels))
    assert edits_after(timeline, 5) == ["pause 5: 424-500", "pause 5: 507-511"]


def test_a_sound_to_cover_is_covered_wherever_it_plays() -> None:
    only_model = CLEAN[: CLEAN.index("repeat")]
    scene = Scene(only_model)
    scene.sounds = (Sound(Span(7900, 8100), -30.0), Sound(Span(20_000, 20_300), -30.0))
    _, timeline, marks = laid(scene)
    after = [mark.lesson_span.end_ms for mark in marks.items if mark.line_id == "L003"]
    assert [cover.lesson_span for cover in timeline.covers] == [Span(end + 100, end + 300) for end in after]


def test_files_of_a_take_are_cut_at_their_border() -> None:
    """L004 of the repeat pass runs over the end of the first file, which is no whole number of frames long."""
    _, timeline, marks = laid(Scene(CLEAN), take=take_of(21_010, 30_000))
    mine = [edit for edit in timeline.edits if isinstance(edit, TakeEdit) and edit.item == 6 and edit.role == "line"]
    assert [(edit.file, edit.source_in, edit.source_out) for edit in mine] == [(0, 511, 525), (1, 0, 37)]
    assert timeline.file_starts_ms == (0, 21_010)
    assert [mark.gap.recorded_ms for mark in marks.items[5:7]] == [3600, 3600]


def test_a_take_without_a_picture_lies_on_hundredths_of_a_second() -> None:
    _, timeline, marks = laid(Scene(CLEAN), take=take_of(50_000, rate=None))
    assert timeline.rate.per_second == 100
    assert marks.items[5].gap.lesson_span.length_ms == 3300


def test_chapters_are_contiguous_from_the_first_frame_to_the_last() -> None:
    _, timeline, marks = laid(Scene(CLEAN))
    assert [mark.title for mark in marks.chapters] == [
        "Welcome",
        "At the market: listen",
        "At the market: repeat",
        "Goodbye",
    ]
    edges = [mark.lesson_in for mark in marks.chapters] + [timeline.frames]
    assert edges[0] == 0
    assert [mark.lesson_out for mark in marks.chapters] == edges[1:]
    assert [mark.lesson_in for mark in marks.chapters[1:]] == [marks.items[at].lesson_in for at in (2, 5, 8)]


def test_nothing_to_play_makes_an_empty_timeline() -> None:
    scene = Scene(match=replace(told(MARKET, CLEAN), passes=(), readings=()))
    _, timeline, marks = laid(scene)
    assert (timeline.frames, timeline.edits, marks.chapters, marks.items) == (0, (), (), ())


# -- what holds for every take -----------------------------------------------------------------------

RATES = [Fraction(25), Fraction(30000, 1001), Fraction(24000, 1001), Fraction(60000, 1001), Fraction(30), None]


@st.composite
def takes(draw: st.DrawFn) -> str:
    """Any take of the market script: lines missing, read twice, broken off, talk anywhere, pauses of any length."""
    rows: list[str] = []
    at_ms = draw(st.integers(0, 3000))

    def spoken(line_id: str, pass_id: str) -> None:
        nonlocal at_ms
        for kind in draw(
            st.sampled_from([["full"]] * 5 + [[], ["full", "full"], ["partial", "full"], ["talk", "full"]])
        ):
            length = draw(st.integers(400, 3500))
            span = f"{at_ms} {at_ms + length}"
            rows.append(
                f"talk {span} oh my"
                if kind == "talk"
                else f"{line_id} {pass_id} {span}{' partial 2' if kind == 'partial' else ''}"
            )
            at_ms += length + draw(st.sampled_from([0, 1, 30, 200, 700]) | st.integers(0, 6000))

    for line_id in ("L001", "L002"):
        spoken(line_id, "-")
    for pass_id, kind in (("P1", "model"), ("P2", "repeat"))[: draw(st.integers(0, 2))]:
        start_ms = at_ms
        for line_id in ("L003", "L004", "L005"):
            spoken(line_id, pass_id)
        rows.append(f"{kind} {pass_id} {start_ms} {at_ms}")
    spoken("L006", "-")
    return "\n".join(rows)


pacings = st.builds(
    Pacing,
    level=st.sampled_from(["A1", "B1", "C2"]),
    split=st.booleans(),
    build_up=st.booleans(),
    fill=st.sampled_from(["recorded", "hold"]),
    least_ms=st.sampled_from([0, 1500, 2000]),
    pause_most_ms=st.sampled_from([0, 300, 1000]),
)


@st.composite
def lessons(draw: st.DrawFn) -> tuple[Scene, Take, Pacing]:
    scene = Scene(draw(takes()))
    for finding in scene.findings:
        if draw(st.booleans()):
            scene.decide(finding, draw(st.sampled_from([choice.name for choice in finding.choices])))
    if draw(st.booleans()):
        scene.decide(about_gap("L004", MARKET), "set", draw(st.integers(0, 9000)))
    rate = draw(st.sampled_from(RATES))
    border = draw(st.sampled_from([0, 0, 17_003]))
    return scene, take_of(*([border] if border else []), 80_000 - border, rate=rate), draw(pacings)


@settings(max_examples=50, deadline=None)
@given(lessons())
def test_the_edits_fill_the_lesson_and_stay_inside_their_files(made: tuple[Scene, Take, Pacing]) -> None:
    scene, take, pacing = made
    _, timeline, _ = laid(scene, pacing, take)
    frame = 0
    for edit in timeline.edits:
        assert edit.lesson_in == frame < edit.lesson_out
        frame = edit.lesson_out
        if isinstance(edit, TakeEdit):
            assert edit.source_out - edit.source_in == edit.lesson_out - edit.lesson_in
            assert edit.source_in >= 0
            length_ms = take.files[edit.file].duration_ms
            assert edit.source_out <= timeline.rate.first_frame_from(length_ms)
        else:
            assert edit.hold_frame >= 0
    assert frame == timeline.frames == sum(edit.lesson_out - edit.lesson_in for edit in timeline.edits)


@settings(max_examples=50, deadline=None)
@given(lessons())
def test_all_speech_that_is_kept_plays_and_stands_where_its_mark_says(made: tuple[Scene, Take, Pacing]) -> None:
    scene, take, pacing = made
    lesson, timeline, marks = laid(scene, pacing, take)
    clock = time_map(timeline)
    frame_ms = 1000 / timeline.rate.per_second
    border = take.spans[0].end_ms if len(take.files) > 1 else -1
    for item, mark in zip(lesson.items, marks.items, strict=True):
        assert mark.lesson_span.end_ms >= mark.lesson_span.start_ms
        across = item.span.start_ms < border < item.span.end_ms
        for word, shown in zip(item.words, mark.words, strict=True):
            assert shown.text == word.text
            for at_ms in (word.span.start_ms, word.span.middle_ms, max(word.span.start_ms, word.span.end_ms - 1)):
                if across and abs(at_ms - border) <= frame_ms:
                    continue
                wanted_ms = shown.span.start_ms + at_ms - word.span.start_ms
                near = [abs(found - wanted_ms) for found in clock.lesson_ms(at_ms)]
                assert near and min(near) <= (frame_ms if across else 1)


@settings(max_examples=50, deadline=None)
@given(lessons())
def test_every_gap_is_what_was_wanted_to_the_frame(made: tuple[Scene, Take, Pacing]) -> None:
    scene, take, pacing = made
    lesson, timeline, marks = laid(scene, pacing, take)
    frame_ms = 1000 / timeline.rate.per_second
    for item, mark in zip(lesson.items, marks.items, strict=True):
        gap = mark.gap
        assert gap.lesson_span.start_ms == mark.lesson_span.end_ms
        assert gap.lesson_in * frame_ms >= gap.lesson_span.start_ms - 1
        handles_ms = item.cut.end_ms - item.span.end_ms + 120 + 2 * frame_ms
        if gap.kind == "repeat":
            assert gap.lesson_span.length_ms >= gap.wanted_ms
            assert gap.lesson_span.length_ms <= max(gap.wanted_ms + frame_ms, handles_ms) + 1
        elif mark is not marks.items[-1]:
            assert gap.lesson_span.length_ms <= max(gap.wanted_ms + frame_ms, handles_ms) + 1
            if gap.recorded_ms == gap.wanted_ms:
                assert abs(gap.lesson_span.length_ms - gap.wanted_ms) <= 1
    for mark, following in zip(marks.items, marks.items[1:], strict=False):
        assert mark.gap.lesson_span.end_ms == following.lesson_span.start_ms
    if marks.items:
        assert marks.items[-1].gap.lesson_span.end_ms == timeline.duration_ms


@settings(max_examples=50, deadline=None)
@given(lessons())
def test_speech_that_is_left_out_does_not_play(made: tuple[Scene, Take, Pacing]) -> None:
    """But for the rest of the frame in which kept speech begins or ends."""
    scene, take, pacing = made
    lesson, timeline, _ = laid(scene, pacing, take)
    assume(len(take.files) == 1)
    clock = time_map(timeline)
    frame_ms = 1000 / timeline.rate.per_second
    playing = [item.span for item in lesson.items]
    left = [reading.span for reading in scene.match.readings] + [aside.span for aside in scene.match.asides]
    for span in left:
        for at_ms in range(span.start_ms, span.end_ms, 25):
            near = any(other.padded(int(frame_ms) + 1, int(frame_ms) + 1).contains(at_ms) for other in playing)
            assert near or clock.lesson_ms(at_ms) == ()


@settings(max_examples=50, deadline=None)
@given(lessons())
def test_chapters_cover_the_lesson(made: tuple[Scene, Take, Pacing]) -> None:
    scene, take, pacing = made
    lesson, timeline, marks = laid(scene, pacing, take)
    edges = [mark.lesson_in for mark in marks.chapters] + [timeline.frames]
    assert (edges == sorted(set(edges)) and edges[0] == 0) or not lesson.items
    assert [mark.lesson_out for mark in marks.chapters] == edges[1:]
    assert [mark.title for mark in marks.chapters] == [chapter.title for chapter in lesson.chapters]
