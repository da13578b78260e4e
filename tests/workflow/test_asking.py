"""The progress of the questions to the aligner."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from lessoncut.hearing.records import Alignment, AlignmentRequest
from lessoncut.progress import Progress
from lessoncut.times import Span
from lessoncut.workflow.asking import Rounds


def test_every_answer_moves_it_on_and_no_number_of_rounds_ends_it() -> None:
    def align(requests: Sequence[AlignmentRequest], progress: Progress) -> tuple[Alignment, ...]:
        for at in range(len(requests)):
            progress((at + 1) / len(requests))
        return tuple(Alignment(request, ()) for request in requests)

    told: list[float] = []
    ask = Rounds(told.append).of(align)
    requests = [AlignmentRequest("L001", ("wait",), Span(at, at + 500)) for at in range(3)]
    assert [answer.request for answer in ask(requests)] == requests
    assert told == pytest.approx([0.2, 0.4, 0.6])
    for _ in range(30):
        ask(requests[:1])
    assert told == sorted(told)
    assert told[3] == pytest.approx(0.84)
    assert 0.99 < told[-1] <= 1
