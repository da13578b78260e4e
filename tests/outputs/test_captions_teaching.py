from __future__ import annotations

import io
import re
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pysubs2
import pytest
import webvtt

from lessoncut import ffmpeg
from lessoncut.outputs import NotPossible
from lessoncut.outputs.captions_teaching_ass import captions_teaching_ass
from lessoncut.outputs.captions_teaching_webvtt import captions_teaching_webvtt
from lessoncut.outputs.captions_webvtt import captions_webvtt
from lessoncut.outputs.choices import Choices
from lessoncut.outputs.teaching_cues import taught_cues
from lessoncut.times import Span
from tests.outputs.lessons import studied
from tests.outputs.programmes import harbour

STAMP = r"<(\d\d):(\d\d):(\d\d)\.(\d\d\d)>"
AWKWARD = 'Say <b>west & vest</b> --> now.\nVera {\\b1}waved, "well".'


def _ms(parts: tuple[str, ...]) -> int:
    hours, minutes, seconds, thousandths = map(int, parts)
    return ((hours * 60 + minutes) * 60 + seconds) * 1000 + thousandths


def _plain(text: str) -> str:
    without = re.sub(r"<[^>]*>", "", text)
    return without.replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&")


@pytest.mark.parametrize("passage", [None, AWKWARD])
def test_a_second_parser_reads_the_cues_and_the_style(passage: str | None) -> None:
    """webvtt-py keeps tags in raw_text; its start and end are strings."""
    programme, _ = studied() if passage is None else studied(passage)
    read = webvtt.from_buffer(io.StringIO(captions_teaching_webvtt(programme)))
    cues = taught_cues(programme)
    assert len(read.captions) == len(cues)
    assert len(read.styles) == 1
    for caption in read.captions:
        opened, closed = len(re.findall(r"<c[.\w]*>", caption.raw_text)), caption.raw_text.count("</c>")
        assert opened == closed
        assert "-->" not in caption.raw_text


def test_inner_timestamps_rise_and_lie_inside_their_cue() -> None:
    """W3C WebVTT, 4.2.2: greater than every one before, greater than the cue's start, less than its end."""
    programme, _ = studied()
    stamped = 0
    for caption in webvtt.from_buffer(io.StringIO(captions_teaching_webvtt(programme))).captions:
        inner = [_ms(parts) for parts in re.findall(STAMP, caption.raw_text)]
        edges = [round(caption.start_in_seconds * 1000), *inner, round(caption.end_in_seconds * 1000)]
        start = _ms(re.match(r"(\d\d):(\d\d):(\d\d)\.(\d\d\d)", caption.start).groups())  # type: ignore[union-attr]
        end = _ms(re.match(r"(\d\d):(\d\d):(\d\d)\.(\d\d\d)", caption.end).groups())  # type: ignore[union-attr]
        edges = [start, *inner, end]
        assert all(before < after for before, after in pairwise(edges))
        stamped += len(inner)
    assert stamped > 200


def test_words_stay_as_written_and_no_capitals_mark_stress() -> None:
    programme, _ = studied()
    shown = " ".join(
        _plain(caption.raw_text)
        for caption in webvtt.from_buffer(io.StringIO(captions_teaching_webvtt(programme))).captions
    )
    clean = webvtt.from_buffer(io.StringIO(captions_webvtt(programme)))
    for caption in clean.captions:
        for word in caption.text.split():
            assert word in shown
    assert not re.search(r"\b[A-Z]{3,}", shown)


def test_stress_focus_and_sounds_have_their_classes() -> None:
    programme, _ = studied()
    text = captions_teaching_webvtt(programme)
    assert "<c.focus.sound2>w</c><c.focus>est</c>" in text
    assert "<c.sound1>V</c>ictor" in text


def test_in_the_gap_the_line_stays_under_the_call() -> None:
    programme, _ = studied()
    gaps = [said.mark.gap.lesson_span for said in programme.said if said.mark.gap.kind == "repeat"]
    calls = [cue for cue in taught_cues(replace(programme, choices=Choices(your_turn="You say it"))) if cue.call]
    assert len(calls) == len(gaps) == 20
    for cue, gap in zip(calls, gaps, strict=True):
        assert cue.call == "You say it"
        assert gap.start_ms <= cue.span.start_ms
        assert cue.span.end_ms <= gap.end_ms
    first = next(said for said in programme.said if said.mark.gap.kind == "repeat")
    assert " ".join("".join(x.text for x in word.letters) for row in calls[0].rows for word in row) == first.text
    other = replace(programme, choices=Choices(your_turn="<Now> you"))
    assert captions_teaching_webvtt(other).count("<c.turn>&lt;Now&gt; you</c>") == 20


def test_cues_do_not_overlap_and_rows_fit_the_picture() -> None:
    """42 characters a row (Netflix Timed Text Style Guide)."""
    programme, _ = studied()
    cues = taught_cues(programme)
    assert all(before.span.end_ms < after.span.start_ms for before, after in pairwise(cues))
    for cue in cues:
        for row in cue.rows:
            assert sum(len(x.text) for word in row for x in word.letters) + len(row) - 1 <= 42


def test_the_ass_is_read_back_with_its_words_and_lasts_as_long_as_they_do() -> None:
    """``\\k`` counts hundredths of a second (Advanced SubStation Alpha, as pysubs2 and libass read it)."""
    programme, _ = studied()
    file = pysubs2.SSAFile.from_string(captions_teaching_ass(programme))
    cues = taught_cues(programme)
    assert len(file) == len(cues)
    for event, cue in zip(file, cues, strict=True):
        assert event.plaintext.split() == [
            *(cue.call or "").split(), *("".join(x.text for x in word.letters) for row in cue.rows for word in row),
        ]  # fmt: skip
        if cue.call is None:
            lit_cs = sum(map(int, re.findall(r"\\k(\d+)", event.text)))
            last_ms = max(word.span.end_ms for row in cue.rows for word in row)
            assert abs(lit_cs * 10 - (last_ms - cue.span.start_ms)) <= 20
    assert {"Default", "Turn"} <= set(file.styles)


def _lit_until(ass: Path, at_ms: int) -> int:
    """The last column of a picture of that moment, drawn by libass, in which a letter is as white as what was said."""
    picture = ffmpeg.generated("color=black:s=960x540:r=100:d=3").filter("ass", filename=str(ass))
    picture = picture.filter("trim", start=at_ms / 1000, end=(at_ms + 10) / 1000).filter("setpts", "PTS-STARTPTS")
    drawn = b"".join(ffmpeg.read(ffmpeg.target(picture, format="rawvideo", pix_fmt="gray")))
    grey = np.frombuffer(drawn, np.uint8).reshape(540, 960)
    return int(np.flatnonzero((grey > 230).any(axis=0)).max(initial=0))


def test_libass_lights_a_whole_word_at_once(tmp_path: Path) -> None:
    """The letters of a word have several looks, for stress and for sounds; all are lit soon after it begins."""
    programme, _ = studied("Woven **waves** we wait for.")
    ass = tmp_path / "captions.ass"
    ass.write_text(captions_teaching_ass(programme), encoding="utf-8")
    words = taught_cues(programme)[0].rows[0][:2]
    assert all(len(word.letters) >= 3 for word in words)
    reached = [0]
    for word in words:
        soon, after = _lit_until(ass, word.span.start_ms + 60), _lit_until(ass, word.span.end_ms + 10)
        assert soon == after > reached[-1]
        reached.append(soon)


def test_braces_and_backslashes_of_the_script_are_no_tags() -> None:
    programme, _ = studied(AWKWARD)
    file = pysubs2.SSAFile.from_string(captions_teaching_ass(programme))
    assert any("waved" in event.plaintext and "｛" in event.plaintext for event in file)


def test_on_the_takes_clock_there_is_no_call() -> None:
    programme, _ = studied()
    on_take = replace(programme, clock="take")
    assert all(cue.call is None for cue in taught_cues(on_take))


def test_parts_of_a_split_line_take_their_own_letters() -> None:
    programme, _ = studied("Vera waved, and then Vera went west.", sounds="v")
    assert isinstance(programme.said[0].span, Span)
    letters = [x for cue in taught_cues(programme) for row in cue.rows for word in row for x in word.letters]
    assert sum(x.sound for x in letters) == sum(x.text.lower().startswith("v") for x in letters if x.sound)


def test_without_a_study_nothing_can_be_taught() -> None:
    with pytest.raises(NotPossible):
        captions_teaching_webvtt(harbour())
