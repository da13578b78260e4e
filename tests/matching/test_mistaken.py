"""A reading taken for another line is of the line that the recogniser finds far likelier."""

from __future__ import annotations

import pytest

from lessoncut.hearing.align import no_aligner
from lessoncut.hearing.told import told
from lessoncut.matching.attempts import Attempt
from lessoncut.matching.ground import Ground
from lessoncut.matching.mistaken import A_WORD, LESS_LIKELY, LIKELIER, with_mistaken_lines
from lessoncut.matching.records import ReadWord
from lessoncut.times import Span
from tests.matching.scripts import script
from tests.matching.sounding import weighing

PAIRS = """
    Pack and back.
    Rope and robe.
    Cap and cab.
    Cap and cabs.
    Nobody ever left the harbour without a map and a lantern, did they?
"""
SPAN = Span(1000, 2000)
LIKELY = -A_WORD * 3 + 1


def line_of(
    logs: dict[str, float], *, heard: str = "beck and beck", line: int = 1, full: bool = True, pairs: str = PAIRS
) -> int:
    """Of which line the reading is found to be."""
    hearing = told(f"1.0  {heard}  2.0")
    ground = Ground(script(pairs), hearing, no_aligner, 150.0, weigh=weighing({heard: -20.0, **logs}))
    texts = ground.spoken_words[line][: None if full else 2]
    words = tuple(ReadWord(text, SPAN, None) for text in texts)
    attempt = Attempt(line, full, len(texts), words, hearing.words if heard else (), 0.6, laid=True)
    (found,) = with_mistaken_lines(ground, [attempt])
    assert found.heard == attempt.heard
    assert found.span.overlap_ms(SPAN) > 900
    return found.line


@pytest.mark.parametrize(
    ("own", "other", "as_heard", "line"),
    [
        (LIKELY - LIKELIER - 0.5, LIKELY, -20.0, 2),
        (LIKELY - LIKELIER + 0.5, LIKELY, -20.0, 1),
        (-40.0, LIKELY, LIKELY + LESS_LIKELY - 0.5, 2),
        (-40.0, LIKELY, LIKELY + LESS_LIKELY + 0.5, 1),  # something else was said
        (-40.0, -A_WORD * 3 - 0.5, -20.0, 1),  # unlikely itself
    ],
)
def test_a_reading_heard_as_other_words_is_of_the_line_that_is_far_likelier(
    own: float, other: float, as_heard: float, line: int
) -> None:
    assert line_of({"Rope and robe.": own, "Cap and cab.": other, "beck and beck": as_heard}) == line


def test_what_was_heard_as_its_line_stays_so_and_so_do_twins_starts_and_what_lasts_otherwise() -> None:
    assert line_of({"Cap and cab.": LIKELY}, heard="rope and rob") == 1
    assert line_of({"Cap and cabs.": LIKELY}, line=2) == 2  # nearly its words: others tell these apart
    assert line_of({"Cap and cab.": LIKELY}, full=False) == 1
    assert line_of({PAIRS.strip().splitlines()[4].strip(): LIKELY}) == 1  # too long for so little sound


def test_lines_far_off_are_not_asked_about() -> None:
    far = "\n".join(["Pin and bin.", *(f"Here is line number {at}." for at in range(5)), "Cap and cab."])
    assert line_of({"Cap and cab.": LIKELY}, line=0, pairs=far) == 0


def test_of_rows_of_letters_none_is_likely() -> None:
    """What was heard as letters is of the line of letters, not of the words beside it."""
    spelt = "How is it spelt?\nT, H, E, O, and T, A, T, E."
    asked = {"How is it spelt?": LIKELY}
    assert line_of(asked, heard="t h h h h h", line=1, pairs=spelt) == 1
    assert line_of(asked, heard="how is it felt", line=1, pairs=spelt) == 0
