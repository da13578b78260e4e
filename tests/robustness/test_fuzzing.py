"""A short run of every fuzzer: its committed corpus, and what a few changes make of it."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.robustness import fuzzing

EXAMPLES = {"script": 150, "folder": 30, "server": 100}


@pytest.fixture(scope="module", autouse=True)
def _left_clean() -> Iterator[None]:
    yield
    fuzzing.leave()


@pytest.mark.parametrize("name", fuzzing.TARGETS)
def test_the_corpus(name: str) -> None:
    cases = fuzzing.corpus(name)
    assert len(cases) >= 8
    for content in cases:
        fuzzing.TARGETS[name](content)


@pytest.mark.parametrize("name", fuzzing.TARGETS)
def test_changed_at_random(name: str) -> None:
    """A piece of one, then some bytes, then a piece of another."""
    of_corpus = st.sampled_from(fuzzing.corpus(name))
    pieces = st.tuples(of_corpus, st.integers(0, 200), st.binary(max_size=8), of_corpus, st.integers(0, 200))
    spliced = pieces.map(lambda piece: piece[0][: piece[1]] + piece[2] + piece[3][piece[4] :])

    @settings(max_examples=EXAMPLES[name], deadline=None, suppress_health_check=[HealthCheck.too_slow], database=None)
    @given(spliced | st.binary(max_size=60))
    def anything(content: bytes) -> None:
        fuzzing.TARGETS[name](content)

    anything()
