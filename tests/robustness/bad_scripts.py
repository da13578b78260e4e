"""Scripts: those that cannot be read are refused before anything is heard; odd ones are read as what they say."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable

import docx

from tests.robustness.odd_takes import good
from tests.robustness.scene import SCRIPT, Scene, followed
from tests.robustness.table import Case, Step
from tests.script.samples import word_document
from tests.script.test_word import BOMB, OUTSIDE, edited

UTF8 = "save the script as UTF-8 in your editor"
LINES = 2000
NUMBERS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
PLACES = ("river", "harbour", "market", "garden", "quarry", "mill", "chapel", "orchard", "tower", "bridge", "cellar",
          "stable", "tunnel", "meadow", "island", "forge", "bakery", "library", "kitchen", "attic")  # fmt: skip


def holding(content: bytes | str, name: str = "script.md") -> Step:
    """A script with just this in it."""

    def make(scene: Scene) -> None:
        scene.script = scene.at / name
        scene.script.write_bytes(content if isinstance(content, bytes) else content.encode())

    return make


def without_permission(scene: Scene) -> None:
    scene.script.chmod(0)
    scene.finishing.append(lambda: scene.script.chmod(0o644))


def missing(scene: Scene) -> None:
    scene.script = scene.at / "gone.md"


def folder(scene: Scene) -> None:
    scene.script = scene.at / "folder.md"
    scene.script.mkdir()


def very_long(scene: Scene) -> None:
    """The lesson's lines, and 2,000 more after them that nobody says."""
    holding(f"{SCRIPT}\n## The catalogue\n" + "\n\n".join(_catalogue()))(scene)


def _catalogue() -> list[str]:
    kinds, places = ("valve", "vault", "wheel", "window", "vessel"), ("north", "west", "south", "east")
    return [
        f"{PLACES[n // 100]} {NUMBERS[n // 10 % 10]} {NUMBERS[n % 10]} {kinds[n % 5]} {places[n % 4]}."
        for n in range(LINES)
    ]


def in_word(edit: Callable[[bytes], bytes], part: str = "word/document.xml") -> Step:
    return holding(edited(word_document(), part, edit), "script.docx")


def with_declared(doctype: bytes) -> Step:
    return in_word(lambda xml: xml.replace(b"?>", b"?>" + doctype, 1))


def bomb(scene: Scene) -> None:
    """51 MB of zeros in a document of some kilobytes."""
    packed = edited(word_document(), "", bytes, [("word/media/zero.bin", bytes(51 * 1024 * 1024))])
    holding(packed, "script.docx")(scene)


def ladder(scene: Scene) -> None:
    """A part within a part: 2,001 of them."""
    holding(edited(word_document(), "", bytes, [(f"word/media/{n}", b"") for n in range(2001)]), "script.docx")(scene)


def way_out(scene: Scene) -> None:
    """A document with a part whose name leads out of any folder it is unpacked into: it must land nowhere."""
    packed = io.BytesIO(_written())
    with zipfile.ZipFile(packed, "a") as document:
        document.writestr("../../lessoncut-was-here.xml", "<a/>")
    holding(packed.getvalue(), "script.docx")(scene)


def _written() -> bytes:
    """The script as a word processor saves it."""
    document = docx.Document()
    for row in SCRIPT.splitlines():
        hashes, _, text = row.partition(" ")
        if hashes and set(hashes) == {"#"}:
            document.add_heading(text, len(hashes) - 1)
        elif row:
            document.add_paragraph(row)
    saved = io.BytesIO()
    document.save(saved)
    return saved.getvalue()


def linked_picture(scene: Scene) -> None:
    """A document that wants a picture and a template from an address: nothing is fetched."""
    relation = (
        b'<Relationship Id="rId99" TargetMode="External" Target="http://127.0.0.1:9/template.dotx" Type="http://'
        b'schemas.openxmlformats.org/officeDocument/2006/relationships/attachedTemplate"/></Relationships>'
    )
    document = edited(
        _written(), "word/_rels/document.xml.rels", lambda xml: xml.replace(b"</Relationships>", relation)
    )
    holding(document, "script.docx")(scene)


def of_another_lesson(scene: Scene) -> None:
    holding("# Rivers\n\n## Passage\nBoats carry timber down to Hambridge.\nNobody rows upstream after rain.\n")(scene)


def replaced(old: str, new: str) -> Step:
    return holding(SCRIPT.replace(old, new))


def without_passage(scene: Scene) -> None:
    holding(SCRIPT.replace(" {.passage}", ""))(scene)


# -- what must be true ------------------------------------------------------------------------------------------------


def lines(scene: Scene) -> list[str]:
    return [line["text"] for line in scene.analysis["lines"]]


def reading(*texts: str) -> Step:
    """These lines are in the script as they stand here, and the passage was followed through both passes."""

    def holds(scene: Scene) -> None:
        assert [text for text in lines(scene) if text in texts] == list(texts)
        of = {line["id"]: line["text"] for line in scene.analysis["lines"]}
        read = [of[one["line"]] for one in scene.analysis["readings"] if one["pass"] and one["kind"] == "full"]
        assert read == 2 * ["The winter wind is wild.", "Five vans wait in the valley."]

    return holds


def one_line(scene: Scene) -> None:
    assert lines(scene) == ["The winter wind is wild."]
    read = [(one["start_s"], one["kind"]) for one in scene.analysis["readings"]]
    assert [(round(start), kind) for start, kind in read] == [(2, "full"), (6, "full")]


def passage_by_itself(scene: Scene) -> None:
    followed(scene)
    assert [one["in_passage"] for one in scene.analysis["lines"]] == [False, True, True, False]


def nothing_landed_outside(scene: Scene) -> None:
    followed(scene)
    assert not list(scene.at.parent.parent.glob("lessoncut-was-here*"))
    assert not list(scene.at.parent.glob("lessoncut-was-here*"))


HTML = "<img src=x onerror=alert(1)> Good morning <b>to all</b> of you.<script>alert(2)</script>"
RIGHT_TO_LEFT = "\u202eGood morning to all of you.\u202c \u05e9\u05dc\u05d5\u05dd."
EMOJI = "Good morning 👋🏽 to all 👩\u200d🏫 of you 🇬🇧."

CASES = (
    Case("empty script", holding(""), 2, r"script\.md: the script has no lines to speak Try: write"),
    Case("script of white space", holding(" \n\t\n\u00a0\n"), 2, r"the script has no lines to speak Try"),
    Case("script of headings alone", holding("# A\n\n## B\n\n## C {.passage}\n"), 2, r"script\.md.*no"),
    Case("script without a word", holding("***\n\n— … —\n\n!!!\n"), 2, r"script\.md.*no"),
    Case(
        "script with NULs", holding(b"Good\0morning"), 2, r"script\.md, line 1: the script holds a NUL character.* Try"
    ),
    Case(
        "script in Latin-1",
        holding("# Café\n\nDéjà vu.\n".encode("latin-1")),
        2,
        rf"script\.md, line 1: 0xE9 at byte 6 of the file is not UTF-8 text Try: {UTF8}",
    ),
    Case("script in UTF-16 without its mark", holding(SCRIPT.encode("utf-16-le")), 2, r"NUL character"),
    Case("script in half of UTF-16", holding(SCRIPT.encode("utf-16")[:-1]), 2, rf"is not UTF-16 text Try: {UTF8}"),
    Case("script of a picture", holding(b"\x89PNG\r\n\x1a\n" + bytes(range(256))), 2, r"is not UTF-8 text Try"),
    Case("script larger than 5 MB", holding("word " * 1_100_000), 2, r"the script is larger than 5 MB Try"),
    Case(
        "script of a kind nobody reads",
        holding(SCRIPT, "script.pdf"),
        2,
        r"a script cannot be read from a file that ends in \.pdf Try: save it as one of \.md, ",
    ),
    Case(
        "old word document", holding(b"\xd0\xcf\x11\xe0" + bytes(600), "script.docx"), 2, r"not a Word document .* Try"
    ),
    Case("no such script", missing, 2, r"gone\.md: the script cannot be read: No such file or directory Try"),
    Case("a folder as the script", folder, 2, r"folder\.md: the script is not a file Try"),
    Case(
        "no permission to read the script",
        without_permission,
        2,
        r"the script cannot be read: Permission denied Try",
        process="permitted",
    ),
    Case(
        "a comment that never ends", replaced("## Welcome", "<!-- ## Welcome"), 2, r"line 3: a comment begins with <!--"
    ),
    Case(
        "passage mark on two headings",
        replaced("## Welcome", "## Welcome {.passage}"),
        2,
        r"script\.md, line \d+: .*passage.* Try",
    ),
    Case("docx: zip bomb", bomb, 2, r"the document is larger than 50 MB when unpacked Try"),
    Case("docx: too many parts", ladder, 2, r"the document is larger than 50 MB when unpacked|parts"),
    Case(
        "docx: entities that grow", with_declared(BOMB), 2, r"the document declares XML entities.* Try: copy its text"
    ),
    Case("docx: entity of another file", with_declared(OUTSIDE), 2, r"the document declares XML entities"),
    Case("docx: damaged", in_word(lambda xml: xml[: len(xml) // 2]), 2, r"not a Word document that can be read"),
    Case(
        "wrong script",
        of_another_lesson,
        2,
        r"the take does not follow this script: 0% of its lines are in it Try",
        leaves="hearing",
    ),
    good("docx: a part whose name leads out", way_out, nothing_landed_outside),
    good("docx: a template at an address", linked_picture, followed),
    good("script in UTF-8 with its mark", holding(b"\xef\xbb\xbf" + SCRIPT.encode()), followed),
    good("script in UTF-16", holding(SCRIPT.encode("utf-16")), followed),
    good("script with line ends of another system", holding(SCRIPT.replace("\n", "\r\n")), followed),
    good(
        "script without an ending",
        holding(SCRIPT.replace("#", "").replace(" {.passage}", ""), "script"),
        reading("The winter wind is wild.", "Five vans wait in the valley."),
    ),
    good("script without a passage mark", without_passage, passage_by_itself, r"No passage is marked in the script"),
    good("script of one line", holding("The winter wind is wild.\n"), one_line),
    Case(
        "script of 2,000 lines, four of them said",
        very_long,
        2,
        r"the take does not follow this script: 0% of its lines are in it Try: check",
        leaves="hearing",
    ),
    good(
        "script with a word of 1 MB",
        replaced("## Goodbye", "## Long\n" + "v" * 1_000_000 + "\n\n## Goodbye"),
        reading("The winter wind is wild.", "Five vans wait in the valley."),
    ),
    Case(
        "script with a line of 1 MB",
        replaced("## Goodbye", "## Long\n" + "volume " * 150_000 + "\n\n## Goodbye"),
        2,
        r"the take does not follow this script: 0% of its lines are in it Try",
        leaves="hearing",
    ),
    good(
        "script with HTML and script tags",
        replaced("Good morning to all of you.", HTML),
        reading("The winter wind is wild.", "Five vans wait in the valley."),
    ),
    good(
        "script from right to left",
        replaced("Good morning to all of you.", RIGHT_TO_LEFT),
        reading("The winter wind is wild.", "Five vans wait in the valley."),
    ),
    good("script with emoji", replaced("Good morning to all of you.", EMOJI), reading(EMOJI)),
)
