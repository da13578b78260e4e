"""How much speaks against a hypothesis: the weights of the four witnesses, all in one place.

One unit is about as much doubt as one word that does not fit.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from lessoncut import wording
from lessoncut.hearing.records import Alignment, HeardWord
from lessoncut.matching.attempts import how_surely
from lessoncut.matching.ground import Ground, said
from lessoncut.matching.lay import Candidate, laid_span
from lessoncut.times import Span

SCORE_SLACK = 5.0
SCORE_UNIT = 7.0
POOR_WORD_SCORE = -60.0
POOR_WORD_UNIT = 30.0
UNSAID_SCORE, UNSAID_UNIT = -80.0, 20.0
"""A recogniser completes a line that breaks off: its last word lies as poorly as this on a sound that lacks it."""
NO_PATH_COST = 2.5
TEXT_WEIGHT = 4.0
LENGTH_WEIGHT = 2.5
LENGTH_SLACK, LENGTH_SLACK_OF_ONE = 0.35, 0.3
"""Natural logarithm: lines a third shorter or longer than usual are nothing special, nor is a word by itself in half
its time."""
LEFT_WEIGHT = 3.0
BROKEN_OFF_COST = 0.6
MISREAD_COST = 0.8
UNLIKELY_PLACE_COST = 0.8
ONE_WORD_COST = 0.6
"""For one word as the start of a line that has no business there: "Good" is rarely one of "Good morning"."""
PAUSE_IN_START_COST = 0.4
MOST_CONTESTED = 3
"""So few heard words are weighed against the script's by their sound."""
MOST_COUNTED, CONTEST_UNIT = 3.0, 4.0
LEAST_COUNTED, MISHEARD_GAIN, LEAST_MISHEARD = 0.4, 0.4, 3
"""A line of so many words that fits the sound better than the words heard by more than a unit was misheard: for each
further unit these count so much less, down to the first."""
FEW_TO_MISHEAR, SOMEWHAT_LIKE = 5, 0.4
"""So few words may be misheard though the recogniser was sure of each; and their likeness to the line."""
CLEAR_WEIGHT, MOST_CLEAR = 0.05, 10.0
BEYOND_COST, MOST_BEYOND = 0.8, 1.6
"""For each word heard after the one that a line is said to break off in."""
CUT_COST, SURE_WORD, SURE_ON_AVERAGE = 0.1, 0.6, 0.88
"""Of a word below the second the recogniser was not sure, unless all of them are, on average."""
MANY_SURELY, SURELY_COST = 5, 1.0
"""So many words heard surely say what was said: the sound then speaks against them no more than so."""
MANY_OTHERS, MOST_OF_OTHERS = 8, 0.4
"""So many words, with no more likeness to a line, are not that line: of fewer a recogniser may be sure, and wrong."""
HEARD_MOSTLY, MANY_WORDS, ONE_OTHERWISE = 0.7, 7, 0.8
"""Likeness from which, and length of a line in which, a word said otherwise counts no more than this."""
SWALLOWED, SWALLOWED_AFTER = 0.75, 3
"""How much less words tell that lack the line's last ones; and after how many that is believed."""
HEARD_WELL, FEW_WORDS = 0.85, 2
"""Likeness from which words count as heard, and how many there must be."""


def doubt(
    ground: Ground,
    candidate: Candidate,
    alignment: Alignment,
    explained: Span,
    words_heard: Sequence[HeardWord],
    near: Sequence[int],
    heard: Alignment | None = None,
) -> float:
    """How much speaks against the hypothesis.

    ``explained`` is all the speech it ought to account for; ``heard``, where it was asked for, the heard words laid on
    the same sound.
    """
    sound = NO_PATH_COST
    if alignment.words:
        cut = _is_cut(ground, candidate, words_heard)
        judged = replace(alignment, words=alignment.words[:-1]) if cut else alignment
        sound = max(0.0, (ground.usual_score - SCORE_SLACK - judged.mean_score) / SCORE_UNIT)
        if _is_surely(ground.words_of(candidate), words_heard):
            sound = min(sound, SURELY_COST)
        poor_word = max(0.0, (POOR_WORD_SCORE - _worst_score(judged)) / POOR_WORD_UNIT)
        if poor_word > ONE_OTHERWISE and _mostly_heard(ground, candidate, words_heard):
            poor_word = ONE_OTHERWISE
        sound += poor_word
        sound += max(0.0, (UNSAID_SCORE - judged.words[-1].score) / UNSAID_UNIT)
    laid = laid_span(alignment) if alignment.words else candidate.stretch
    cost = _length_cost(ground, candidate, ground.speech_ms(laid)) + _beyond_cost(ground, candidate, words_heard)
    cost += PAUSE_IN_START_COST if not ground.is_full(candidate) and ground.holes(laid) else 0.0
    cost += MISREAD_COST if candidate.misread else 0.0
    share = _speech_share(ground, alignment, explained) if alignment.words else 1.0
    cost += _left_cost(share)
    if sound > NO_PATH_COST and _are_heard(ground.words_of(candidate), said(words_heard), FEW_WORDS, HEARD_WELL):
        sound = NO_PATH_COST  # then a poor path is no worse than none
    text = _text_cost(ground, candidate, words_heard) * _contested(ground, candidate, words_heard, alignment, heard)
    return sound + cost + text + _place_cost(ground, candidate, near)


def _is_surely(words: Sequence[str], words_heard: Sequence[HeardWord]) -> bool:
    """Whether so many of these words, and no others, were surely heard."""
    heard = said(words_heard)
    return len(heard) >= MANY_SURELY and heard == tuple(words) and how_surely(words_heard) >= SURE_ON_AVERAGE


def clearly_others(words: Sequence[str], words_heard: Sequence[HeardWord]) -> bool:
    """Whether so many words were surely heard that have little of these."""
    heard = said(words_heard)
    unlike = len(heard) >= MANY_OTHERS and wording.row_likeness(heard, words) < MOST_OF_OTHERS
    return unlike and how_surely(words_heard) >= SURE_ON_AVERAGE


def _mostly_heard(ground: Ground, candidate: Candidate, words_heard: Sequence[HeardWord]) -> bool:
    """Whether a long line was heard but for a word or two: "6:45" may be said "a quarter to seven"."""
    words = ground.words_of(candidate)
    return ground.is_full(candidate) and _are_heard(words, said(words_heard), MANY_WORDS, HEARD_MOSTLY)


def _worst_score(alignment: Alignment) -> float:
    """Of the words of more than one sound: "a" and "I" are too short to tell, and often swallowed."""
    scores = [word.score for word in alignment.words if wording.sound_count((word.text,)) > 1]
    return min(scores, default=alignment.worst_score)


def clearness(ground: Ground, score: float) -> float:
    """How much better than usual the sound fits by its mean score, where two hypotheses are as little doubted."""
    over = score - ground.usual_score if math.isfinite(score) else 0.0
    return CLEAR_WEIGHT * min(MOST_CLEAR, max(-MOST_CLEAR, over))


def _are_heard(words: Sequence[str], heard: Sequence[str], fewest: int, least: float) -> bool:
    """Whether at least so many words were heard, and they are as like these."""
    return len(heard) >= fewest and wording.row_likeness(heard, words) >= least


def _is_cut(ground: Ground, candidate: Candidate, words_heard: Sequence[HeardWord]) -> bool:
    """Whether a line breaks off in a word that the recogniser made something of."""
    broken_off = FEW_WORDS <= candidate.upto <= len(ground.spoken_words[candidate.line]) / 2
    few = FEW_WORDS <= len(words_heard) <= candidate.upto
    return broken_off and few and words_heard[-1].probability < SURE_WORD


def unasked_doubt(
    ground: Ground, candidate: Candidate, stretch: Span, words_heard: Sequence[HeardWord], near: Sequence[int]
) -> float:
    """What speaks against the hypothesis before the aligner was asked: never more than ``doubt`` says."""
    least = LEAST_COUNTED if _may_be_misheard(ground, candidate, words_heard) else 1.0
    cost = least * _text_cost(ground, candidate, words_heard) + _place_cost(ground, candidate, near)
    return cost + _beyond_cost(ground, candidate, words_heard) + _least_time_cost(ground, candidate, stretch)


def _beyond_cost(ground: Ground, candidate: Candidate, words_heard: Sequence[HeardWord]) -> float:
    if ground.is_full(candidate):
        return 0.0
    return min(MOST_BEYOND, BEYOND_COST * max(0, len(said(words_heard)) - candidate.upto))


def _length_cost(ground: Ground, candidate: Candidate, speech_ms: float) -> float:
    """Of words that last so long."""
    ratio = max(speech_ms, 40) / ground.expected_ms(candidate.line, candidate.upto)
    slack = LENGTH_SLACK + (LENGTH_SLACK_OF_ONE if candidate.upto == 1 and ratio < 1 else 0.0)
    return LENGTH_WEIGHT * max(0.0, abs(math.log(ratio)) - slack)


def _left_cost(share: float) -> float:
    """Of speech that the words leave unexplained but for this share."""
    return LEFT_WEIGHT * max(0.0, 0.9 - share)


def _least_time_cost(ground: Ground, candidate: Candidate, stretch: Span) -> float:
    """What the words' length and the speech they leave cost at least, wherever in the stretch they lie: words that fill
    it may last too long, words of the usual length may leave some of it."""
    most_ms = ground.speech_ms(ground.window(stretch))
    total_ms = ground.speech_ms(stretch)
    usual_ms = math.exp(LENGTH_SLACK) * ground.expected_ms(candidate.line, candidate.upto)
    lengths_ms = [min(usual_ms, most_ms), 0.9 * total_ms] if total_ms else [most_ms]
    return min(
        _length_cost(ground, candidate, length_ms) + _left_cost(length_ms / total_ms if total_ms else 1.0)
        for length_ms in lengths_ms
    )


def _text_cost(ground: Ground, candidate: Candidate, words_heard: Sequence[HeardWord]) -> float:
    heard = said(words_heard)
    if not heard:
        return 0.0
    trust = min(1.0, max(0.25, 1.1 * how_surely(words_heard)))
    unlike = 1.0 - wording.row_likeness(heard, ground.words_of(candidate))
    if _is_cut(ground, candidate, words_heard):
        unlike = min(unlike, CUT_COST + 1.0 - wording.row_likeness(heard[:-1], ground.words_of(candidate)[:-1]))
    if _is_swallowed(ground, candidate, heard):
        unlike *= SWALLOWED
    return TEXT_WEIGHT * min(1.0, 0.4 + 0.15 * len(heard)) * unlike * trust


def _is_swallowed(ground: Ground, candidate: Candidate, heard: Sequence[str]) -> bool:
    """Whether the words heard are those that the line begins with: recognisers swallow the end of a line."""
    words = ground.words_of(candidate)
    lacks_some = ground.is_full(candidate) and len(heard) < len(words)
    return lacks_some and _are_heard(words[: len(heard)], heard, SWALLOWED_AFTER, HEARD_WELL)


def _contested(
    ground: Ground,
    candidate: Candidate,
    words_heard: Sequence[HeardWord],
    alignment: Alignment,
    heard: Alignment | None,
) -> float:
    """How much the unlikeness of the words counts: more where the sound fits the heard ones better, if these are few;
    less where it fits a whole line clearly better."""
    if heard is None or not (alignment.words and heard.words):
        return 1.0
    better = (heard.mean_score - alignment.mean_score) / CONTEST_UNIT
    if better > 0:
        return min(MOST_COUNTED, max(1.0, better)) if len(heard.words) <= MOST_CONTESTED else 1.0
    if not _may_be_misheard(ground, candidate, words_heard):
        return 1.0
    return max(LEAST_COUNTED, 1.0 - MISHEARD_GAIN * max(0.0, -better - 1.0))


def _may_be_misheard(ground: Ground, candidate: Candidate, words_heard: Sequence[HeardWord]) -> bool:
    """Whether the line is whole, and long enough for its sound to tell it, and a word was heard unsurely, or the few
    words are somewhat like it."""
    words = ground.words_of(candidate)
    if not ground.is_full(candidate) or len(words) < LEAST_MISHEARD:
        return False
    return _is_unsure(words_heard) or _few_and_like(words, said(words_heard))


def _few_and_like(words: Sequence[str], heard: Sequence[str]) -> bool:
    return len(heard) <= FEW_TO_MISHEAR and wording.row_likeness(heard, words) >= SOMEWHAT_LIKE


def _is_unsure(words_heard: Sequence[HeardWord]) -> bool:
    """Whether a word was, and all the others do not outweigh it."""
    return any(word.probability < SURE_WORD for word in words_heard) and how_surely(words_heard) < SURE_ON_AVERAGE


def are_weighed(words_heard: Sequence[HeardWord]) -> bool:
    """Whether it counts how the heard words fit the sound: where they are few, or one of them is unsure."""
    return bool(words_heard) and (len(said(words_heard)) <= FEW_TO_MISHEAR or _is_unsure(words_heard))


def _place_cost(ground: Ground, candidate: Candidate, near: Sequence[int]) -> float:
    broken_off = not ground.is_full(candidate)
    cost = BROKEN_OFF_COST if broken_off else 0.0
    if near and candidate.line != near[0]:
        # A broken-off start is mostly of the line that follows it.
        cost += BROKEN_OFF_COST if broken_off else 0.0
    if near and candidate.line not in near:
        cost += UNLIKELY_PLACE_COST + (ONE_WORD_COST if broken_off and candidate.upto == 1 else 0.0)
    return cost


def _speech_share(ground: Ground, alignment: Alignment, stretch: Span) -> float:
    """Share of the speech inside the stretch that lies under the laid words."""
    total = ground.speech_ms(stretch)
    return ground.speech_ms(laid_span(alignment).clipped(stretch)) / total if total else 0.0
