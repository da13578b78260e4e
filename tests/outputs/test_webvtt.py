"""WebVTT captions and chapters, held against the specification's grammar and against webvtt-py."""

from __future__ import annotations

import io

import pytest
import webvtt

from lessoncut.outputs.captions_webvtt import captions_webvtt
from lessoncut.outputs.chapters_webvtt import chapters_webvtt
from tests.outputs import webvtt_grammar
from tests.outputs.programmes import harbour, programme, said

_HEAD = "WEBVTT\n\n"
_CUE = "00:01.000 --> 00:02.000\nwords\n"


@pytest.mark.parametrize(
    ("text", "chapters"),
    [
        ("WEBVTT Translation\n\n" + _CUE, False),
        ("\ufeffWEBVTT\r\n\r\n" + _CUE.replace("\n", "\r\n"), False),
        (_HEAD + "NOTE a remark\n\n1\n" + _CUE, False),
        # The specification's example of "only nested cues", 4.6.1
        (_HEAD + "00:00.000 --> 01:00.000\na\n\n00:10.000 --> 00:30.000\nb\n\n01:00.000 --> 01:30.000\nc\n", True),
    ],
)
def test_the_strict_reader_takes_what_the_specification_allows(text: str, chapters: bool) -> None:
    assert webvtt_grammar.read(text.encode(), chapters=chapters)


@pytest.mark.parametrize(
    "text",
    [
        "WEBVTT\n" + _CUE,
        "webvtt\n\n" + _CUE,
        _HEAD + "00:01,000 --> 00:02,000\nwords\n",
        _HEAD + "0:01.000 --> 0:02.000\nwords\n",
        _HEAD + "00:61.000 --> 01:02.000\nwords\n",
        _HEAD + "00:01.00 --> 00:02.000\nwords\n",
        _HEAD + "00:01.000-->00:02.000\nwords\n",
        _HEAD + "00:02.000 --> 00:02.000\nwords\n",
        _HEAD + "00:01.000 --> 00:02.000\nsalt & bread\n",
        _HEAD + "00:01.000 --> 00:02.000\n1 < 2\n",
        _HEAD + "00:01.000 --> 00:02.000\na --> b\n",
        _HEAD + "00:01.000 --> 00:02.000\n\nwords\n",
        _HEAD + "1\n" + _CUE + "\n1\n00:02.000 --> 00:03.000\nmore\n",
        _HEAD + "00:03.000 --> 00:04.000\nwords\n\n" + _CUE,
        _HEAD + "00:01.000 --> 00:02.000 align:start align:end\nwords\n",
    ],
)
def test_the_strict_reader_refuses_what_it_forbids(text: str) -> None:
    with pytest.raises(webvtt_grammar.NotWebVTT):
        webvtt_grammar.read(text.encode())


def test_partly_overlapping_chapters_are_refused() -> None:
    """The specification's own counter-example, 4.6.1: 0 to 60 s and 30 to 90 s."""
    text = _HEAD + "00:00.000 --> 01:00.000\na\n\n00:30.000 --> 01:30.000\nb\n"
    with pytest.raises(webvtt_grammar.NotWebVTT, match="nested"):
        webvtt_grammar.read(text.encode(), chapters=True)


def test_captions_keep_the_grammar_and_give_the_text_back() -> None:
    made = harbour()
    cues = webvtt_grammar.read(captions_webvtt(made).encode())
    spans = [made.captions.span(cue) for cue in made.captions.cues]
    assert [(cue.start_ms, cue.end_ms) for cue in cues] == [(span.start_ms, span.end_ms) for span in spans]
    assert [cue.lines for cue in cues] == [cue.texts for cue in made.captions.cues]
    shown = " ".join(" ".join(cue.lines) for cue in cues)
    assert shown == " ".join(one.text for one in made.said)


def test_webvtt_py_reads_the_same_captions() -> None:
    made = harbour()
    read = webvtt.from_buffer(io.BytesIO(captions_webvtt(made).encode()))
    assert [caption.start for caption in read][:2] == ["00:00:01.001", "00:00:07.174"]
    assert [tuple(caption.lines) for caption in read][3] == ("Yes.", "I mean, open your mouth a little.")
    assert len(read) == len(made.captions.cues)


def test_chapters_keep_the_grammar_of_chapter_titles() -> None:
    made = harbour()
    cues = webvtt_grammar.read(chapters_webvtt(made).encode(), chapters=True)
    assert [cue.lines for cue in cues] == [
        ("Opening",),
        ("Two sounds; which = which?",),
        ("Model <1>",),
        ("Repeat --> now you",),
        ("Ending #5",),
    ]
    assert [(cue.start_ms, cue.end_ms) for cue in cues] == [(p.span.start_ms, p.span.end_ms) for p in made.parts]


@pytest.mark.parametrize("text", ["--> & <b>x</b> &amp;", "NOTE", "STYLE", "WEBVTT", "a\u2028b\x0bc\x00d\ud800"])
def test_no_script_text_breaks_the_file(text: str) -> None:
    made = programme(
        [said(0, f"Say {text} now.", 1000, 500, line_id="L001"), said(1, text, 9000, 500)], parts=[(text, 0)]
    )
    cues = webvtt_grammar.read(captions_webvtt(made).encode())
    assert " ".join(cues[-1].lines[0].split()) == " ".join(text.replace("\x00", "").replace("\ud800", "").split())
    assert len(webvtt_grammar.read(chapters_webvtt(made).encode(), chapters=True)) == 1


def test_a_programme_without_words_is_still_a_file() -> None:
    assert webvtt_grammar.read(captions_webvtt(programme([said(0, "\x07", 0, 500)])).encode()) == ()
