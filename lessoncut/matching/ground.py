"""What every hypothesis stands on: the script's words, the take's speech, this teacher's pace, and the ways to ask the
sound."""

from __future__ import annotations

import math
import re
from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property, reduce
from itertools import accumulate, pairwise

from lessoncut import wording
from lessoncut.hearing.records import Alignment, AlignmentRequest, HeardWord, Hearing, Wordings
from lessoncut.matching.fit import fit
from lessoncut.matching.lay import Ask, Begins, Candidate, Compare, Weigh, nobody_begins, nobody_compares, nobody_weighs
from lessoncut.matching.speakers import VoiceOf, nobody
from lessoncut.script.records import Script
from lessoncut.times import Span, SpanIndex, merged, without

DEFAULT_SYLLABLE_MS = 230.0
DEFAULT_SCORE = -15.0
"""Mean score of a line that was said; noise and a voice unlike the aligner's lower it for the whole take."""
CONTEXT_MS = 150
"""Sound given to the aligner on either side of a stretch, where no other speech stands."""
LEAST_SHARED, FEW_SHARED = 3, 2
NEAR = 4
"""Lines."""
MOST_MISSING = 3
"""Lines between two readings; with more, a part of the script was passed over."""
LEAST_OF_HEARD = 0.5
"""So many of the syllables of what was heard a line's beginning must have that is like it."""
RUNS_ON_MS = 250
"""Less than this between two sounds is no pause."""
BESIDE_MS, WHOLE_BESIDE_MS = 80, 170
"""What words last beyond their syllables: a whole line is drawn out at its end, a start is not."""
EDGE_MS = 100
"""How roughly the aligner's edges lie beside a hole."""
_GROUPED = re.compile(r"(?<=\d)\.(?=\d00\b)")


@dataclass(frozen=True)
class Ground:
    """``align``, ``voice_of``, ``weigh``, ``compare`` and ``begins`` are how the matching reaches the sound;
    ``syllable_ms`` and ``usual_score`` are this take's: how fast she speaks, how well her lines are laid."""

    script: Script
    hearing: Hearing
    align: Ask
    syllable_ms: float = DEFAULT_SYLLABLE_MS
    usual_score: float = DEFAULT_SCORE
    voice_of: VoiceOf = nobody
    weigh: Weigh = nobody_weighs
    compare: Compare = nobody_compares
    begins: Begins = nobody_begins

    @cached_property
    def spoken_words(self) -> tuple[tuple[str, ...], ...]:
        return tuple(line.spoken for line in self.script.lines)

    @cached_property
    def syllables(self) -> tuple[tuple[int, ...], ...]:
        return tuple(tuple(map(wording.syllables, words)) for words in self.spoken_words)

    @cached_property
    def passage(self) -> tuple[int, ...]:
        return tuple(index for index, line in enumerate(self.script.lines) if line.in_passage)

    @cached_property
    def _speech(self) -> SpanIndex:
        return SpanIndex(self.hearing.speech)

    @cached_property
    def _sounding(self) -> SpanIndex:
        """Speech without the moments of room tone inside it; and breaths."""
        pieces = [p for s in self.hearing.speech for p in without(s, self._breaks.meeting(s))]
        return SpanIndex(merged([*pieces, *self.hearing.breaths]))

    @cached_property
    def _breaks(self) -> SpanIndex:
        return SpanIndex(self.hearing.breaks)

    @cached_property
    def _drawn(self) -> SpanIndex:
        return SpanIndex(self.hearing.breaths)

    def speech(self, span: Span) -> tuple[Span, ...]:
        """The speech spans that the span meets."""
        return self._speech.meeting(span)

    def with_speech(self, span: Span) -> Span:
        """The span with all of the speech that it stands in."""
        return reduce(Span.hull, self.speech(span), span)

    def holes(self, span: Span) -> tuple[Span, ...]:
        """The pauses, and moments of room tone, inside the span."""
        pauses = [Span(a.end_ms, b.start_ms) for a, b in pairwise(self.speech(span))]
        return tuple(
            sorted(
                hole
                for hole in (*pauses, *self._breaks.meeting(span))
                if hole.start_ms > span.start_ms and hole.end_ms < span.end_ms
            )
        )

    def speech_ms(self, span: Span) -> int:
        """How much of the span is speech."""
        return self._speech.overlap_ms(span)

    def silence_ms(self, span: Span) -> int:
        """How much of the span is none."""
        return span.length_ms - self.speech_ms(span)

    def apart(self, word: HeardWord, following: HeardWord) -> bool:
        """Whether a pause parts two heard words."""
        between = Span(word.span.middle_ms, max(word.span.middle_ms, following.span.middle_ms))
        return self.silence_ms(between) >= RUNS_ON_MS

    def distance(self, span: Span, others: Iterable[Span]) -> float:
        """How far the sound of the span is from that of the nearest of the others; without end where nobody can
        tell."""
        likenesses = (self.compare(span, other) for other in others)
        return min((each.distance for each in likenesses if each), default=math.inf)

    @cached_property
    def _lines_with(self) -> dict[str, set[int]]:
        found: dict[str, set[int]] = {}
        for line, words in enumerate(self.spoken_words):
            for word in words:
                found.setdefault(word, set()).add(line)
        return found

    def lines_like(self, heard: Sequence[HeardWord]) -> list[int]:
        """The lines that share half their different words with what was heard, and short ones that share all."""
        shared = Counter(line for word in set(said(heard)) for line in self._lines_with.get(word, ()))
        different = {line: len(set(self.spoken_words[line])) for line in shared}
        return sorted(
            line
            for line, count in shared.items()
            if count >= max(LEAST_SHARED, different[line] / 2) or FEW_SHARED <= count == different[line]
        )

    def heard_near(self, span: Span) -> tuple[HeardWord, ...]:
        """The heard words that reach into the span, and those around it without time of their own."""
        words = self.hearing.words
        first = bisect_right(words, span.start_ms, key=lambda word: word.span.end_ms)
        return words[first : bisect_left(words, span.end_ms, key=lambda word: word.span.start_ms)]

    def heard_inside(self, span: Span) -> tuple[HeardWord, ...]:
        """The heard words whose middle lies in the span."""
        return tuple(word for word in self.heard_near(span) if span.contains(word.span.middle_ms))

    def lacks_end(self, span: Span, other: Span, least_ms: int) -> bool:
        """Whether the span's sound is known to lack so much of the other's end."""
        likeness = self.compare(span, other)
        return likeness is not None and likeness.lacking_ms >= least_ms

    def missing_between(self, before: int, after: int) -> list[int]:
        """The lines that may be missing between readings of these two; none where a part of the script was passed
        over."""
        if before < after:
            lines = list(range(before + 1, after))
        else:  # a pass ends here, and another one begins
            count = len(self.spoken_words)
            lines = [line for line in (before + 1, after - 1) if 0 <= line < count and before != after]
        return lines if len(lines) <= MOST_MISSING else []

    def expected_ms(self, line: int, upto: int) -> float:
        """How long the line's first ``upto`` words take at her pace."""
        beside_ms = WHOLE_BESIDE_MS if upto == len(self.spoken_words[line]) else BESIDE_MS
        return self.syllable_ms * sum(self.syllables[line][:upto]) + beside_ms

    def lasts(self, candidate: Candidate) -> float:
        """How long its stretch is, of the time that its words take at her pace."""
        return candidate.stretch.length_ms / self.expected_ms(candidate.line, candidate.upto)

    def beginnings(self, line: int) -> tuple[int, ...]:
        """After how many of the line's words something written ends, but all of it."""
        ends = accumulate(len(token.spoken) for token in self.script.lines[line].tokens)
        return tuple(ends)[:-1]

    def beginnings_like(self, line: int, stretch: Span, heard: Sequence[HeardWord]) -> list[Candidate]:
        """The line's beginnings, on the stretch, that are not far shorter than what was heard: a word alone is always
        likelier than several."""
        fewest = LEAST_OF_HEARD * sum(map(wording.syllables, said(heard)))
        ends = range(1, len(self.spoken_words[line]))
        return [Candidate(line, upto, stretch) for upto in ends if sum(self.syllables[line][:upto]) >= fewest]

    def written(self, candidate: Candidate, from_word: int = 0) -> str:
        """The line from a word on, as far as it is meant, as it is written; the first words of a number in letters."""
        line = self.script.lines[candidate.line]
        ends = (0, *accumulate(len(token.spoken) for token in line.tokens))
        first = line.tokens[bisect_right(ends, from_word) - 1].start if from_word else 0
        if self.is_full(candidate):
            return line.as_said(first, len(line.text))
        tokens = bisect_left(ends, candidate.upto)
        tokens -= ends[tokens] > candidate.upto
        begun = line.spoken[ends[tokens] : candidate.upto]
        whole = line.as_said(first, line.tokens[tokens - 1].end) if tokens else ""
        return " ".join(filter(None, (whole, *begun)))

    def words_of(self, candidate: Candidate) -> tuple[str, ...]:
        words = self.spoken_words[candidate.line][: candidate.upto]
        return candidate.misread.in_line(words) if candidate.misread else words

    def whole(self, line: int, stretch: Span) -> Candidate:
        """All of the line, on the stretch."""
        return Candidate(line, len(self.spoken_words[line]), stretch)

    def near(self, line: int) -> range:
        """The line and those near it, for which it may be mistaken."""
        return range(max(0, line - NEAR), min(len(self.spoken_words), line + NEAR + 1))

    def is_full(self, candidate: Candidate) -> bool:
        return candidate.upto == len(self.spoken_words[candidate.line])

    def window(self, stretch: Span) -> Span:
        """The stretch with context on both sides, as far as no other speech and no breath stands there."""
        stretch = past_breath(self._drawn, stretch)
        earliest = self._sounding.last_end_ms(stretch.start_ms)
        latest = self._sounding.next_start_ms(stretch.end_ms, self.hearing.duration_ms)
        start_ms, end_ms = stretch.start_ms - CONTEXT_MS, stretch.end_ms + CONTEXT_MS
        return Span(max(earliest, start_ms), max(stretch.end_ms, min(latest, end_ms)))

    def fit(self, whole: Span, alignment: Alignment) -> float:
        """How well the laid words account for all the speech of ``whole``; see ``fit.fit``. Minus infinity without a
        path."""
        scored = [(word.span, word.score) for word in alignment.words]
        return fit(whole, scored, self.speech_ms) if scored else -math.inf

    def request(self, line: int, words: Sequence[str], stretch: Span) -> AlignmentRequest:
        return AlignmentRequest(self.script.lines[line].id, tuple(words), self.window(stretch))

    def request_heard(self, words: Sequence[str], stretch: Span) -> AlignmentRequest:
        """For words that are no line's."""
        return AlignmentRequest("", tuple(words), self.window(stretch))

    def wordings(self, stretch: Span, *texts: str) -> Wordings:
        return Wordings(self.window(stretch), texts)

    def ask(self, candidates: Sequence[Candidate]) -> dict[Candidate, Alignment]:
        """One round of questions to the aligner; equal candidates are asked once."""
        distinct = tuple(dict.fromkeys(candidates))
        requests = [self.request(c.line, self.words_of(c), c.stretch) for c in distinct]
        return dict(zip(distinct, self.align(requests), strict=True)) if requests else {}


def past_breath(breaths: SpanIndex, stretch: Span) -> Span:
    """The stretch without the breath that it begins in, or at, if it does."""
    for breath in breaths.meeting(Span(stretch.start_ms, stretch.start_ms + EDGE_MS + 1)):
        if breath.end_ms < stretch.end_ms:
            return Span(breath.end_ms, stretch.end_ms)
    return stretch


def said(words: Sequence[HeardWord]) -> tuple[str, ...]:
    """The spoken words inside heard ones; a recogniser writes a thousand with a dot, too."""
    return tuple(spoken for word in words for spoken in wording.spoken(_GROUPED.sub(",", word.text)))


def surely_heard(words: Sequence[HeardWord], fewest: int, least: float) -> bool:
    """Whether they hold so many spoken ones, and the recogniser was so sure of each."""
    return len(said(words)) >= fewest and all(word.probability >= least for word in words)
