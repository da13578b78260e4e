"""From a format's blocks to the script: sections, sentences, marks on clean text."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from lessoncut.errors import ScriptError
from lessoncut.script.blocks import Block, Heading, Paragraph, Run
from lessoncut.script.records import Line, Mark, MarkKind, Script, Section
from lessoncut.script.sentences import sentences
from lessoncut.wording import spoken

_GAP = re.compile(r"[\s\x00-\x1f\x7f-\x9f]+")
_DIRECTION = re.compile(r"\([^\s().!?…]+(?: [^\s().!?…]+){0,5} ?\)\.?|\[[^\s\]\[]+(?: [^\s\]\[]+){0,5} ?\]\.?")
"""A line of nothing but a few words in brackets tells what to do, not what to say: ``(hold up the card)``."""
_BYTE_ORDER_MARK = "\ufeff"


@dataclass(frozen=True)
class MarkedText:
    """Text with single spaces and newlines; per character 1 where it is marked, and its source line."""

    text: str
    stress: bytes
    phrase: bytes
    line_starts: tuple[tuple[int, int], ...]
    """(offset, source line) of every run, in order."""


def assemble(blocks: Iterable[Block], untitled: str) -> Script:
    """The script of these blocks. ``untitled`` is its title where the blocks have none.

    Raises ScriptError when two headings mark a passage and when nothing in it can be spoken.
    """
    title, chapters = _chapters(blocks, untitled)
    sections: list[Section] = []
    lines: list[Line] = []
    for section, paragraphs in chapters:
        spoken_lines = [line for paragraph in paragraphs for line in _lines(marked_text(paragraph.runs))]
        if not spoken_lines:
            continue
        for line in spoken_lines:
            line_id = f"L{len(lines) + 1:03d}"
            lines.append(replace(line, id=line_id, section=len(sections), in_passage=section.passage))
        sections.append(section)
    if not lines:
        raise ScriptError(
            "the script has no lines to speak", hint="write the sentences of the lesson under its headings"
        )
    return Script(title, tuple(sections), tuple(lines))


def marked_text(runs: Sequence[Run]) -> MarkedText:
    """The runs as one text: white space and control characters become one space, or one newline if they hold one."""
    pieces: list[str] = []
    stress, phrase = bytearray(), bytearray()
    line_starts: list[tuple[int, int]] = []
    gap, gap_run = "", Run("", 0)
    for run in runs:
        for part in re.split(rf"({_GAP.pattern})", run.text.replace(_BYTE_ORDER_MARK, "")):
            if not part:
                continue
            if _GAP.fullmatch(part):
                gap, gap_run = ("\n" if "\n" in gap + part else " "), (gap_run if gap else run)
                continue
            if gap and pieces:
                pieces.append(gap)
                stress.append(gap_run.stress)
                phrase.append(gap_run.phrase)
            gap = ""
            line_starts.append((len(stress), run.source_line))
            pieces.append(part)
            stress += bytes([run.stress]) * len(part)
            phrase += bytes([run.phrase]) * len(part)
    return MarkedText("".join(pieces), bytes(stress), bytes(phrase), tuple(line_starts))


def one_line(text: str) -> str:
    """The text on one line: white space and control characters become single spaces, none at its ends."""
    return marked_text((Run(text, 0),)).text.replace("\n", " ")


def _chapters(blocks: Iterable[Block], untitled: str) -> tuple[str, list[tuple[Section, list[Paragraph]]]]:
    """The title, and every section with its paragraphs; the text before the first section has the title's name."""
    title = untitled
    passage: Heading | None = None
    passage_level: int | None = None
    chapters: list[tuple[Section, list[Paragraph]]] = [(Section(untitled), [])]
    first_heading = True
    for block in blocks:
        if isinstance(block, Paragraph):
            chapters[-1][1].append(block)
            continue
        name = one_line(block.title)
        if block.passage and passage:
            raise ScriptError(
                f"two headings mark a passage: lines {passage.source_line} and {block.source_line}",
                where=f"line {block.source_line}",
                hint="a lesson has one passage; take the mark off the other heading",
            )
        if not name and not block.passage:
            continue
        if block.passage:
            passage, passage_level = block, block.level
        elif passage_level is not None and block.level <= passage_level:
            passage_level = None
        section = Section(name or "Passage", passage=passage_level is not None)
        if first_heading and block.level == 1:
            title = section.title
            chapters[0] = (replace(chapters[0][0], title=title), chapters[0][1])
        chapters.append((section, []))
        first_heading = False
    return title, chapters


def _lines(marked: MarkedText) -> Iterator[Line]:
    """Lines without id and section."""
    starts = iter(marked.line_starts)
    upcoming = next(starts, None)
    source_line: int | None = None
    for start, end in sentences(marked.text):
        while upcoming is not None and upcoming[0] <= start:
            source_line, upcoming = upcoming[1], next(starts, None)
        text = marked.text[start:end]
        if spoken(text) and not _DIRECTION.fullmatch(text):
            marks = [*_marks("stress", text, marked.stress[start:end])]
            marks += _marks("phrase", text, marked.phrase[start:end])
            marks.sort(key=lambda mark: (mark.start, -mark.end))
            yield Line("", text, 0, False, tuple(marks), source_line)


def _marks(kind: MarkKind, text: str, flags: bytes) -> Iterator[Mark]:
    for match in re.finditer(b"\x01+", flags):
        inside = text[match.start() : match.end()]
        start = match.start() + len(inside) - len(inside.lstrip())
        end = match.end() - (len(inside) - len(inside.rstrip()))
        if start < end:
            yield Mark(kind, start, end)
