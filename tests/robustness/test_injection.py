"""Text of a script stays text in every output: markup, formulas, override codes and whole lines break out of none.

The outputs are those that the registry finds, the checks go by their endings: a new output of a known ending is tried
without a word here, and one of a new ending fails until somebody says what would be dangerous in it.
"""

from __future__ import annotations

import csv
import io
import json
import re
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import av
import pysubs2
import pytest
import srt
import webvtt
from markdown_it import MarkdownIt
from mutagen.id3 import ID3
from pypdf import PdfReader

from lessoncut.outputs import all_outputs, named
from lessoncut.outputs.base import Kind, Recording
from lessoncut.outputs.choices import Choices
from lessoncut.outputs.written import one_line
from lessoncut.script.records import Script, Section
from lessoncut.take.records import Picture, Take
from lessoncut.times import FrameRate, Span
from lessoncut.workflow.export import export
from lessoncut.workflow.lesson import Paced, paced, pacing_of
from lessoncut.workflow.opened import opened
from lessoncut.workflow.records import FOUND
from lessoncut.workflow.studying import Targets, studied
from tests.review.lessons import reviewed
from tests.take.making import ffmpeg
from tests.workflow.lessons import match, script

NEEDS_A_FILM = {"lesson-video"}
"""What a lesson of sound alone has not; its title and chapters are those of ``lesson-sound``."""
MADE_APART = {*NEEDS_A_FILM, "chapters-description"}
URL = "https://example.org/lesson"

MARKUP = (
    "<script>alert(0)</script>",
    ("<b>Welcome</b>", "]]><x/>", "</title><h1>End"),
    (
        'Hello <img src=x onerror="alert(1)"> to the lighthouse.',
        "The lamp </c.turn><v Bob> turns & <00:00:01.000> turns.",
        "Wind --> and waves <style>*{}</style> never stop.",
        'Vera <a href="javascript:alert(2)">climbs</a> [the](javascript:alert(3)) ![stairs](x).',
        "<!-- See you --> <![CDATA[ next ]]> &lt;week&gt;.",
    ),
)
FORMULAS = (
    '=HYPERLINK("http://127.0.0.1:9";"a title")',
    ("@SUM(A1:A9)", "+cmd|' /C calc'!A0", "-1+1"),
    (
        '=HYPERLINK("http://127.0.0.1:9","hello")',
        "+cmd|' /C calc'!A0 the lamp",
        "-2+3 wind and waves",
        "@SUM(1,2) Vera climbs",
        "\t=1+1 see you",
    ),
)
WAYS_OUT = (
    "A title\n[CHAPTER]\nSTART=0\nEND=1\ntitle=another",
    ("Part;one=two#three\\", "Part\r\n0:00 Another", 'Part", "b": "c'),
    (
        "Hello\n\n2\n00:00:00,000 --> 00:00:01,000\nthere again",
        "The lamp {\\p1}m 0 0 l 100 100{\\p0} turns {\\fscx900}{\\r}\\N\\h.",
        "Wind\r\n* FROM CLIP NAME:  passwords\r\n002  AX       V     C        00:00:00:00 and waves",
        'Vera #read("/etc/passwd") $x$ `r` *climbs* _the_ #set page(width: 1pt) \\input{x} [[stairs]].',
        "See, \"you\"; 'next' {week}\x00\x1b[2J\u202e\u2028.",
    ),
)
SCRIPTS = {"markup": MARKUP, "formulas": FORMULAS, "ways out": WAYS_OUT}


@dataclass(frozen=True)
class Made:
    """What one output wrote of the script's texts; ``tame`` is the same output of a harmless script."""

    content: bytes
    script: Script
    parts: int
    tame: bytes
    room: Path

    @property
    def text(self) -> str:
        return self.content.decode("utf-8-sig")

    @property
    def tame_text(self) -> str:
        return self.tame.decode("utf-8-sig")


def hostile(texts: tuple[str, tuple[str, ...], tuple[str, ...]]) -> Script:
    """The lighthouse script with these for its title, its sections' titles and its lines."""
    title, sections, lines = texts
    plain = script()
    return Script(
        title,
        tuple(Section(text, one.passage) for text, one in zip(sections, plain.sections, strict=True)),
        tuple(replace(one, text=text, marks=()) for text, one in zip(lines, plain.lines, strict=True)),
    )


@cache
def all_of(name: str, room: Path) -> tuple[dict[str, tuple[Path, ...]], int]:
    """Every output of that script: its files by the output's name, and how many parts the lesson has."""
    spoken = script() if name == "tame" else hostile(SCRIPTS[name])
    folder = reviewed(room / name / "lesson", spoken)
    found = opened(folder).found
    folder.write(FOUND, "by hand", replace(found, match=match(spoken)))
    chosen = Choices(ipa=True, url=URL, your_turn=spoken.title, slow=True)
    made: dict[str, tuple[Path, ...]] = {}
    parts = 0
    for filmed in (False, True):  # a cut list needs a picture, and what is recorded has none here
        at_hand = opened(folder)
        if filmed:
            folder.write(
                FOUND, "by hand", replace(at_hand.found, known=replace(at_hand.found.known, take=_filmed(at_hand)))
            )
            at_hand = opened(folder)
        sheet = paced(at_hand, pacing_of(folder))
        parts = len(sheet.on_lesson.parts)
        kinds = [
            kind for kind in all_outputs() if isinstance(kind, Recording) != filmed and kind.name not in MADE_APART
        ]
        if not filmed:
            made |= _described(sheet, room / name)
        for one in export(sheet, studied(at_hand, Targets("v/w")), kinds, choices=chosen):
            assert one.path, f"{one.output.name}: {one.why_not}"
            made[one.output.name] = tuple(sorted(one.path.parent.glob(f"{one.path.name.partition('.')[0]}.*")))
    return made, parts


def _described(sheet: Paced, room: Path) -> dict[str, tuple[Path, ...]]:
    """The description, whose host wants three chapters of 10 s and more: this lesson's, made longer."""
    kind = named("chapters-description")
    parts = [replace(part, span=Span(20_000 * n, 20_000 * (n + 1))) for n, part in enumerate(sheet.on_lesson.parts)]
    path = room / kind.file_name("lesson")
    kind.write(replace(sheet.on_lesson, parts=tuple(parts)), path, None)
    return {kind.name: (path,)}


def _filmed(at_hand: Any) -> Take:
    (file,) = at_hand.found.take.files
    return Take((replace(file, picture=Picture(640, 360, 0, FrameRate(Fraction(25)), True, "h264", "yuv420p", False)),))


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("injected")


@pytest.mark.parametrize("name", SCRIPTS)
@pytest.mark.parametrize(
    "kind", [one for one in all_outputs() if one.name not in NEEDS_A_FILM], ids=lambda one: one.name
)
def test_text_stays_text(kind: Kind, name: str, room: Path, tmp_path: Path) -> None:
    (tame, _), (made, parts) = all_of("tame", room), all_of(name, room)
    assert made[kind.name]
    for path, tame_path in zip(made[kind.name], tame[kind.name], strict=True):
        check = CHECKS.get(kind.suffix)
        assert check, f"say in CHECKS what text could do in a file that ends in {kind.suffix}"
        check(Made(path.read_bytes(), hostile(SCRIPTS[name]), parts, tame_path.read_bytes(), tmp_path))


# -- one check an ending -----------------------------------------------------------------------------------------------


class _Page(HTMLParser):
    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.attributes: set[tuple[str, str]] = set()
        self.addresses: set[str] = set()
        self.shown = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.attributes |= {(tag, name) for name, _ in attrs}
        self.addresses |= {value or "" for name, value in attrs if name in ("src", "href", "action", "srcset")}

    def handle_data(self, data: str) -> None:
        self.shown += data

    def handle_comment(self, data: str) -> None:
        raise AssertionError(f"a comment: {data}")

    def handle_pi(self, data: str) -> None:
        raise AssertionError(f"an instruction: {data}")

    def unknown_decl(self, data: str) -> None:
        raise AssertionError(f"a declaration: {data}")


def page(made: Made) -> None:
    read, tame = _Page(made.text), _Page(made.tame_text)
    assert read.tags <= tame.tags
    assert read.attributes <= tame.attributes
    assert all(address.startswith((URL, "data:image/")) for address in read.addresses)
    assert one_line(made.script.title) in " ".join(read.shown.split())


def table(made: Made) -> None:
    """OWASP, "CSV Injection": a cell that begins with one of these may be run."""
    rows = list(csv.reader(io.StringIO(made.text)))
    assert {len(row) for row in rows} == {len(next(csv.reader(io.StringIO(made.tame_text))))}
    for cell in (cell for row in rows for cell in row):
        assert not cell.startswith(("=", "+", "-", "@", "\t", "\r")) or re.fullmatch(r"[+-]?\d+([.:]\d+)*", cell), cell


_CUE_TAG = re.compile(r"</?(?:c(?:\.[\w-]+)*|b|i|u|v [^<>&]*|lang [\w-]+)>|<(?:\d\d:)?\d\d:\d\d\.\d{3}>")
_CUE_TIMES = re.compile(r"(?:\d\d:)?\d\d:\d\d\.\d{3} --> (?:\d\d:)?\d\d:\d\d\.\d{3}(?: \w+:\S+)*")


def webvtt_file(made: Made) -> None:
    """W3C WebVTT, 4.1 and 4.2.1: "-->" stands in timing lines alone, and "<" begins a tag of its list."""
    assert made.text.startswith("WEBVTT")
    timing = [line for line in made.text.splitlines() if "-->" in line]
    assert all(_CUE_TIMES.fullmatch(line) for line in timing)
    head, *blocks = re.split(r"\n\n+", made.text.strip("\n"))
    cues = [block for block in blocks if "-->" in block]
    assert len(cues) == len(timing) == len(webvtt.from_string(made.text).captions)
    for cue in cues:
        payload = cue.partition(next(line for line in timing if line in cue))[2]
        own = {part for tag in _CUE_TAG.findall(payload) for part in re.split(r"[<.>]", _named(tag))}
        assert own <= {part for tag in _CUE_TAG.findall(made.tame_text) for part in re.split(r"[<.>]", _named(tag))}
        assert "<" not in _CUE_TAG.sub("", payload)
    assert "STYLE" not in [block[:5] for block in blocks if block not in made.tame_text]
    assert head.startswith("WEBVTT")


def _named(tag: str) -> str:
    return re.sub(r"\d", "0", tag)


def srt_file(made: Made) -> None:
    cues = list(srt.parse(made.text))
    assert [cue.index for cue in cues] == list(range(1, len(cues) + 1))
    assert made.text.count("-->") == len(cues)
    for cue in cues:
        assert not re.search(r"[<>]|\{\\", cue.content)


_OVERRIDE = re.compile(r"\{[^{}]*\}")
_INJECTED = {"{\\p1}", "{\\p0}", "{\\fscx900}", "{\\r}", "{week}"}


def ass_file(made: Made) -> None:
    """An override block begins with a brace; outside, a backslash may only break the line."""
    read, tame = pysubs2.SSAFile.from_string(made.text), pysubs2.SSAFile.from_string(made.tame_text)
    own = {block for event in tame.events for block in _OVERRIDE.findall(event.text)}
    known = {name for block in own for name in _codes(block)}
    assert len(re.findall(r"^(?:Dialogue|Comment):", made.text, re.MULTILINE)) == len(read.events)
    assert set(read.styles) == set(tame.styles)
    assert set(read.info) == set(tame.info)
    for event in read.events:
        for block in _OVERRIDE.findall(event.text):
            assert set(_codes(block)) <= known, block
            assert block in own or block not in _INJECTED
        outside = _OVERRIDE.sub("", event.text)
        assert not re.search(r"[{}]|\\(?![Nh])", outside), event.text


def _codes(block: str) -> list[str]:
    """The names of the override codes in a block; text that is none stands for itself."""
    return re.findall(r"\\\d?[a-z]+", block) or [block]


def xml_file(made: Made) -> None:
    """No element or attribute but those of the tame file, and the break of a long line."""
    assert "<!DOCTYPE" not in made.text and "<!ENTITY" not in made.text
    read, tame = ({(one.tag.rpartition("}")[2], key) for one in ElementTree.fromstring(text).iter()
                   for key in ("", *one.attrib)} for text in (made.text, made.tame_text))  # fmt: skip
    assert read <= tame | {("br", "")}


def json_file(made: Made) -> None:
    """Read by another reader: no key that the tame one has not, but those of a held picture."""
    assert _keys(json.loads(made.text)) <= _keys(json.loads(made.tame_text)) | {"held_frame", "held_file"}


def _keys(value: Any) -> set[str]:
    if isinstance(value, dict):
        return set(value) | {key for part in value.values() for key in _keys(part)}
    return {key for part in value for key in _keys(part)} if isinstance(value, list) else set()


def markdown(made: Made) -> None:
    """CommonMark, with HTML let through as most viewers do."""
    tokens = list(_tokens(MarkdownIt("commonmark").enable("table").parse(made.text)))
    tame = {token.type for token in _tokens(MarkdownIt("commonmark").enable("table").parse(made.tame_text))}
    assert {token.type for token in tokens} - {"text_special", "softbreak"} <= tame
    assert not [token for token in tokens if token.type.startswith("html")]
    assert all(str(token.attrs["href"]).startswith(URL) for token in tokens if "href" in token.attrs)


def _tokens(tokens: Any) -> Iterator[Any]:
    for token in tokens:
        yield token
        yield from _tokens(token.children or ())


def pdf(made: Made) -> None:
    """ISO 32000-1, 12.6: nothing acts by itself, and links lead to the lesson alone."""
    reader = PdfReader(io.BytesIO(made.content))
    root: Any = reader.trailer["/Root"]
    assert not {"/OpenAction", "/AA", "/AcroForm"} & set(root)
    assert not {"/JavaScript", "/EmbeddedFiles"} & set(root.get("/Names", {}))
    tame = PdfReader(io.BytesIO(made.tame))
    assert abs(len(reader.pages) - len(tame.pages)) <= 1
    for sheet in reader.pages:
        for annotation in sheet.get("/Annots", ()):
            action = annotation.get_object().get("/A")
            assert action is None or (action["/S"] == "/URI" and action["/URI"].startswith(URL))
    shown = "".join("".join(sheet.extract_text().split()) for sheet in reader.pages)
    assert "root:x:0" not in shown


_EVENT = re.compile(r"\d{3}  \S{1,8} +(?:B|V|A|AA/V|AA) +C {8}(?:\d\d:\d\d:\d\d[:;]\d\d ?){4}")


def edit_list(made: Made) -> None:
    assert made.content.isascii()
    rows = made.text.split("\r\n")
    assert all(re.fullmatch(r"TITLE: .*|FCM: [A-Z -]+|\* .*|", row) or _EVENT.fullmatch(row) for row in rows)
    assert "\n" not in "".join(rows) and "\r" not in "".join(rows)
    clips = {row for row in rows if row.startswith("* FROM CLIP NAME:")}
    assert clips == {"* FROM CLIP NAME:  take.wav"}
    named = [row for row in rows if row.startswith("* FROM CLIP NAME:")]
    assert sum(bool(_EVENT.fullmatch(row)) for row in rows) == len(named)


def ffmetadata(made: Made) -> None:
    """As ffmpeg itself reads it: as many chapters as the lesson has parts, and no tag but a title."""
    given, back = made.room / "given.txt", made.room / "back.txt"
    given.write_bytes(made.content)
    ffmpeg("-f", "ffmetadata", "-i", given, "-f", "ffmetadata", back)
    rows = re.sub(r"\\.", "", back.read_text(encoding="utf-8"), flags=re.DOTALL).splitlines()
    assert rows.count("[CHAPTER]") == made.parts
    keys = {row.partition("=")[0] for row in rows if "=" in row}
    assert keys <= {"title", "encoder", "TIMEBASE", "START", "END"}


def plain_text(made: Made) -> None:
    """Nothing that a terminal would obey, no line that the output did not begin itself, no column too many."""
    assert not set(made.text) & {chr(code) for code in (*range(32), 127, 0x2028) if chr(code) not in "\n\t"}
    rows = made.text.rstrip("\n").split("\n")
    assert not {"START=0", "[CHAPTER]", "2", "0:00 Another", "there again"} & {row.strip() for row in rows}
    columns = {row.count("\t") for row in made.tame_text.rstrip("\n").split("\n")}
    assert {row.count("\t") for row in rows} <= columns


def sound(made: Made) -> None:
    """Its tags are the title and what else the tame one has; its chapters are the lesson's."""
    read, tame = (_tags(content) for content in (made.content, made.tame))
    assert set(read) <= set(tame)
    assert one_line(made.script.title) in read["title"]


def _tags(content: bytes) -> dict[str, str]:
    with av.open(io.BytesIO(content)) as container:
        return dict(container.metadata)


def mp3(made: Made) -> None:
    """No frame but those of the tame file, and every chapter a line of the script, or a part of one."""
    tags, tame = ID3(io.BytesIO(made.content)), ID3(io.BytesIO(made.tame))
    assert {key[:4] for key in tags} <= {key[:4] for key in tame}
    titles = [str(chapter.sub_frames["TIT2"]) for chapter in tags.getall("CHAP")]
    assert titles
    assert all(any(title in one_line(line.text) for line in made.script.lines) for title in titles), titles


def pack(made: Made) -> None:
    """No name of a file comes from the script, so none leads out of the folder that it is unpacked into."""
    with zipfile.ZipFile(io.BytesIO(made.content)) as packed, zipfile.ZipFile(io.BytesIO(made.tame)) as tame:
        assert packed.namelist() == tame.namelist()
        assert all(re.fullmatch(r"[\w.-]+", name) for name in packed.namelist())
        table(replace(made, content=packed.read("lines.csv"), tame=tame.read("lines.csv")))


CHECKS: dict[str, Callable[[Made], None]] = {
    ".html": page, ".csv": table, ".vtt": webvtt_file, ".srt": srt_file, ".ass": ass_file, ".ttml": xml_file,
    ".json": json_file, ".otio": json_file, ".md": markdown, ".pdf": pdf, ".edl": edit_list,
    ".ffmetadata.txt": ffmetadata, ".txt": plain_text, ".m4a": sound, ".mp3": mp3, ".zip": pack,
}  # fmt: skip


def test_the_harmful_text_is_there(room: Path) -> None:
    """The control: it is shown, and not dropped on the way, where the checks above could not find it."""
    shown = [
        ("markup", "handout-html", "&lt;script&gt;alert(0)&lt;/script&gt;"),
        ("markup", "captions-webvtt", "&lt;style&gt;"),
        ("formulas", "gap-sheet", "'+cmd|' /C calc'!A0"),
        ("formulas", "captions-srt", "=HYPERLINK"),
        ("ways out", "chapters-ffmetadata", r"Part\;one\=two\#three\\"),
    ]
    for name, output, text in shown:
        path, *_ = all_of(name, room)[0][output]
        assert text in path.read_text(encoding="utf-8")
