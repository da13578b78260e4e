"""Starts of nothing. Who breaks off begins anew: of 428 starts of known truth 426 are followed by their line, and none
by the next one where it was read just before. So a start behind a reading of its line is talk, a learner's perhaps; and
one in the place of its line, from which she goes on without a word, is that line with some of its words left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from lessoncut import wording
from lessoncut.matching.attempts import CLEAR, Attempt, Unscripted, how_surely
from lessoncut.matching.ground import RUNS_ON_MS, Ground, said, surely_heard
from lessoncut.matching.lay import Candidate
from lessoncut.matching.lines import laid
from lessoncut.matching.records import Change
from lessoncut.matching.slips import CORRECTIONS
from lessoncut.times import Span

LEAST_READ = 0.5
"""The share of a line's syllables that must be there."""
LIKE = 0.8
"""How like them must be what was heard."""
SURE = 0.9
"""From where on a line's last word was surely heard."""
FEWEST_BEHIND, SURE_BEHIND = 3, 0.6
"""So many words, each heard so surely, are talk."""
SAYS_SO_MS = 1500
"""Talk that follows sooner may say that she broke off."""
AT_ONCE_MS, FEW_WORDS = 150, 2
"""So few words that follow so soon are the line's last ones, misread."""
READ = 0.5
"""Unless nobody could read it."""
NEAR = 3
"""Attempts on either side among which the line is read, if it is begun anew."""
CONFIDENCE = 0.85


def without_starts_of_nothing(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]
) -> tuple[list[Attempt], list[Unscripted]]:
    """The attempts in time order without starts right behind a reading of their line that is not begun anew, or of one
    that begins as theirs, where other words run on from them, and without those far from where their line is read; and
    the talk, with these."""
    apart = {
        start
        for before, start, after in zip(attempts, attempts[1:], [*attempts[2:], None], strict=False)
        if before.full and not start.full and _is_of_what_was_read(ground, before, start, after)
    }
    apart |= {start for at, start in enumerate(attempts) if not start.full and _is_astray(attempts, at)}
    talk = [*left, *(Unscripted(start.span, start.heard) for start in apart)]
    return [each for each in attempts if each not in apart], sorted(talk, key=lambda each: each.span)


def _is_of_what_was_read(ground: Ground, before: Attempt, start: Attempt, after: Attempt | None) -> bool:
    if before.line == start.line:
        return _goes_on(start, after)
    return ground.spoken_words[before.line][: start.upto] == start.texts and _runs_on(ground, start, after)


def _is_astray(attempts: Sequence[Attempt], at: int) -> bool:
    """Whether neither the reading before nor that behind is of the start's line, or of one beside it: who begins the
    wrong line begins the next."""
    before = [each.line for each in attempts[:at] if each.full][-1:]
    behind = [each.line for each in attempts[at + 1 :] if each.full][:1]
    return bool(behind) and all(abs(line - attempts[at].line) > 1 for line in (*before, *behind))


def _runs_on(ground: Ground, start: Attempt, after: Attempt | None) -> bool:
    """Whether so many words were surely heard behind the start in one breath, and before the next attempt."""
    breath = ground.speech(start.span)
    upto_ms = breath[-1].end_ms if breath else start.span.end_ms
    upto_ms = min(upto_ms, after.span.start_ms) if after else upto_ms
    behind = ground.heard_inside(Span(start.span.end_ms, max(start.span.end_ms, upto_ms)))
    return surely_heard(behind, FEWEST_BEHIND, SURE_BEHIND)


def _goes_on(start: Attempt, following: Attempt | None) -> bool:
    return following is None or following.line > start.line


def with_words_left_out(ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]) -> list[Attempt]:
    """The attempts in time order, starts that are not begun anew being their lines; those that lack the last words,
    with these left out, or with what goes on from them in their place."""
    whole: dict[Attempt, Candidate] = {}
    for at, attempt in enumerate(attempts):
        if attempt.full or not _is_not_anew(attempts, at):
            continue
        ended = _ended_otherwise(ground, attempt, left)
        if line := ended or (_as_line(ground, attempt) if _stands_alone(attempts, at, left) else None):
            whole[attempt] = line
    answers = ground.ask(list(whole.values()))
    found: list[Attempt] = []
    for attempt in attempts:
        line = whole.get(attempt)
        if line and answers[line].words:
            changes = (replace(line.misread, confidence=CONFIDENCE),) if line.misread else ()
            read = laid(ground, line, answers[line], None, attempt.doubt)
            heard = tuple(word for word in ground.heard_inside(line.stretch) if word not in attempt.heard)
            found.append(replace(read, heard=(*attempt.heard, *heard), changes=changes))
        else:
            found.append(attempt)
    return found


def _as_line(ground: Ground, start: Attempt) -> Candidate | None:
    """The start as all of its line, where the last word was heard; or with its end left out, where enough was."""
    words, heard = ground.spoken_words[start.line], said(start.heard)
    if not start.laid or not heard:
        return None
    if heard[-1] == words[-1] and start.heard[-1].probability >= SURE:
        return ground.whole(start.line, start.span)
    syllables = ground.syllables[start.line]
    enough = sum(syllables[: start.upto]) >= LEAST_READ * sum(syllables)
    if not enough or wording.row_likeness(heard, start.texts) < LIKE or how_surely(start.heard) < CLEAR:
        return None
    # Beside the word before them, as changes are.
    change = Change(start.upto - 1, len(words) - 1, words[start.upto - 1 :], words[start.upto - 1 : start.upto])
    return Candidate(start.line, len(words), start.span, change)


def _ended_otherwise(ground: Ground, start: Attempt, left: Sequence[Unscripted]) -> Candidate | None:
    """The start and the few words that go on from it at once, as all of its line with these in the place of as many."""
    lacking = ground.spoken_words[start.line][start.upto :]
    at_once = (talk for talk in left if talk.words and 0 <= talk.span.start_ms - start.span.end_ms < AT_ONCE_MS)
    talk = next(at_once, None)
    heard = said(talk.words) if talk else ()
    if talk is None or not start.heard or len(lacking) != len(heard) or len(heard) > FEW_WORDS:
        return None
    if not CORRECTIONS.isdisjoint(heard):
        return None
    last = len(ground.spoken_words[start.line]) - 1
    return Candidate(start.line, last + 1, start.span.hull(talk.span), Change(start.upto, last, lacking, heard))


def _is_not_anew(attempts: Sequence[Attempt], at: int) -> bool:
    """Whether the line is not read near the start, and she goes on to a later one."""
    start = attempts[at]
    near = (*attempts[max(0, at - NEAR) : at], *attempts[at + 1 : at + 1 + NEAR])
    following = attempts[at + 1] if at + 1 < len(attempts) else None
    return all(each.line != start.line for each in near) and _goes_on(start, following)


def _stands_alone(attempts: Sequence[Attempt], at: int, left: Sequence[Unscripted]) -> bool:
    """Whether she says nothing right behind the start."""
    start = attempts[at]
    following = attempts[at + 1] if at + 1 < len(attempts) else None
    runs_on = following is not None and start.span.gap_to_ms(following.span) < RUNS_ON_MS
    behind = (talk for talk in left if 0 <= talk.span.start_ms - start.span.end_ms < SAYS_SO_MS)
    return not (runs_on or any(talk.words and how_surely(talk.words) >= READ for talk in behind))
