"""Aligners side by side answer as one does, in whatever order they are asked, and whatever becomes of the helpers."""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from lessoncut import codec, wording
from lessoncut.hearing import aligners as side
from lessoncut.hearing.align import Aligner
from lessoncut.hearing.aligners import Aligners, answer_all
from lessoncut.hearing.records import Alignment, AlignmentRequest
from lessoncut.take.decode import decode, mapped
from lessoncut.take.probe import probe
from lessoncut.times import Span, milliseconds

READER = Path(__file__).parents[2] / "sample_media" / "reader"


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The reader's take, as the lesson folder keeps it."""
    path = tmp_path_factory.mktemp("sound") / "sound.npy"
    decode(probe([READER / "reader.m4a"]), path)
    return path


@pytest.fixture(scope="module")
def requests() -> list[AlignmentRequest]:
    truth: dict[str, Any] = json.loads((READER / "truth.json").read_text(encoding="utf-8"))
    texts = {line["id"]: wording.spoken(line["text"]) for line in truth["lines"]}
    found = []
    for reading in truth["readings"]:
        window = Span(milliseconds(reading["start_s"]), milliseconds(reading["end_s"])).padded(150, 150)
        found.append(AlignmentRequest(reading["line"], texts[reading["line"]], window))
    assert len(found) > 4
    return found


@pytest.fixture(scope="module")
def expected(sound: Path, requests: list[AlignmentRequest]) -> tuple[Alignment, ...]:
    return Aligner(mapped(sound)).align(requests)


@pytest.fixture
def two(sound: Path) -> Iterator[Aligners]:
    with Aligners(sound, 2, at_once=True) as aligners:
        yield aligners


def helpers(aligners: Aligners) -> list[subprocess.Popen[str]]:
    return [helper.process for helper in aligners.helpers if helper.process]


def test_an_answer_does_not_hang_on_what_was_asked_before(
    sound: Path, requests: list[AlignmentRequest], expected: tuple[Alignment, ...]
) -> None:
    """The decoder keeps what it made out of the noise, unless it is told not to."""
    backwards = Aligner(mapped(sound)).align(requests[::-1])
    assert backwards[::-1] == expected
    assert Aligner(mapped(sound)).align(requests[-1:]) == expected[-1:]


def test_two_answer_as_one(
    two: Aligners, requests: list[AlignmentRequest], expected: tuple[Alignment, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    (helper,) = helpers(two)
    told: list[float] = []
    assert two.align(requests, told.append) == expected
    assert told and told == sorted(told) and all(0 < done <= 1 for done in told)
    assert helper.poll() is None  # it waits for the next round
    monkeypatch.setattr(Aligner, "align", lambda self, asked: pytest.fail("asked here"))  # noqa: ARG005
    monkeypatch.setattr(side._Round, "untaken", lambda self: iter(()))  # noqa: ARG005
    assert two.align(requests) == expected  # all by the helper
    two.close()
    assert helper.returncode is not None


@pytest.mark.parametrize("when", ["before", "under way"])
def test_what_a_killed_helper_leaves_is_answered_here(
    two: Aligners, requests: list[AlignmentRequest], expected: tuple[Alignment, ...], when: str
) -> None:
    (helper,) = helpers(two)
    if when == "before":
        helper.kill()
        helper.wait()
    told: list[float] = []

    def tell(done: float) -> None:
        told.append(done)
        helper.kill()

    assert two.align(requests, tell) == expected
    assert told[-1] == 1.0
    assert helpers(two) == []
    assert two.align(requests) == expected


def test_a_helper_that_says_nonsense_is_done_without(
    two: Aligners, requests: list[AlignmentRequest], expected: tuple[Alignment, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    (helper,) = helpers(two)
    monkeypatch.setattr(codec, "loads", lambda _: {"neither": "nor"})
    assert two.align(requests) == expected
    assert helper.returncode is not None


def test_without_another_interpreter_all_is_answered_here(
    sound: Path, requests: list[AlignmentRequest], expected: tuple[Alignment, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "executable", str(sound.parent / "no such program"))
    with Aligners(sound, 4, at_once=True) as aligners:
        assert helpers(aligners) == []
        assert aligners.align(requests) == expected


def test_helpers_are_started_where_they_are_worth_it(sound: Path, requests: list[AlignmentRequest]) -> None:
    with Aligners(sound, 3) as aligners:
        aligners.align(requests[:1])
        assert not helpers(aligners)
        assert aligners.align([]) == ()
        long = [AlignmentRequest("L001", ("one",), Span(0, side.WORTH_MS // 2)) for _ in range(2)]
        aligners.align(long)
        assert len(helpers(aligners)) == 2
        started = helpers(aligners)
    assert all(helper.returncode is not None for helper in started)
    with Aligners(sound, 1, at_once=True) as alone:
        assert not helpers(alone)
    with Aligners(sound, 99, at_once=True) as many:
        assert len(helpers(many)) == side.MOST - 1


def test_a_helper_ends_with_its_input(sound: Path, requests: list[AlignmentRequest]) -> None:
    command = [sys.executable, "-m", "lessoncut.hearing.aligners", str(sound)]
    asked = "".join(json.dumps(codec.encode(each)) + "\n" for each in requests[:2])
    done = subprocess.run(command, input=asked, capture_output=True, text=True, check=True, env=os.environ)
    answers = [codec.decode(Alignment, codec.loads(row)) for row in done.stdout.splitlines()]
    assert [answer.request for answer in answers] == requests[:2]


def test_questions_and_answers_are_lines(
    sound: Path, requests: list[AlignmentRequest], expected: tuple[Alignment, ...]
) -> None:
    asked = io.StringIO("".join(json.dumps(codec.encode(each)) + "\n" for each in requests))
    told = io.StringIO()
    answer_all(sound, asked, told)
    assert tuple(codec.decode(Alignment, codec.loads(row)) for row in told.getvalue().splitlines()) == expected
