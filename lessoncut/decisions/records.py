"""What the teacher chose, said in words that outlive a re-analysis.

A decision never names an id of the analysis, since ids are dealt anew each time. It names the kind of thing, the
text of the line, the pass by its kind and number, and where in the take it stood.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from lessoncut.matching.findings.records import Finding, FindingKind
from lessoncut.matching.records import Change, PassKind
from lessoncut.times import Span

SubjectKind = Literal["finding", "slot", "edge", "gap", "chapter", "caption", "aside", "pick_up"]
Edge = Literal["start", "end"]


@dataclass(frozen=True)
class TextKey:
    """A line or a section by its text; ``nth`` counts from 1 among those with the same text."""

    text: str
    nth: int = 1


@dataclass(frozen=True)
class PassKey:
    """A pass by its kind; ``nth`` counts from 1 among the passes of that kind."""

    kind: PassKind
    nth: int = 1


@dataclass(frozen=True)
class Subject:
    """What a decision is about. ``kind`` says which fields matter:

    ======== =======================================================================================
    finding  ``finding``, ``line`` and ``pass_key`` where the finding has them, ``span``
    slot     ``line``, ``pass_key``: which reading a line has in a pass
    edge     ``line``, ``span`` of a reading, ``edge``
    gap      ``line``
    chapter  ``section`` (a chapter the script gives) or ``line`` (an added one, before it); ``pass_key``
    caption  ``line``, ``span`` of a reading
    aside    ``span``
    pick_up  ``path``
    ======== =======================================================================================
    """

    kind: SubjectKind
    finding: FindingKind | None = None
    line: TextKey | None = None
    section: TextKey | None = None
    pass_key: PassKey | None = None
    span: Span | None = None
    edge: Edge | None = None
    path: str | None = None


@dataclass(frozen=True)
class Decision:
    """One choice. ``number`` counts the log's lines from 1; ``at_utc`` is ISO 8601 with a Z.

    ======== ================================ =====================================================
    subject  choices                          value, reading
    ======== ================================ =====================================================
    finding  one of the finding's             ``reading``: the span of the reading meant, if any
    slot     keep, borrow, leave_out          ``reading``: the span of the reading to keep or borrow
    edge     move, reset                      ``value``: take time in ms
    gap      set, reset                       ``value``: ms
    chapter  title, hide, show, add, remove   ``value``: the title
    caption  set, reset                       ``value``: the words
    aside    keep, leave_out
    pick_up  add, remove
    ======== ================================ =====================================================
    """

    number: int
    at_utc: str
    subject: Subject
    choice: str
    value: str | int | None = None
    reading: Span | None = None


Plain = str | int | float | bool | None


@dataclass(frozen=True)
class Setting:
    """What the teacher set for the whole lesson: all of it, as it holds from then on.

    ``name`` is one of ``log.SETTINGS``; ``values`` are the fields of the record of that name, spelt plainly.
    """

    number: int
    at_utc: str
    name: str
    values: tuple[tuple[str, Plain], ...]


Step = Decision | Setting
"""What undo takes back and redo brings back."""


@dataclass(frozen=True)
class Undo:
    """Takes back the latest step that stands."""

    number: int
    at_utc: str


@dataclass(frozen=True)
class Redo:
    """Brings back the step that was taken back last; a new step in between ends that."""

    number: int
    at_utc: str


Entry = Step | Undo | Redo


@dataclass(frozen=True)
class Settled:
    """A finding and the choice that holds: the teacher's, or the suggested one where ``decision`` is None."""

    finding: Finding
    choice: str
    decision: Decision | None


@dataclass(frozen=True)
class Applied:
    """A decision found again in this analysis. Only the fields that the subject has are set."""

    decision: Decision
    finding: Finding | None = None
    line_id: str | None = None
    pass_id: str | None = None
    section: int | None = None
    reading_id: str | None = None
    """The reading that an edge or a caption belongs to, or that a slot or a finding is to keep."""
    aside: Span | None = None


@dataclass(frozen=True)
class Stale:
    """A decision whose subject this analysis does not have; shown, never applied."""

    decision: Decision
    why: str


@dataclass(frozen=True)
class Resolved:
    """The standing decisions against one analysis; ``settled`` has every finding, in order."""

    settled: tuple[Settled, ...]
    applied: tuple[Applied, ...]
    stale: tuple[Stale, ...]

    @property
    def open(self) -> tuple[Finding, ...]:
        """The findings nobody has decided yet."""
        return tuple(item.finding for item in self.settled if item.decision is None)


# -- what follows from findings and decisions -------------------------------------------------------

BUILT_PASS = "built"
"""Id of the repeat pass that is made from the model reading where the take has none."""

SlotSource = Literal["take", "borrowed", "picked_up", "built"]


@dataclass(frozen=True)
class Slot:
    """One line in one pass: the readings that play there, in order; none when it is left out.

    ``pass_id`` is None outside the passage. ``source`` is where the readings come from: the pass itself, another
    pass, a pick-up, or the model reading for a pass that is built.
    """

    line_id: str
    pass_id: str | None
    reading_ids: tuple[str, ...]
    source: SlotSource = "take"


@dataclass(frozen=True)
class KeptAside:
    """Speech outside the script that stays; ``words`` as heard."""

    span: Span
    words: tuple[str, ...]


@dataclass(frozen=True)
class MovedEdges:
    """Where the take is cut around a reading, by the teacher's hand."""

    reading_id: str
    cut: Span


@dataclass(frozen=True)
class LineGap:
    line_id: str
    gap_ms: int


@dataclass(frozen=True)
class Wording:
    """How a reading is captioned where it is not the script's text: the teacher's ``text``, else its ``changes``."""

    reading_id: str
    text: str | None = None
    changes: tuple[Change, ...] = ()


@dataclass(frozen=True)
class ChapterChange:
    """A chapter of the script's (``section``) or one added before a line (``line_id``), in a pass or outside.

    ``title`` None leaves the title that the script gives.
    """

    section: int | None
    line_id: str | None
    pass_id: str | None
    title: str | None
    hidden: bool = False


@dataclass(frozen=True)
class Effects:
    """All that findings and decisions change about the lesson. Take time throughout."""

    slots: tuple[Slot, ...]
    """In script order, and for each line in the order of the passes."""
    asides: tuple[KeptAside, ...] = ()
    cut_outs: tuple[Span, ...] = ()
    """Broken-off starts and talk inside readings that play: cut out, picture and sound."""
    covers: tuple[Span, ...] = ()
    """Coughs and knocks whose sound is covered with room tone; the picture stays."""
    edges: tuple[MovedEdges, ...] = ()
    gaps: tuple[LineGap, ...] = ()
    wordings: tuple[Wording, ...] = ()
    chapters: tuple[ChapterChange, ...] = ()
