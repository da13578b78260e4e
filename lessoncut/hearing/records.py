"""What is heard in the take: where somebody speaks, which words, and how a line's own words lie on the sound."""

from __future__ import annotations

from dataclasses import dataclass

from lessoncut.times import Span


@dataclass(frozen=True)
class HeardWord:
    """A word as the recogniser spelt it. Its times find the neighbourhood; they are never an edge.

    ``probability`` is the recogniser's own, 0 to 1. ``voiced`` is the share of the word's span with speech
    behind it, 0 to 1; text invented in a pause has little.
    """

    text: str
    span: Span
    probability: float
    voiced: float = 1.0


@dataclass(frozen=True)
class Sound:
    """Energy well over the room tone that is not speech: a cough, a knock, a page.

    ``held`` marks a steady sound held for demonstration ("vvvv"), which is meant to be there; ``laughter``, one that
    sounds like it.
    """

    span: Span
    peak_db: float
    held: bool = False
    laughter: bool = False

    @property
    def may_be_speech(self) -> bool:
        """Whether it is neither, and words may stand in it after all."""
        return not (self.held or self.laughter)


@dataclass(frozen=True)
class Hearing:
    """Everything heard in one take. All tuples are in time order; words do not overlap."""

    duration_ms: int
    language: str
    engine: str
    """Which recogniser with which settings, for people and for the cache."""
    speech: tuple[Span, ...]
    words: tuple[HeardWord, ...]
    sounds: tuple[Sound, ...]
    floor_db: float
    """Room tone, dBFS (RMS)."""
    speech_db: float
    """Middle level of speech, dBFS (RMS)."""
    breaks: tuple[Span, ...] = ()
    """Moments of room tone inside a span of speech, too short for a pause: a closure, or where a reading broke off."""
    breaths: tuple[Span, ...] = ()
    """The speaker's, each before what she says next."""
    laughs: tuple[Sound, ...] = ()
    """What sounds as laughter does, though it is among the speech, and words were heard in it: whoever knows the script
    tells whether it may be "No, no, no, no"."""


@dataclass(frozen=True)
class AlignmentRequest:
    """Ask for ``words`` to be laid on the sound inside ``window``.

    ``before`` and ``after`` are words of neighbours that may also be heard inside the window; they are optional.
    """

    line_id: str
    words: tuple[str, ...]
    window: Span
    before: tuple[str, ...] = ()
    after: tuple[str, ...] = ()


@dataclass(frozen=True)
class Wordings:
    """Ask how likely each of ``texts``, written as one writes, is to be all that is said inside ``window``."""

    window: Span
    texts: tuple[str, ...]


@dataclass(frozen=True)
class Likelihoods:
    """The answer: the natural logarithm of how likely the recogniser finds each text; none where nobody can tell."""

    request: Wordings
    logs: tuple[float, ...]


@dataclass(frozen=True)
class AlignedWord:
    """One script word laid on the sound. ``score`` is the mean acoustic log score a frame (higher is better)."""

    text: str
    span: Span
    score: float


@dataclass(frozen=True)
class AlignedPhone:
    """One sound of one word, an ARPAbet phone without stress. ``word`` is an index into the request's words."""

    phone: str
    span: Span
    word: int


@dataclass(frozen=True)
class Alignment:
    """The answer to one request. ``words`` is empty when no path was found: the line was not spoken there."""

    request: AlignmentRequest
    words: tuple[AlignedWord, ...]
    worst_silence_score: float | None = None
    """Worst mean score of a silence between the words: low when other speech hides there."""

    @property
    def mean_score(self) -> float:
        """The score a frame over all the words; minus infinity when no path was found."""
        length_ms = sum(word.span.length_ms for word in self.words)
        if not length_ms:
            return float("-inf")
        return sum(word.score * word.span.length_ms for word in self.words) / length_ms

    @property
    def worst_score(self) -> float:
        """The least believable word; minus infinity when no path was found."""
        return min((word.score for word in self.words), default=float("-inf"))
