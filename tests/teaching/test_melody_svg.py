from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from xml.etree import ElementTree

from lessoncut.script.records import Line
from lessoncut.teaching.melody_svg import melody_svg
from lessoncut.teaching.records import Contour, ReadingStudy
from lessoncut.teaching.stress_rule import stress_of
from lessoncut.times import Span

SVG = "{http://www.w3.org/2000/svg}"


def _reading(words: tuple[Span | None, ...], semitones: tuple[float | None, ...]) -> ReadingStudy:
    return ReadingStudy(
        "R1", "L001", None, None, Span(0, 1000), words, 4, 4.0, 4.0, (), ((0, 2),), (), (), (), (),
        Contour(0, 10, semitones), "fall",
    )  # fmt: skip


def _drawn(text: str, reading: ReadingStudy) -> ElementTree.Element:
    line = Line("L001", text, 0, True)
    drawing = melody_svg(line, stress_of(line), reading)
    assert drawing is not None
    return ElementTree.fromstring(drawing.svg)


def test_voiced_stretches_lie_over_their_words_and_high_is_up() -> None:
    reading = _reading((Span(0, 400), Span(600, 1000)), (6.0,) * 40 + (None,) * 20 + (-6.0,) * 40)
    root = _drawn("Vera waved.", reading)
    lines = [
        [tuple(map(float, point.split(","))) for point in line.attrib["points"].split()]
        for line in root.iter(f"{SVG}polyline")
    ]
    words = {text.text: float(text.attrib["x"]) for text in root.iter(f"{SVG}text")}
    assert len(lines) == 2
    middles = [sum(x for x, _ in line) / len(line) for line in lines]
    assert abs(middles[0] - words["Vera"]) < 2
    assert abs(middles[1] - words["waved"]) < 2
    assert lines[0][0][1] < lines[1][0][1]


def test_it_names_itself_for_those_who_cannot_see_it_and_escapes_the_text() -> None:
    """SVG 1.1, 5.4: title and desc are children of the element they describe."""
    root = _drawn("Ben & <Vera>", _reading((Span(0, 400), Span(600, 1000)), (0.0,) * 100))
    assert [child.tag for child in root][:2] == [f"{SVG}title", f"{SVG}desc"]
    assert root[0].text == "Melody of: Ben & <Vera>"
    assert root.attrib["role"] == "img"
    assert "falls" in (root[1].text or "")


def test_pitch_beyond_the_picture_is_drawn_at_its_edge() -> None:
    root = _drawn("Vera waved.", _reading((Span(0, 500), Span(500, 1000)), (40.0,) * 100))
    height = float(root.attrib["height"])
    for line in root.iter(f"{SVG}polyline"):
        assert all(0 <= float(point.split(",")[1]) <= height for point in line.attrib["points"].split())


def test_what_a_leap_tears_off_a_vowel_is_not_drawn() -> None:
    """Three frames that leap up at a vowel's end are the consonant's; a long stretch after a leap is a voice again."""
    words = (Span(0, 500), Span(500, 1000))
    hung_on = _drawn("Vera waved.", _reading(words, (0.0,) * 40 + (4.0,) * 3 + (None,) * 57))
    (only,) = hung_on.iter(f"{SVG}polyline")
    assert len({point.split(",")[1] for point in only.attrib["points"].split()}) == 1
    gone_on = _drawn("Vera waved.", _reading(words, (0.0,) * 40 + (4.0,) * 40 + (None,) * 20))
    assert len(list(gone_on.iter(f"{SVG}polyline"))) == 2


def test_a_long_line_goes_on_in_more_rows_each_with_the_pitch_of_its_words() -> None:
    """A row ends with a thought group; its pitch lies over its own words, and no stroke runs from row to row."""
    text = ", ".join(["we wave and we wave at every vessel"] * 6)
    line = Line("L001", text, 0, True)
    rule = stress_of(line)
    count = len(rule.words)
    spans = tuple(Span(200 * n, 200 * n + 200) for n in range(count))
    rising = tuple(n / 20 - 6 for n in range(20 * count))
    drawing = melody_svg(line, rule, _reading(spans, tuple(0.01 * value for value in rising)))
    assert drawing is not None
    assert drawing.rows > 1
    root = ElementTree.fromstring(drawing.svg)
    tall, wide = float(root.attrib["height"]) / drawing.rows, float(root.attrib["width"])
    words = [(text, int(float(text.attrib["y"]) // tall)) for text in root.iter(f"{SVG}text")]
    assert [text.text for text, _ in words] == [word.text for word in rule.words]
    ends = {number for number, ((_, row), (_, after)) in enumerate(pairwise(words), start=1) if after > row}
    assert len(ends) == drawing.rows - 1
    assert ends <= {end for _, end in rule.groups}
    assert all(float(text.attrib["x"]) < wide <= 810 for text, _ in words)
    strokes = [
        [tuple(map(float, point.split(","))) for point in line.attrib["points"].split()]
        for line in root.iter(f"{SVG}polyline")
    ]
    assert len(strokes) == drawing.rows
    for row, points in enumerate(strokes):
        assert {int(y // tall) for _, y in points} == {row}
        assert [x for x, _ in points] == sorted(x for x, _ in points)


def test_no_drawing_without_voice_or_without_times() -> None:
    line = Line("L001", "Vera waved.", 0, True)
    timed = _reading((Span(0, 500), Span(500, 1000)), (0.0,) * 100)
    assert melody_svg(line, stress_of(line), replace(timed, contour=None)) is None
    assert melody_svg(line, stress_of(line), replace(timed, word_spans=(None, Span(500, 1000)))) is None
