from __future__ import annotations

import pytest

from lessoncut.hearing import told as module
from lessoncut.hearing.told import told, written
from lessoncut.times import Span


def test_words_share_their_stretch_evenly() -> None:
    hearing = told("12.0  the river is wide  14.0")
    assert [word.text for word in hearing.words] == ["the", "river", "is", "wide"]
    assert [word.span for word in hearing.words] == [Span(12000 + 500 * n, 12500 + 500 * n) for n in range(4)]
    assert hearing.speech == (Span(12000, 14000),)
    assert hearing.duration_ms == 15000


def test_a_time_inside_places_a_word() -> None:
    hearing = told("6.2  the river  6.9  runs cold  8.0  a remark")
    assert [(word.text, word.span.start_ms) for word in hearing.words] == [
        ("the", 6200), ("river", 6550), ("runs", 6900), ("cold", 7450),
    ]  # fmt: skip
    assert hearing.speech == (Span(6200, 8000),)


def test_the_notation_of_the_docstring_is_what_it_says() -> None:
    assert module.__doc__ is not None
    example = [line for line in module.__doc__.splitlines() if line.startswith("    ")]
    assert len(example) == 8
    hearing = told("\n".join(example))
    assert [word.text for word in hearing.words if word.probability < 0.5] == ["reever"]
    assert [word.text for word in hearing.words if word.voiced == 0] == ["thanks", "for", "watching"]
    assert Span(12000, 13500) in hearing.speech
    assert Span(20000, 22000) not in hearing.speech
    assert [(sound.span, sound.held) for sound in hearing.sounds] == [
        (Span(25000, 25300), False), (Span(28000, 29200), True),
    ]  # fmt: skip


@pytest.mark.parametrize(
    "line", ["the river  1.0", "1.0  the river", "1.0  2.0", "1.0 the river 2.0", "2.0  back  1.0"]
)
def test_what_is_not_in_the_notation_is_refused(line: str) -> None:
    with pytest.raises(ValueError, match=r"expected|cannot end"):
        told(line)


def test_time_order_is_required() -> None:
    with pytest.raises(ValueError, match="time order"):
        told("""
            1.0  one  2.0
            1.5  two  3.0
        """)


def test_writing_down_and_telling_again_gives_the_same() -> None:
    text = """
         1.0  the river is wide  2.5
         4.0  ...  4.5
         5.0  [thanks]  6.0
         6.4  (laughter)  6.9
         7.0  (cough)  7.2
         7.4  <vvvv>  7.9
         8.0  the ~reever  9.0
    """
    hearing = told(text)
    assert [sound.laughter for sound in hearing.sounds] == [True, False, False]
    assert told(written(hearing)) == hearing
