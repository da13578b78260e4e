"""What follows a line's start: its own rest, though it was heard as another line like it, as another start, or as talk:
a name at a line's end is easily misheard."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise, zip_longest

from lessoncut import wording
from lessoncut.hearing.records import Alignment
from lessoncut.matching.attempts import Attempt, Unscripted, evenly
from lessoncut.matching.ground import EDGE_MS, RUNS_ON_MS, Ground, said
from lessoncut.matching.lay import Candidate
from lessoncut.matching.lines import CLEAR_COST, COMMA_MS, laid
from lessoncut.matching.noises import NOT_HERS
from lessoncut.matching.speakers import voices_apart
from lessoncut.times import Span

LOWER = 8.0
"""How far below the usual score the whole line may lie."""
LEAST_TIME = 0.7
"""Of the time that the line takes, for two starts of it in one breath to be all of it."""
TALK_MS, LASTS = 1500, (0.5, 2.5)
"""How soon after a start talk may be its rest, and how long it may last, of the time that the rest takes."""
NEARLY = 0.7
"""How like a line's next words those must be that were heard behind a start of it."""
FIRST_WORDS, LONG_COMMA_MS = 2, 1000
"""Behind a pause so long, too, the line goes on in what begins with so many of its next words."""
HARDLY_FURTHER = 1.3
"""How many times as far from the line's beginning what goes on in it may be: eight remarks behind a start are so 1.6
times and more."""
HARDLY_LACKING_MS = 60
"""What goes on so near to the end of the line begun anew is all of it."""
LEAST_HEARD, LOWER_UNVOICED = 3, 3.0
"""So many words has a rest that is believed with little speech under it; and how far below the usual score the whole
line may lie then."""
LOWER_REST, WORSE = 15.0, 8.0
"""How far below the usual score the rest may lie on the talk, and below what was heard there."""


def with_own_rests(ground: Ground, attempts: Sequence[Attempt]) -> list[Attempt]:
    """The attempts in time order, some starts and what comes after them being one line: what was heard as another line
    after a comma's pause, where its words are rather the start's own rest, or as another start of it in one breath. The
    sound must bear the whole of it."""
    wholes = {
        (start, rest): _whole(ground, start, rest.span)
        for start, rest in pairwise(attempts)
        if _may_be_rest(ground, start, rest)
    }
    answers = ground.ask(list(wholes.values()))
    found: list[Attempt] = []
    for attempt in attempts:
        whole = wholes.get((found[-1], attempt)) if found else None
        if whole and answers[whole].words and answers[whole].mean_score >= ground.usual_score - LOWER:
            heard = (*found[-1].heard, *attempt.heard)
            found[-1] = replace(laid(ground, whole, answers[whole], None, CLEAR_COST), heard=heard)
        else:
            found.append(attempt)
    return found


def _may_be_rest(ground: Ground, start: Attempt, other: Attempt) -> bool:
    if start.full or not start.laid:
        return False
    gap_ms = start.span.gap_to_ms(other.span)
    if start.line == other.line:
        lasts_ms = ground.speech_ms(start.span.hull(other.span))
        whole_ms = ground.expected_ms(start.line, len(ground.spoken_words[start.line]))
        return not other.full and gap_ms < RUNS_ON_MS and lasts_ms >= LEAST_TIME * whole_ms
    if not other.heard or gap_ms >= COMMA_MS:
        return False
    heard, rest = said(other.heard), ground.spoken_words[start.line][start.upto :]
    return wording.row_likeness(heard, rest) > wording.row_likeness(heard, other.texts)


def with_rests_hardly_voiced(ground: Ground, attempts: Sequence[Attempt]) -> list[Attempt]:
    """The attempts in time order, a start that was heard to go on nearly to its line's end, though little of that was
    taken for speech, being the whole line where that lies about as well as lines do: noise hides a low voice."""
    wholes = {
        start: _whole(ground, start, rest)
        for start, following in zip_longest(attempts, attempts[1:])
        if (rest := _hardly_voiced(ground, start, following)) is not None
    }
    answers = ground.ask(list(wholes.values()))
    found: list[Attempt] = []
    for attempt in attempts:
        whole = wholes.get(attempt)
        if whole and answers[whole].words and answers[whole].mean_score >= ground.usual_score - LOWER_UNVOICED:
            found.append(replace(laid(ground, whole, answers[whole], None, CLEAR_COST), heard=attempt.heard))
        else:
            found.append(attempt)
    return found


def _hardly_voiced(ground: Ground, start: Attempt, following: Attempt | None) -> Span | None:
    """Where the rest of the line is that was heard behind its start, believed or not; None where it was not."""
    rest = ground.spoken_words[start.line][start.upto :]
    if start.full or not start.laid or len(rest) < LEAST_HEARD:
        return None
    whole_ms = start.span.start_ms + ground.expected_ms(start.line, len(ground.spoken_words[start.line]))
    latest_ms = following.span.start_ms if following else ground.hearing.duration_ms
    words = [
        word
        for word in ground.hearing.words
        if start.span.end_ms <= word.span.middle_ms and word.span.end_ms <= min(latest_ms, whole_ms + RUNS_ON_MS)
    ]
    if wording.row_likeness(said(words), rest) < NEARLY:
        return None
    return Span(words[0].span.start_ms, min(latest_ms, max(round(whole_ms), words[-1].span.end_ms)))


def with_rests_in_talk(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]
) -> tuple[list[Attempt], list[Unscripted]]:
    """The attempts in time order, a start that is not begun again being its whole line where the talk behind it is its
    rest by the sound, or the sound in which nobody heard a word; and what is left of the talk."""
    noises = [Unscripted(sound.span, ()) for sound in ground.hearing.sounds if sound.may_be_speech]
    may_be = [
        (at, between, talk)
        for at in range(len(attempts))
        for talk in (*left, *noises)
        if (between := _between(ground, attempts, at, talk)) is not None
    ]
    wholes = [_whole(ground, attempts[at], talk.span) for at, _, talk in may_be]
    answers = ground.ask(wholes)
    talks = [talk for *_, talk in may_be if talk.words]
    laid_on = ground.align([ground.request_heard(said(talk.words), talk.span) for talk in talks]) if talks else ()
    scores = dict(zip(talks, (each.mean_score for each in laid_on), strict=True))
    found, taken, under = list(attempts), set[Unscripted](), set[Attempt]()
    for (at, between, talk), whole in zip(may_be, wholes, strict=True):
        as_heard = scores.get(talk, -math.inf)
        if talk in taken or found[at].full or not _is_rest(ground, answers[whole], attempts[at].upto, as_heard):
            continue
        words = (*attempts[at].heard, *talk.words)
        found[at] = replace(laid(ground, whole, answers[whole], None, CLEAR_COST), heard=words)
        taken.add(talk)
        under.update(between)
    return [each for each in found if each not in under], [talk for talk in left if talk not in taken]


def with_starts_gone_on(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]
) -> tuple[list[Attempt], list[Unscripted]]:
    """The attempts in time order, a start with the talk behind it that was heard nearly as the line's next words, or
    sounds as they do in the line begun anew: who breaks off may do so after a comma. And what is left of the talk."""
    found, rest = list(attempts), list(left)
    for at, start in enumerate(found):
        for talk in rest:
            count = _words_on(ground, found, at, talk)
            if count:
                found[at] = _gone_on(ground, start, talk, count)
                rest.remove(talk)
                break
    return found, rest


def _words_on(ground: Ground, attempts: Sequence[Attempt], at: int, talk: Unscripted) -> int:
    """By how many of its line's words the start goes on in the talk; 0 where it does not."""
    start, heard = attempts[at], said(talk.words)
    following = ground.spoken_words[start.line][start.upto : -1][: len(heard)]
    told = heard[:FIRST_WORDS] == following[:FIRST_WORDS] and len(heard) > FIRST_WORDS
    if start.full or not following or start.span.gap_to_ms(talk.span) >= (LONG_COMMA_MS if told else COMMA_MS):
        return 0
    if not is_behind(attempts, at, talk):
        return 0
    return len(following) if _are_nearly(heard, following) else _sounding_on(ground, start, talk, attempts[at + 1 :])


def _sounding_on(ground: Ground, start: Attempt, talk: Unscripted, later: Sequence[Attempt]) -> int:
    """The same by the sound of the line begun anew, whose beginning start and talk are hardly less like in one than the
    start is alone."""
    if not later or not start.is_start_of(later[0]) or start.span.gap_to_ms(talk.span) >= RUNS_ON_MS:
        return 0
    line = later[0]
    alone, both = (ground.begins(span, [line.span]) for span in (start.span, start.span.hull(talk.span)))
    if not (alone and both) or both[0].distance > HARDLY_FURTHER * alone[0].distance:
        return 0
    if both[0].length_ms >= line.span.length_ms - HARDLY_LACKING_MS:
        return line.upto - start.upto
    upto = min(line.words_before(line.span.start_ms + both[0].length_ms), line.upto - 1)
    return max(0, upto - start.upto)


def _are_nearly(heard: Sequence[str], following: Sequence[str]) -> bool:
    """Whether the words sound nearly as those that follow: "not" as "nought"."""
    if wording.row_likeness(heard, following) >= NEARLY:
        return True
    return wording.sounds_apart(heard, following) <= 1 < wording.sound_count(following) - 1


def _gone_on(ground: Ground, start: Attempt, talk: Unscripted, count: int) -> Attempt:
    """The start with so many words more, which share the time of the talk; laid as the whole line where they end it."""
    whole = _whole(ground, start, talk.span)
    if start.upto + count == whole.upto and (answer := ground.ask([whole])[whole]).words:
        return replace(laid(ground, whole, answer, None, start.doubt), heard=(*start.heard, *talk.words))
    texts = ground.spoken_words[start.line][start.upto : -1][:count]
    words = (*start.words, *evenly(texts, talk.span))
    return replace(start, upto=start.upto + len(texts), words=words, heard=(*start.heard, *talk.words))


def is_behind(attempts: Sequence[Attempt], at: int, talk: Unscripted) -> bool:
    """Whether the talk stands between this attempt and the next one, give or take."""
    return _fits_in(attempts[at], (), talk, attempts[at + 1 : at + 2])


def _fits_in(start: Attempt, between: Sequence[Attempt], talk: Unscripted, following: Sequence[Attempt]) -> bool:
    before_next = all(talk.span.end_ms <= each.span.start_ms + EDGE_MS for each in following)
    return before_next and all(each.span.end_ms - EDGE_MS <= talk.span.start_ms for each in (start, *between))


def _between(ground: Ground, attempts: Sequence[Attempt], at: int, talk: Unscripted) -> Sequence[Attempt] | None:
    """The unsure starts between a start and talk that may be its rest, and are part of that then; None where it may not
    be."""
    start = attempts[at]
    if start.full or not start.laid or talk.span.start_ms < start.span.end_ms - EDGE_MS:
        return None
    if not (talk.words or _may_be_unheard(ground, start, talk.span)):
        return None
    behind = at + 1
    while behind < len(attempts) and attempts[behind].is_unsure_start and attempts[behind].span < talk.span:
        behind += 1
    between, following = attempts[at + 1 : behind], attempts[behind : behind + 1]
    if any(each.line == start.line for each in (*between, *following)) or not _fits_in(start, between, talk, following):
        return None
    whole_ms = ground.expected_ms(start.line, len(ground.spoken_words[start.line]))
    rest_ms = whole_ms - ground.expected_ms(start.line, start.upto)
    parts = [start.span, *(each.span for each in between), talk.span]
    speech_ms = sum(ground.speech_ms(part) or part.length_ms for part in parts[1:])  # a noise is no speech
    lasts = LASTS[0] * rest_ms < speech_ms < LASTS[1] * rest_ms
    soon = all(part.gap_to_ms(other) < TALK_MS for part, other in pairwise(parts))
    return between if lasts and soon else None


def _may_be_unheard(ground: Ground, start: Attempt, sound: Span) -> bool:
    """Whether the start lacks but its last word, which a sound in her voice right behind it may be."""
    lacking = len(ground.spoken_words[start.line]) - start.upto
    if lacking > 1 or start.span.gap_to_ms(sound) >= COMMA_MS:
        return False
    apart = voices_apart(sound, start.span, ground.voice_of)
    return apart is None or apart <= NOT_HERS


def _whole(ground: Ground, start: Attempt, rest: Span) -> Candidate:
    return ground.whole(start.line, start.span.hull(rest))


def _is_rest(ground: Ground, whole: Alignment, upto: int, as_heard: float) -> bool:
    """``as_heard``: how well what was heard there lies."""
    score = Alignment(whole.request, whole.words[upto:]).mean_score
    return score >= max(ground.usual_score - LOWER_REST, as_heard - WORSE)
