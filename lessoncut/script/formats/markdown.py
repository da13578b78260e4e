"""Markdown scripts; the only home of markdown-it-py.

``#`` is the title, ``##`` (and deeper) a section; ``{.passage}`` after a heading marks the passage, with everything
under it. ``**stressed**`` and ``==key phrase==`` are marks. Lists, block quotes, tables, emphasis, links and HTML are
read as the text in them; pictures and HTML comments are not spoken. Line ends are as in CommonMark: only a hard break
(two spaces, a backslash, ``<br>``) ends a line of the script, and the end of a line that is nothing but a number or a
letter with its full stop: the mark of a list with nothing in it is a line that says that number. But where every row of
a paragraph ends as a sentence does, it was written row by row, and each ends a line: "... a letter T." goes on in none.
So do the rows of a verse: four or more that all end in some stop, a comma perhaps.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from markdown_it import MarkdownIt
from markdown_it.rules_inline import StateInline
from markdown_it.rules_inline.state_inline import Delimiter
from markdown_it.token import Token

from lessoncut.errors import ScriptError
from lessoncut.script.blocks import Block, Heading, Paragraph, Run
from lessoncut.script.decode import decoded
from lessoncut.script.formats.base import ScriptFormat
from lessoncut.script.sentences import is_left_open

PHRASE_SIGN = "=="
MOST_NESTED = 100
MOST_LINK_WORK = 20_000_000
"""Opening square brackets times characters: the time to look for links grows with it. Beyond, links are text."""
_ROW_END = re.compile(r"[.!?…]['\"’”»)\]]*\s*$")
_VERSE_END = re.compile(r"[.!?…,;:—–]['\"’”»)\]]*\s*$")
FEWEST_OF_VERSE = 4
"""Rows of prose that is but wrapped hardly all end in a stop, so many of them."""
_COMMENT = re.compile(r"(?<!\\)<!--.*?-->", re.DOTALL)
_OPEN_COMMENT = re.compile(r"(?<!\\)<!--")
_ATTRIBUTES = re.compile(r"(?<!\\)\{([^{}\\]*)\}\s*$")
_ATTRIBUTE = re.compile(r"[.#][^\s.#=]\S*|[\w-]+=\S*|-")
_NUMBER_ALONE = re.compile(r"(?:\d+|[^\W\d_])\.\s*")
_BREAK_TAG = re.compile(r"<br\s*/?>", re.IGNORECASE)


def blocks(content: bytes) -> Sequence[Block]:
    """Raises ScriptError for bytes that are not text and for a comment that never ends."""
    text = _without_comments(decoded(content))
    parser = _PARSER if text.count("[") * len(text) <= MOST_LINK_WORK else _LINKLESS_PARSER
    return tuple(_blocks(parser.parse(text), parser))


def _without_comments(text: str) -> str:
    """Comments become empty, their line ends stay: every line keeps its number."""
    text = _COMMENT.sub(lambda match: "\n" * match.group().count("\n"), text)
    unclosed = _OPEN_COMMENT.search(text)
    if unclosed:
        raise ScriptError(
            "a comment begins with <!-- and never ends",
            where=f"line {text.count(chr(10), 0, unclosed.start()) + 1}",
            hint="close it with -->",
        )
    return text


def _blocks(tokens: Sequence[Token], parser: MarkdownIt) -> Iterator[Block]:
    heading_level = 0
    source_line = 1
    for place, token in enumerate(tokens):
        if token.map:
            source_line = token.map[0] + 1
        if token.type == "list_item_open" and tokens[place + 1].type == "list_item_close":
            yield Paragraph((Run(f"{token.info}{token.markup}", source_line),))
        elif token.type == "heading_open":
            heading_level = int(token.tag[1])
        elif token.type == "inline" and heading_level:
            yield _heading(token, heading_level, source_line, parser)
            heading_level = 0
        elif token.type == "inline":
            yield Paragraph(tuple(_runs(token.children or (), source_line)))
        elif token.type == "fence":
            lines = token.content.split("\n")
            yield Paragraph(tuple(Run(f"{line}\n", source_line + 1 + n) for n, line in enumerate(lines)))


def _heading(token: Token, level: int, source_line: int, parser: MarkdownIt) -> Heading:
    children, passage = token.children or [], False
    found = _ATTRIBUTES.search(token.content)
    if found and all(_ATTRIBUTE.fullmatch(item) for item in found.group(1).split()):
        passage = ".passage" in found.group(1).split()
        children = parser.parseInline(token.content[: found.start()].rstrip())[0].children or []
    title = "".join(run.text for run in _runs(children, source_line))
    return Heading(title, level, source_line, passage)


def _runs(children: Sequence[Token], source_line: int) -> Iterator[Run]:
    stress = phrase = 0
    file_line, row_by_row = "", _is_row_by_row(children)
    for token in children:
        text = ""
        if token.type in ("strong_open", "strong_close"):
            stress += token.nesting
        elif token.type in ("phrase_open", "phrase_close"):
            phrase += token.nesting
        elif token.type in ("text", "code_inline"):
            text = token.content
            file_line += text
        elif token.type in ("softbreak", "hardbreak"):
            ends = row_by_row and not is_left_open(file_line)
            text = "\n" if token.type == "hardbreak" or ends or _NUMBER_ALONE.fullmatch(file_line) else " "
            file_line = ""
            source_line += 1
        elif token.type == "html_inline":
            text = "\n" if _BREAK_TAG.fullmatch(token.content) else ""
            source_line += token.content.count("\n")
        if text:
            yield Run(text, source_line, stress > 0, phrase > 0)


def _is_row_by_row(children: Sequence[Token]) -> bool:
    """Whether every row of the paragraph ends as a sentence does, or as one of a verse."""
    text = "".join("\n" if token.type in ("softbreak", "hardbreak") else token.content for token in children)
    rows = text.split("\n")
    return all(map(_ROW_END.search, rows)) or (len(rows) >= FEWEST_OF_VERSE and all(map(_VERSE_END.search, rows)))


def _phrase_signs(state: StateInline, silent: bool) -> bool:
    """Every ``==`` may open or close a key phrase; shorter and longer rows of the sign are text."""
    if silent or state.src[state.pos] != PHRASE_SIGN[0]:
        return False
    scanned = state.scanDelims(state.pos, True)
    token = state.push("text", "", 0)
    token.content = PHRASE_SIGN[0] * scanned.length
    if scanned.length == len(PHRASE_SIGN):
        here = len(state.tokens) - 1
        state.delimiters.append(Delimiter(ord(PHRASE_SIGN[0]), 0, here, -1, scanned.can_open, scanned.can_close))
    state.pos += scanned.length
    return True


def _pair_phrase_signs(state: StateInline) -> None:
    """Paired signs become ``phrase_open`` and ``phrase_close`` tokens, inside links too."""
    nested = [meta["delimiters"] for meta in state.tokens_meta if meta and "delimiters" in meta]
    for delimiters in (state.delimiters, *nested):
        for opening in delimiters:
            if opening.marker == ord(PHRASE_SIGN[0]) and opening.end != -1:
                for place, kind, nesting in ((opening.token, "open", 1), (delimiters[opening.end].token, "close", -1)):
                    token = state.tokens[place]
                    token.type, token.content, token.nesting = f"phrase_{kind}", "", nesting


def _parser() -> MarkdownIt:
    parser = MarkdownIt("commonmark", {"maxNesting": MOST_NESTED}).enable("table").disable(["code", "html_block"])
    parser.inline.ruler.before("emphasis", "phrase", _phrase_signs)
    parser.inline.ruler2.before("emphasis", "phrase", _pair_phrase_signs)
    return parser


_PARSER = _parser()
_LINKLESS_PARSER = _parser().disable(["link", "image", "reference"])
FORMAT = ScriptFormat("Markdown", (".md", ".markdown"), blocks)
