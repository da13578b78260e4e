"""The words of a reading as they are shown: the script's spelling and punctuation, each word with its time."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from functools import lru_cache

from lessoncut.decisions.records import Wording
from lessoncut.lesson.records import LessonWord
from lessoncut.matching.records import Change, Reading
from lessoncut.script.records import Line
from lessoncut.times import Span

_EDGES = re.compile(r"^(\W*)(.*?)(\W*)$", re.DOTALL)


@dataclass(frozen=True)
class Chunk:
    """A written word of a line, and the words ``[first, last)`` that are said for it.

    Punctuation that stands alone goes with the word before it.
    """

    text: str
    first: int
    last: int


@lru_cache(maxsize=1 << 12)
def chunks_of(line: Line) -> tuple[Chunk, ...]:
    """The line's written words in order; each has at least one spoken word."""
    written = [(match.start(), match.end()) for match in re.finditer(r"\S+", line.text)]
    starts = [token.start for token in line.tokens]
    counts = [len(token.spoken) for token in line.tokens]
    chunks: list[Chunk] = []
    said = 0
    loose = ""
    for start, end in written:
        first = said
        said += sum(count for at, count in zip(starts, counts, strict=True) if start <= at < end)
        if said > first:
            chunks.append(Chunk(loose + line.text[start:end], first, said))
            loose = ""
        elif chunks:
            chunks[-1] = Chunk(f"{chunks[-1].text} {line.text[start:end]}", chunks[-1].first, chunks[-1].last)
        else:
            loose += f"{line.text[start:end]} "
    return tuple(chunks)


def script_words(line: Line, reading: Reading) -> tuple[LessonWord, ...]:
    """The written words of the line as far as the reading goes, with their times."""
    chunks = chunks_of(line)
    said = len(reading.words)
    if reading.kind == "full" and chunks and said != chunks[-1].last:
        # Laid by another count of words than ours: the order is sure, the single times are not.
        return shared_out(reading.span, [chunk.text for chunk in chunks])
    return tuple(
        LessonWord(chunk.text, _hull(reading, chunk.first, min(chunk.last, said)))
        for chunk in chunks
        if chunk.first < said
    )


def _hull(reading: Reading, first: int, last: int) -> Span:
    return reading.words[first].span.hull(reading.words[last - 1].span)


def shown_words(line: Line, reading: Reading, as_worded: Wording | None) -> tuple[LessonWord, ...]:
    """The words to caption: the teacher's, else the script's with what was read differently."""
    words = script_words(line, reading)
    if as_worded is None:
        return words
    if as_worded.text is not None:
        return _reworded(words, as_worded.text.split())
    chunks = chunks_of(line)
    if len(chunks) == len(words):
        for change in sorted(as_worded.changes, key=lambda item: -item.first):
            words = _changed(words, chunks, change)
    return words


def _changed(words: tuple[LessonWord, ...], chunks: Sequence[Chunk], change: Change) -> tuple[LessonWord, ...]:
    """Changes are made from the last to the first, so that the places before stay where they are."""
    places = [at for at, chunk in enumerate(chunks) if chunk.first <= change.last and chunk.last > change.first]
    first, last = places[0], places[-1]
    lead, bare, _ = _parted(words[first].text)
    tail = _parted(words[last].text)[2]
    heard = list(change.heard)
    if not heard:
        before = words[:first]
        if before and tail.strip() and not _parted(before[-1].text)[2]:
            before = (*before[:-1], LessonWord(before[-1].text + tail, before[-1].span))
        return (*before, *words[last + 1 :])
    if bare[:1].isupper():
        heard[0] = heard[0][:1].upper() + heard[0][1:]
    heard[0], heard[-1] = lead + heard[0], heard[-1] + tail if len(heard) > 1 else lead + heard[0] + tail
    span = words[first].span.hull(words[last].span)
    return (*words[:first], *shared_out(span, heard), *words[last + 1 :])


def _parted(text: str) -> tuple[str, str, str]:
    """Opening marks, the word, closing marks."""
    match = _EDGES.match(text)
    assert match
    return match.group(1), match.group(2), match.group(3)


def _reworded(words: tuple[LessonWord, ...], texts: Sequence[str]) -> tuple[LessonWord, ...]:
    """New words on the old ones' times: what is the same keeps its own, the rest shares the time between."""
    old = [_parted(word.text)[1].casefold() for word in words]
    new = [_parted(text)[1].casefold() for text in texts]
    out: list[LessonWord] = []
    waiting: list[str] = []
    for what, a, b, c, d in SequenceMatcher(None, old, new, autojunk=False).get_opcodes():
        if what == "equal":
            fresh = [LessonWord(text, word.span) for text, word in zip(texts[c:d], words[a:b], strict=True)]
            if waiting:
                fresh[:1] = shared_out(fresh[0].span, [*waiting, fresh[0].text])
                waiting = []
            out += fresh
        elif what == "replace":
            out += shared_out(words[a].span.hull(words[b - 1].span), texts[c:d])
        elif what == "insert" and out:
            last = out.pop()
            out += shared_out(last.span, [last.text, *texts[c:d]])
        elif what == "insert":
            waiting = list(texts[c:d])
    return tuple(out)


def shared_out(span: Span, texts: Sequence[str]) -> tuple[LessonWord, ...]:
    """The words over the span, each with a share of it by its letters."""
    weights = [len(text) for text in texts]
    total = sum(weights)
    words = []
    passed = 0
    for text, weight in zip(texts, weights, strict=True):
        start_ms = span.start_ms + span.length_ms * passed // total
        passed += weight
        words.append(LessonWord(text, Span(start_ms, span.start_ms + span.length_ms * passed // total)))
    return tuple(words)
