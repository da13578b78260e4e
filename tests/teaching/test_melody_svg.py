from __future__ import annotations

from dataclasses import replace
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
    return ElementTree.fromstring(drawing)


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


def test_no_drawing_without_voice_or_without_times() -> None:
    line = Line("L001", "Vera waved.", 0, True)
    timed = _reading((Span(0, 500), Span(500, 1000)), (0.0,) * 100)
    assert melody_svg(line, stress_of(line), replace(timed, contour=None)) is None
    assert melody_svg(line, stress_of(line), replace(timed, word_spans=(None, Span(500, 1000)))) is None
