"""What a teacher of pronunciation measures. Words are indices into the line's tokens; characters are of the line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from lessoncut.matching.records import PassKind
from lessoncut.script.records import Line
from lessoncut.times import Span

Position = Literal["initial", "medial", "final"]
PauseKind = Literal["brief", "medium", "long"]
LinkKind = Literal["consonant_to_vowel", "held", "glide_y", "glide_w"]
Tone = Literal["fall", "rise", "level"]


@dataclass(frozen=True)
class Syllable:
    """Characters ``[start, end)`` of the line; ``stress`` is CMUdict's: 0 none, 1 primary, 2 secondary."""

    start: int
    end: int
    stress: int


@dataclass(frozen=True)
class RuleWord:
    """What the rule says of one word, before anybody has read it.

    ``spoken`` are the words said for it. ``tag`` is its part of speech. ``weak`` is the weak form in IPA where the
    rule expects one, else None. ``sounds`` are the ARPAbet phones of the pronunciation that fits here. ``why`` is for
    the teacher.
    """

    text: str
    start: int
    end: int
    spoken: tuple[str, ...]
    tag: str
    stressed: bool
    nucleus: bool
    weak: str | None
    sounds: tuple[str, ...]
    syllables: tuple[Syllable, ...]
    why: str


@dataclass(frozen=True)
class RuleLine:
    """The rule's reading of one line. ``groups`` are half-open ranges of words: its thought groups."""

    line_id: str
    words: tuple[RuleWord, ...]
    groups: tuple[tuple[int, int], ...]


@dataclass(frozen=True)
class ReadPhone:
    """One phone as spoken, ARPAbet without stress. ``word`` is the word of the line it belongs to."""

    label: str
    span: Span
    word: int


@dataclass(frozen=True)
class Prominence:
    """How a word was read, against the other words of its reading.

    ``loudness`` and ``duration`` are in standard deviations of the line's vowels; ``movement_st`` is the largest
    pitch movement on its stressed vowel, in semitones. ``score`` weighs the three; ``strong`` is the verdict.
    """

    word: int
    loudness: float
    duration: float
    movement_st: float | None
    score: float
    strong: bool


@dataclass(frozen=True)
class Remark:
    """Something worth a look: a sentence for the teacher, and the measurements behind it."""

    line_id: str
    pass_id: str | None
    word: int | None
    says: str
    evidence: tuple[str, ...]


@dataclass(frozen=True)
class SoundPlace:
    """A target sound in a word of the passage; without ``by_dictionary`` it was guessed from the letters."""

    sound: str
    line_id: str
    word: int
    text: str
    start: int
    end: int
    position: Position
    by_dictionary: bool


@dataclass(frozen=True)
class MinimalPair:
    """Two words that differ in one sound only; ``commonness`` is log10 of the rarer word's share of speech."""

    first: str
    second: str
    position: Position
    commonness: float


@dataclass(frozen=True)
class Pause:
    """Silence inside a reading, before word ``before_word``."""

    span: Span
    before_word: int
    kind: PauseKind


@dataclass(frozen=True)
class Link:
    """Two words said as one: ``word`` and the next."""

    word: int
    kind: LinkKind


@dataclass(frozen=True)
class Contour:
    """Pitch every ``hop_ms`` from ``start_ms`` of the take, in semitones over the speaker's median; None: no voice."""

    start_ms: int
    hop_ms: int
    semitones: tuple[float | None, ...]


@dataclass(frozen=True)
class ReadingStudy:
    """One kept reading, measured. ``rate`` is syllables a second without pauses, ``rate_with_pauses`` with them.

    ``groups`` are the thought groups as read. ``weak`` are the words read in a weak form.
    """

    reading_id: str
    line_id: str
    pass_id: str | None
    pass_kind: PassKind | None
    span: Span
    word_spans: tuple[Span | None, ...]
    syllables: int
    rate: float
    rate_with_pauses: float
    pauses: tuple[Pause, ...]
    groups: tuple[tuple[int, int], ...]
    links: tuple[Link, ...]
    weak: tuple[int, ...]
    prominence: tuple[Prominence, ...]
    phones: tuple[ReadPhone, ...]
    contour: Contour | None
    tone: Tone | None
    """The melody from the last strong word on; None where there is too little voice."""


@dataclass(frozen=True)
class Comparison:
    """A line's repeat beside its model: ``slower`` is how many times as long a syllable takes (1.2: a fifth longer)."""

    line_id: str
    pass_id: str
    slower: float
    other_stress: tuple[int, ...]
    other_melody: bool


@dataclass(frozen=True)
class PassPace:
    """A whole pass: syllables a second of speech, and its pauses by kind."""

    pass_id: str
    kind: PassKind
    syllables: int
    rate: float
    rate_with_pauses: float
    brief: int
    medium: int
    long: int


@dataclass(frozen=True)
class Coverage:
    """How often a sound stands where; ``lines_without`` are the passage's lines that lack it."""

    sound: str
    initial: int
    medial: int
    final: int
    by_line: tuple[tuple[str, int], ...]
    lines_without: tuple[str, ...]

    @property
    def total(self) -> int:
        return self.initial + self.medial + self.final


@dataclass(frozen=True)
class Targets:
    """The lesson's sounds: where they stand, whether the passage drills them, and pairs that differ in them only."""

    sounds: tuple[str, ...]
    contrasts: tuple[tuple[str, str], ...]
    places: tuple[SoundPlace, ...]
    coverage: tuple[Coverage, ...]
    pairs: tuple[MinimalPair, ...]


@dataclass(frozen=True)
class Study:
    """Everything measured. ``lines`` are the script's.

    ``unruled`` and ``guessed`` are sentences for the teacher, each about what could not be done and why, or None: the
    rules of a language whose words cannot be looked up, and the times of single sounds that nobody aligned.
    """

    language: str
    lines: tuple[Line, ...]
    rules: tuple[RuleLine, ...]
    readings: tuple[ReadingStudy, ...]
    passes: tuple[PassPace, ...]
    comparisons: tuple[Comparison, ...]
    targets: Targets
    remarks: tuple[Remark, ...]
    median_hz: float | None
    unruled: str | None
    guessed: str | None

    @property
    def left_out(self) -> tuple[str, ...]:
        return tuple(says for says in (self.unruled, self.guessed) if says)

    @property
    def passage(self) -> tuple[Line, ...]:
        return tuple(line for line in self.lines if line.in_passage)

    def line(self, line_id: str | None) -> Line | None:
        return next((line for line in self.lines if line.id == line_id), None)

    def rule(self, line_id: str) -> RuleLine | None:
        return next((rule for rule in self.rules if rule.line_id == line_id), None)

    def reading(self, line_id: str, kind: PassKind | None = "model") -> ReadingStudy | None:
        """The line's reading in that kind of pass, or else its first one."""
        own = [reading for reading in self.readings if reading.line_id == line_id]
        return next((reading for reading in own if reading.pass_kind == kind), own[0] if own else None)
