"""Following the script through heard words, against a slow and obvious search over every path."""

from __future__ import annotations

import tracemalloc
from unittest import mock

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lessoncut.hearing.told import told
from lessoncut.matching import follow as following
from lessoncut.matching.follow import PAUSE_MS, Costs, Token, course, follow, order_cost, word_costs
from lessoncut.matching.pieces import tokens_of
from lessoncut.script.records import Script
from tests.matching.scripts import FERRY, script

COSTS = Costs()


def lines_followed(script_: Script, hearing: str) -> list[int | None]:
    heard = told(hearing)
    return [run.line for run in follow(script_, tokens_of(heard.words, heard.speech))]


def test_lines_in_order_are_followed_one_by_one() -> None:
    hearing = """
        0.0  the ferry leaves at seven        1.5
        2.0  vera waits beside the water      3.5
        4.0  a woman waves from the window    6.0
        6.5  we have five minutes left        8.0
        8.5  the river is wide and very cold  10.5
    """
    assert lines_followed(script(FERRY), hearing) == [0, 1, 2, 3, 4]


def test_a_retake_a_false_start_and_talk_are_told_apart() -> None:
    hearing = """
        0.0  the ferry leaves at seven        1.5
        2.0  vera waits                       2.6
        3.0  sorry let me try that again      4.5
        5.0  vera waits beside the water      6.5
        7.0  vera waits beside the water      8.5
        9.0  a woman waves from the window    11.0
    """
    assert lines_followed(script(FERRY), hearing) == [0, 1, None, 1, 1, 2]


def test_the_passage_goes_round_and_drops_a_line() -> None:
    hearing = """
        0.0  a woman waves from the window    2.0
        2.5  we have five minutes left        4.0
        4.5  the river is wide and very cold  6.5
        9.0  the ferry leaves at seven        10.5
       13.0  a woman waves from the window    15.0
    """
    assert lines_followed(script(FERRY), hearing) == [2, 3, 4, 0, 2]


def test_a_refrain_is_told_apart_by_its_place() -> None:
    refrain = script("We row on.\nThe wind is warm.\nWe row on.\nThe water is blue.\nWe row on.")
    hearing = """
        0.0  we row on            1.0
        1.5  the wind is warm     2.5
        3.0  we row on            4.0
        4.5  the water is blue    5.5
        6.0  we row on            7.0
        9.0  we row on           10.0
       11.0  the wind is warm    12.0
       13.0  we row on           14.0
    """
    assert lines_followed(refrain, hearing) == [0, 1, 2, 3, 4, 0, 1, 2]


def test_one_word_of_a_line_before_a_pause_is_an_attempt() -> None:
    hearing = """
        0.0  the ferry leaves at seven        1.5
        2.0  vera                             2.4
        3.2  vera waits beside the water      4.7
    """
    assert lines_followed(script(FERRY), hearing) == [0, 1, 1]


def leaving(words: tuple[tuple[str, ...], ...], line: int, word: int | None, costs: Costs, paused: bool) -> float:
    """What it costs to leave a line after this word, or talk (None)."""
    if word is None:
        return costs.talk_ends
    left = len(words[line]) - 1 - word
    return min(costs.missed * left, costs.most_missed_at_end) * (costs.abandoned_at_pause if paused else 1.0)


def slowest_cost(script_: Script, tokens: tuple[Token, ...], costs: Costs) -> float:
    """The cheapest path's cost by trying every edge between every two states, one token after another."""
    space = course(script_, costs)
    _, cost, rows, columns = word_costs(space, tokens, costs)
    states = [(line, word) for line, words in enumerate(space.words) for word in range(len(words))]
    talk = [(line, None) for line in range(len(space.words))]

    best: dict[tuple[int, int | None], float] = {}
    for line, word in states:
        start = min(costs.skip_each * line, costs.most_jump)
        best[line, word] = (
            start + min(costs.missed * word, costs.most_missed_at_start) + float(cost[rows[0], columns[line, word]])
        )
    for line, _ in talk:
        best[line, None] = min(costs.skip_each * line, costs.most_jump) + costs.talk_begins + costs.talk
    for at in range(1, len(tokens)):
        paused = tokens[at].pause_before_ms >= PAUSE_MS
        going_on = costs.across_pause if paused else 0.0
        new: dict[tuple[int, int | None], float] = {}
        for line, word in states:
            fits = float(cost[rows[at], columns[line, word]])
            ways = [best[line, word] + costs.extra + going_on]
            ways += [best[line, b] + costs.missed * (word - b - 1) + going_on + fits for b in range(word)]
            ways += [
                best[a, b]
                + leaving(space.words, a, b, costs, paused)
                + float(space.jump[a, line])
                + min(costs.missed * word, costs.most_missed_at_start)
                + fits
                for a, b in best
            ]
            new[line, word] = min(ways)
        for line, _ in talk:
            begin = min(
                best[line, b] + leaving(space.words, line, b, costs, paused) + costs.talk_begins
                for b in range(len(space.words[line]))
            )
            new[line, None] = min(best[line, None], begin) + costs.talk
        best = new
    return min(
        value + (leaving(space.words, line, word, costs, False) if word is not None else 0.0)
        for (line, word), value in best.items()
    )


def cost_along(script_: Script, tokens: tuple[Token, ...], costs: Costs) -> float:
    """What the path that ``follow`` chose costs, counted step by step along its runs."""
    space = course(script_, costs)
    _, cost, rows, columns = word_costs(space, tokens, costs)
    total = 0.0
    line: int | None = None
    word: int | None = None
    for run in follow(script_, tokens, costs):
        paused = tokens[run.first].pause_before_ms >= PAUSE_MS
        fits = {fit.token: fit.word for fit in run.fits}
        if run.line is None:
            if line is None:
                line = talk_belongs_to(run.last + 1, script_, tokens, costs)
                total += min(costs.skip_each * line, costs.most_jump)
            else:
                total += leaving(space.words, line, word, costs, paused)
            total += costs.talk_begins + costs.talk * (run.last - run.first + 1)
            word = None
            continue
        first = fits[run.first]
        if line is None:
            total += min(costs.skip_each * run.line, costs.most_jump)
        else:
            total += leaving(space.words, line, word, costs, paused) + float(space.jump[line, run.line])
        total += min(costs.missed * first, costs.most_missed_at_start)
        line, word = run.line, None
        for token in range(run.first, run.last + 1):
            going_on = costs.across_pause if word is not None and tokens[token].pause_before_ms >= PAUSE_MS else 0.0
            if token not in fits:
                total += costs.extra + going_on
                continue
            skipped = 0 if word is None else fits[token] - word - 1
            total += costs.missed * skipped + going_on + float(cost[rows[token], columns[line, fits[token]]])
            word = fits[token]
    return total + (leaving(space.words, line, word, costs, False) if line is not None and word is not None else 0.0)


def talk_belongs_to(following_token: int, script_: Script, tokens: tuple[Token, ...], costs: Costs) -> int:
    """Talk at the very start counts as after the line that makes what follows cheapest."""
    following = next((run.line for run in follow(script_, tokens, costs) if run.first == following_token), None)
    jump = course(script_, costs).jump
    return min(
        range(len(jump)),
        key=lambda a: (
            min(costs.skip_each * a, costs.most_jump) + (0.0 if following is None else float(jump[a, following]))
        ),
    )


WORDS = st.sampled_from(["we", "row", "on", "the", "wind", "is", "warm", "water", "blue", "sorry", "again"])
SMALL = script("We row on.\nThe wind is warm.\nWe row on.\nThe water is blue.", "Row with us.")


TAKES = st.lists(st.tuples(WORDS, st.sampled_from([0, 0, 0, 500])), min_size=1, max_size=12)
LONG_TAKES = st.lists(st.tuples(WORDS, st.sampled_from([0, 0, 0, 500])), min_size=1, max_size=80)


def spoken_tokens(spoken: list[tuple[str, int]]) -> tuple[Token, ...]:
    return tuple(Token(word, at, pause) for at, (word, pause) in enumerate(spoken))


@settings(max_examples=60, deadline=None)
@given(TAKES)
def test_the_fast_search_finds_a_path_as_cheap_as_the_slow_one(spoken: list[tuple[str, int]]) -> None:
    tokens = spoken_tokens(spoken)
    runs = follow(SMALL, tokens)
    assert [token for run in runs for token in range(run.first, run.last + 1)] == list(range(len(tokens)))
    assert cost_along(SMALL, tokens, COSTS) == pytest.approx(slowest_cost(SMALL, tokens, COSTS))


@settings(max_examples=100, deadline=None)
@given(LONG_TAKES, st.integers(1, 20))
def test_what_is_settled_on_the_way_is_what_the_end_would_have_said(spoken: list[tuple[str, int]], most: int) -> None:
    """However early it is asked which ways have met, the path is the one that is looked for only at the end."""
    tokens = spoken_tokens(spoken)
    with mock.patch.object(following, "_MOST_OPEN", len(tokens) + 1):
        at_the_end = follow(SMALL, tokens)
    with mock.patch.object(following, "_MOST_OPEN", most):
        assert follow(SMALL, tokens) == at_the_end


def read_through(lines: list[str], times: int) -> list[Token]:
    spoken = [word for _ in range(times) for line in lines for word in line.split()]
    return [Token(word + "x" * (at % 3), at, 20) for at, word in enumerate(spoken)]


def most_bytes(script_: Script, tokens: list[Token]) -> int:
    """The most memory it takes to follow them."""
    follow(script_, tokens)  # dictionaries are read once for all
    tracemalloc.start()
    try:
        runs = follow(script_, tokens)
        _, most = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert sum(run.last - run.first + 1 for run in runs) == len(tokens)
    return most


def test_memory_stays_small_for_long_takes() -> None:
    """A take of many hours with a script of 2000 lines is to fit: a token is remembered, but not every state's way."""
    names = [a + b + c for a in "bdgklm" for b in "aeiou" for c in ("sten", "rick", "ton", "vell", "dow", "pish")]
    lines = [" ".join(names[at : at + 12]) for at in range(0, 120, 2)] + [" ".join(names[:60])]
    states, whole = len(lines) * 60, script("\n".join(lines))
    twice, five_times = read_through(lines, 2), read_through(lines, 5)
    more = most_bytes(whole, five_times) - most_bytes(whole, twice)
    assert more < (len(five_times) - len(twice)) * states / 8


def test_a_line_read_again_in_its_twins_place_costs_more_than_each_once() -> None:
    """And a line read in the place of one of the very same words next to nothing."""
    assert order_cost(SMALL, [1, 2, 3, 4]) < order_cost(SMALL, [1, 2, 2, 4])
    assert order_cost(SMALL, [1, 2, 3, 4]) < order_cost(SMALL, [1, 2, 1, 4]) <= 0.1
    assert order_cost(SMALL, []) == 0
