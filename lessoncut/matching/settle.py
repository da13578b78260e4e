"""Settle what each piece of the take is, by its words and by its sound.

For every stretch of speech there are hypotheses: a line in full, a line broken off after so many words, or talk
outside the script. Four witnesses speak for or against each: how well the sound fits its words, how like the heard
words are to them, whether it lasts as long as these words take, and whether it leaves speech unexplained. None is
trusted alone: a recogniser mishears, an aligner accepts what is alike, and both are wrong in different places.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from lessoncut import wording
from lessoncut.matching.alike import with_alike_as_one
from lessoncut.matching.anew import without_unlikely_restarts
from lessoncut.matching.attempts import DOUBTFUL, Attempt, Settled, Unscripted, without_overlap
from lessoncut.matching.begun_in_talk import with_starts_in_talk
from lessoncut.matching.bridges import with_bridges_cut
from lessoncut.matching.changes import with_changes
from lessoncut.matching.corrections import with_corrections
from lessoncut.matching.cut_short import with_starts_cut_short
from lessoncut.matching.ends import with_ends_apart
from lessoncut.matching.examples import with_lines_by_example, with_lines_heard_alike, with_lines_that_sound_so
from lessoncut.matching.fillers import without_fillers
from lessoncut.matching.ground import EDGE_MS, RUNS_ON_MS, Ground, said
from lessoncut.matching.joints import parted_at_joints, parted_at_pauses
from lessoncut.matching.left_over import with_talk_behind
from lessoncut.matching.likelier import with_likelier_lines, with_likelier_twins
from lessoncut.matching.lines import lay_lines, pace
from lessoncut.matching.misheard import with_misheard_starts
from lessoncut.matching.missing_twice import with_lines_missing_twice
from lessoncut.matching.next_line import of_what_follows, with_lines_again, with_lines_that_begin_the_next
from lessoncut.matching.noises import (
    NOT_HERS,
    lines_among_noises,
    starts_among_noises,
    with_first_sounds,
    without_noises,
)
from lessoncut.matching.not_anew import with_words_left_out, without_starts_of_nothing
from lessoncut.matching.picked_up import with_lines_picked_up
from lessoncut.matching.pieces import Piece, pieces_of
from lessoncut.matching.quotes import with_quotes_apart
from lessoncut.matching.remarks import with_remarks_apart
from lessoncut.matching.restarts import with_restarts, with_starts_before, with_stumbles
from lessoncut.matching.rests import (
    with_own_rests,
    with_rests_hardly_voiced,
    with_rests_in_talk,
    with_starts_gone_on,
)
from lessoncut.matching.rows import with_rows
from lessoncut.matching.slips import with_slips
from lessoncut.matching.speakers import VoiceOf, voices_apart
from lessoncut.matching.squeezed import with_squeezed_words
from lessoncut.matching.starts import with_beginnings_alike, with_starts
from lessoncut.matching.talk import not_read, with_talk_apart
from lessoncut.matching.teacher import of_the_teacher
from lessoncut.matching.twins import with_twins
from lessoncut.matching.unknown import name_unknown, unknown_speech
from lessoncut.matching.unlikely import with_talk_for_starts
from lessoncut.matching.worded_noises import without_starts_in_noises, without_words_in_noises
from lessoncut.matching.wrong_line import with_starts_of_wrong_lines
from lessoncut.times import Span

MOST_ROUNDS = 3
LIKE_LAST = 0.6
"""From so like a line's last word on it may be that, misheard, as "hear" for "hare"."""


def settle(ground: Ground) -> Settled:
    """What each stretch of speech in the take is."""
    pieces = pieces_of(ground.script, ground.hearing)
    ground = replace(ground, syllable_ms=pace(ground, pieces))
    ground, attempts = _heard(ground, pieces)
    attempts, left = with_talk_apart(ground, *_with_unheard(ground, pieces, attempts))
    attempts, left = with_quotes_apart(ground, *with_ends_apart(ground, attempts, left))
    attempts, left = with_starts_gone_on(ground, with_beginnings_alike(ground, attempts), left)
    attempts, left = with_bridges_cut(ground, attempts, left)
    attempts, left = _with_noises_told_apart(ground, attempts, left)
    attempts, left = _with_loose_ends(ground, attempts, left)
    attempts = without_unlikely_restarts(ground, attempts)
    attempts, left = with_likelier_lines(ground, *with_talk_for_starts(ground, attempts, left))
    attempts, left = with_rows(ground, attempts, left)
    attempts, left = with_squeezed_words(ground, attempts, left)
    attempts, left = with_misheard_starts(ground, attempts, left)
    attempts = with_starts_of_wrong_lines(ground, attempts)
    attempts = without_unlikely_restarts(ground, attempts)
    attempts, left = with_lines_by_example(ground, with_twins(ground, attempts), left)
    attempts, left = with_lines_heard_alike(ground, *with_lines_that_sound_so(ground, attempts, left))
    attempts, left = with_lines_picked_up(ground, *with_lines_missing_twice(ground, attempts, left))
    attempts, left = with_starts_in_talk(ground, *with_talk_behind(ground, attempts, left))
    attempts = list(with_changes(ground, with_words_left_out(ground, attempts, left)))
    attempts, left = with_corrections(ground, *with_unread_ends(ground, attempts, left))
    attempts, left = with_remarks_apart(ground, attempts, left)
    attempts = with_lines_again(ground, attempts)  # an echo is a reading, too
    hers = of_the_teacher(Settled(tuple(attempts), tuple(left)), ground.voice_of)
    attempts, unscripted = _with_hers_missing(ground, hers, left)
    attempts = with_words_left_out(ground, attempts, left)  # nor are they begun anew by somebody else
    attempts = with_alike_as_one(ground, with_twins(ground, attempts))
    attempts = list(with_likelier_twins(ground, attempts))
    attempts = with_lines_that_begin_the_next(ground, of_what_follows(ground, attempts))
    attempts, unscripted = with_starts_gone_on(ground, with_lines_again(ground, attempts), unscripted)
    attempts, unscripted = with_starts_cut_short(ground, attempts, unscripted)
    attempts, unscripted = with_slips(ground, *without_starts_of_nothing(ground, attempts, unscripted))
    attempts = parted_at_joints(ground, parted_at_pauses(ground, attempts))
    attempts, unscripted = without_starts_in_noises(ground, attempts, unscripted)
    unscripted = without_words_in_noises(ground, attempts, not_read(unscripted, attempts))
    return Settled(tuple(attempts), tuple(unscripted))


def _with_hers_missing(
    ground: Ground, hers: Settled, left: Sequence[Unscripted]
) -> tuple[list[Attempt], list[Unscripted]]:
    """Her attempts with the lines that are missing since somebody else's reading is none of hers, and all the talk;
    ``left``: what was talk before."""
    others = [talk for talk in hers.unscripted if talk not in left]
    own = [talk for talk in hers.unscripted if talk in left]
    attempts, own = with_lines_that_sound_so(ground, *with_likelier_lines(ground, hers.attempts, own))
    found = [attempt for attempt in attempts if attempt not in hers.attempts]
    parted = [_clear_of(ground, talk, found) for talk in (*own, *others)]
    return attempts, sorted((talk for talk in parted if talk), key=lambda talk: talk.span)


def _clear_of(ground: Ground, talk: Unscripted, found: Sequence[Attempt]) -> Unscripted | None:
    """The talk without what was found to be a line in it; None where nothing is left."""
    for attempt in found:
        if attempt.span.overlap_ms(talk.span):
            before = Span(talk.span.start_ms, max(talk.span.start_ms, attempt.span.start_ms))
            behind = Span(min(talk.span.end_ms, attempt.span.end_ms), talk.span.end_ms)
            rest = max(before, behind, key=ground.speech_ms)
            speech = [each for each in ground.speech(rest) if each.overlap_ms(rest) >= each.length_ms / 2]
            if not speech:
                return None
            span = speech[0].hull(speech[-1]).clipped(rest)
            talk = Unscripted(span, tuple(word for word in talk.words if span.contains(word.span.middle_ms)))
    return talk


def _heard(ground: Ground, pieces: Sequence[Piece]) -> tuple[Ground, list[Attempt]]:
    """The lines that the words heard account for, with what was begun and broken off beside them; and the ground, on
    which her pace and how well her lines usually lie are known now."""
    ground, attempts = lay_lines(ground, pieces)
    attempts = with_rests_hardly_voiced(ground, with_own_rests(ground, with_starts(ground, attempts)))
    return ground, list(with_stumbles(ground, with_restarts(ground, attempts)))


def _with_unheard(
    ground: Ground, pieces: Sequence[Piece], attempts: Sequence[Attempt]
) -> tuple[list[Attempt], list[Unscripted]]:
    """The attempts with those in the speech that they leave over; and what is talk."""
    doubtful = [attempt for attempt in attempts if attempt.doubt > DOUBTFUL]
    known = [attempt for attempt in attempts if attempt.doubt <= DOUBTFUL]
    left: list[Unscripted] = []
    for _ in range(MOST_ROUNDS):
        found, left = name_unknown(ground, unknown_speech(ground, pieces, known), known)
        found, doubtful = found + doubtful, []
        # What was found narrows down what may stand beside it.
        known = list(without_overlap(sorted([*known, *found], key=lambda attempt: attempt.span)))
        if not found:
            break
    return list(with_restarts(ground, with_starts(ground, known))), left


def _with_noises_told_apart(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]
) -> tuple[list[Attempt], list[Unscripted]]:
    """The attempts with those that were taken for noises, and without the noises that were taken for an attempt."""
    lines = lines_among_noises(ground, attempts)
    attempts, noises = without_noises(ground, sorted([*attempts, *lines], key=lambda each: each.span))
    left = sorted([*left, *noises], key=lambda talk: talk.span)
    starts = starts_among_noises(ground, attempts, left)
    known = sorted([*attempts, *starts], key=lambda each: each.span)
    attempts = with_starts_before(ground, known)
    starts += [attempt for attempt in attempts if not (attempt.full or attempt in known)]
    left = [talk for talk in left if not any(start.span.overlap_ms(talk.span) for start in starts)]
    return with_first_sounds(ground, attempts), left


def _with_loose_ends(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]
) -> tuple[list[Attempt], list[Unscripted]]:
    """The attempts, each start being of the line that follows, and each with the talk beside it that is its rest."""
    attempts, left = without_fillers(ground, attempts, left)
    attempts = one_start_each(ground, of_what_follows(ground, with_starts_of_wrong_lines(ground, attempts)))
    return with_rests_in_talk(ground, attempts, left)


def one_start_each(ground: Ground, attempts: Sequence[Attempt]) -> list[Attempt]:
    """The attempts, a broken-off start joined with what follows it in one breath, though nobody heard a word there, and
    with the line's next words after a comma's pause; and a reading with what runs on from it and was not heard as its
    line begun anew."""
    joined: list[Attempt] = []
    for attempt in attempts:
        last = joined[-1] if joined else None
        if last and last.full and _is_tail(last, attempt):
            joined[-1] = _longer(last, attempt.span)
        elif last is None or last.full or attempt.full:
            joined.append(attempt)
        elif not (last.heard or attempt.heard) and _in_one_breath(ground, last.span, attempt.span):
            joined[-1] = _longer(last, attempt.span)
        elif not attempt.heard and _goes_on(ground, last, attempt):
            joined[-1] = replace(last, upto=last.upto + attempt.upto, words=(*last.words, *attempt.words))
        else:
            joined.append(attempt)
    return joined


def _is_tail(reading: Attempt, start: Attempt) -> bool:
    runs_on = not start.full and start.line == reading.line and start.span.start_ms - reading.span.end_ms < EDGE_MS
    return runs_on and said(start.heard)[: start.upto] != start.texts


def _goes_on(ground: Ground, start: Attempt, attempt: Attempt) -> bool:
    """Whether the second start says the very words that come next in the first one's line."""
    following = ground.spoken_words[start.line][start.upto : start.upto + attempt.upto]
    return following == attempt.texts and start.span.gap_to_ms(attempt.span) < RUNS_ON_MS


def with_unread_ends(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]
) -> tuple[list[Attempt], list[Unscripted]]:
    """The attempts, starts and readings that end in another word with the wordless sound that follows in one breath,
    unless it is a cough, and readings with those of their words that follow so; and what is left of the speech."""
    found, rest = list(attempts), list(left)
    for at, attempt in enumerate(found):
        ends_otherwise = not attempt.full or any(change.last + 1 == len(attempt.words) for change in attempt.changes)
        for talk in rest:
            if not 0 <= talk.span.start_ms - attempt.span.end_ms <= EDGE_MS:
                continue
            may_be = _are_missing(attempt, talk) if talk.words else ends_otherwise
            in_one = may_be and _in_one_breath(ground, attempt.span, talk.span)
            if in_one and not _is_anothers(talk.span, attempt.span, ground.voice_of):
                found[at] = _longer(attempt, talk.span)
                rest.remove(talk)
                break
    return found, rest


def _are_missing(reading: Attempt, talk: Unscripted) -> bool:
    """Whether the words of the talk are the line's, and were not heard in the reading: "on the desk the spoon"; or the
    one word is like its last one, that was not."""
    words, missing = said(talk.words), Counter(reading.texts) - Counter(said(reading.heard))
    last = reading.texts[-1]
    like_last = len(words) == 1 and last in missing and wording.likeness(words[0], last) >= LIKE_LAST
    return reading.full and bool(reading.heard) and (Counter(words) <= missing or like_last)


def _is_anothers(sound: Span, start: Span, voice_of: VoiceOf) -> bool:
    apart = voices_apart(sound, start, voice_of)
    return apart is not None and apart > NOT_HERS


def _longer(start: Attempt, by: Span) -> Attempt:
    """The start with more sound to its last word."""
    word = replace(start.words[-1], span=start.words[-1].span.hull(by))
    return replace(start, words=(*start.words[:-1], word))


def _in_one_breath(ground: Ground, first: Span, second: Span) -> bool:
    between = Span(first.end_ms - EDGE_MS, second.start_ms + EDGE_MS)
    return any(speech.overlap_ms(second) for speech in ground.speech(first)) and not ground.holes(between)
