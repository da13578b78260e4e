"""Draws a lesson: which script, which voice, what goes wrong where. Everything follows from family and seed.

Two readings of what is right, where it could be argued:

- A pick-up (passage lines read again after the ending) patches the one pass that lacks the line, or has it misread, and
  else belongs to the pass that was read last; it is kept and supersedes what was kept there, which becomes a repeated
  line. A line dropped there and picked up is not dropped.
- A passage restarted part-way is one pass; the first run's complete readings are repeated lines.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from tests.evaluation import real
from tests.evaluation.breathing import with_breaths
from tests.evaluation.casts import REAL_VOICES, TALK_BESIDE_REAL, VOICES, Voice
from tests.evaluation.mishaps import HARD, Slot, mishaps, pickups
from tests.evaluation.plan import Item, Noise, PassKind, Plan, Rest, Role, Said, ScriptLine
from tests.evaluation.room import draw_room
from tests.evaluation.script_text import markdown
from tests.evaluation.sounds import STRAY_KINDS
from tests.evaluation.texts import Block, Family, Texts, texts

_REAL_SHARE = 0.08
_STREAMS: dict[Family, int] = {
    "dev": 0,
    "held": 1,
    "fresh": 2,
    "fresh2": 3,
    "fresh3": 4,
    "fresh4": 6,
    "fresh5": 7,
    "fresh6": 8,
    "fresh7": 9,
    "fresh8": 10,
    "fresh9": 11,
    "fresh10": 12,
    "fresh11": 13,
    "fresh12": 14,
    "fresh13": 15,
    "fresh14": 16,
    "fresh15": 17,
    "fresh16": 18,
    "fresh17": 19,
    "fresh18": 20,
    "fresh19": 21,
    "fresh20": 22,
    "fresh21": 23,
    "fresh22": 24,
    "fresh23": 25,
    "fresh24": 26,
    "fresh25": 27,
    "fresh26": 28,
    "fresh27": 29,
    "fresh28": 30,
    "fresh29": 31,
    "fresh30": 32,
    "fresh31": 33,
    "fresh32": 34,
    "fresh33": 35,
}
"""One row of random numbers for each family."""
_FIRST_BREATHING = 13
"""The lessons of the families before are published as they were, without a breath."""
_PAUSE_STYLES = ("even", "wild", "brisk")
_SEEDS = 4
_RATE_STEP = 0.04


def _stepped(rate: float) -> float:
    """Rates and seeds come in steps, so that lessons share what is slow to synthesise."""
    return round(round(rate / _RATE_STEP) * _RATE_STEP, 2)


@dataclass(frozen=True)
class _Style:
    """One teacher on one day."""

    voice: Voice
    talker: Voice
    learner: Voice
    rate: float
    repeat_rate: float
    line_rest_s: float
    pause_style: str
    pass_gains_db: tuple[float, ...]
    learner_share: float


class _Lesson:
    """Collects the items of one lesson while it is drawn."""

    def __init__(self, rng: np.random.Generator, words: Texts, style: _Style, lines: tuple[ScriptLine, ...]) -> None:
        self.rng = rng
        self.words = words
        self.style = style
        self.lines = lines
        self.items: list[Item] = []
        self.pickups: list[Slot] = []

    def chance(self, share: float) -> bool:
        return bool(self.rng.random() < share)

    def pick(self, options: tuple[str, ...]) -> str:
        return options[int(self.rng.integers(len(options)))]

    def rest(self, low_s: float, high_s: float) -> None:
        self.items.append(Rest(float(self.rng.uniform(low_s, high_s))))

    def seed(self) -> int:
        return int(self.rng.integers(1_000_000))

    def read(self, line: int, at_pass: int | None = None, only_words: int | None = None, misread: bool = False) -> None:
        style = self.style
        said = self.lines[line].line
        repeat = at_pass is not None and style.repeat_rate != style.rate
        rate = (style.repeat_rate if repeat else style.rate) * float(self.rng.uniform(0.96, 1.04))
        gain = style.pass_gains_db[at_pass] if at_pass is not None else 0.0
        text = said.changed if misread and said.changed else said.spoken
        self.items.append(
            Said(
                "reading",
                text,
                style.voice,
                _stepped(rate),
                self.seed() % _SEEDS,
                gain + float(self.rng.uniform(-1.5, 1.5)),
                line,
                at_pass,
                only_words,
                (misread and said.changed is not None) or said.altered,
            )
        )

    def talk(self, kind: str) -> None:
        role: Role = "whisper" if kind == "whisper" else "talk"
        gain = float(self.rng.uniform(-3, 1)) - (9.0 if role == "whisper" else 0.0)
        self.items.append(
            Said(
                role,
                self.pick(self.words.says(kind)),
                self.style.talker,
                _stepped(self.style.rate),
                self.seed() % _SEEDS,
                gain,
            )
        )

    def noise(self, kind: str | None = None, held: bool = False) -> None:
        self.items.append(Noise(kind or self.pick(STRAY_KINDS), self.seed(), held))

    def false_start(self, line: int, at_pass: int | None, one_word: bool = False) -> None:
        total = len(self.lines[line].line.spoken.split())
        longest = max(1, min(total - 1, round(total * 0.7)))
        self.read(line, at_pass, 1 if one_word else int(self.rng.integers(1, longest + 1)))
        self.rest(0.15, 0.8)

    def stumble(self, mishap: str, line: int, at_pass: int | None) -> None:
        """The mishap and the reading that stands in the end."""
        starts = {"false_start": 1, "two_false_starts": 2, "one_word_start": 1, "start_and_retake": 1}.get(mishap, 0)
        for _ in range(starts):
            self.false_start(line, at_pass, mishap == "one_word_start")
            if mishap == "two_false_starts" and self.chance(0.3):
                self.talk("again")
                self.rest(0.2, 0.6)
        before = {"retake": 1, "two_retakes": 2, "double_again": 2, "start_and_retake": 1, "misread_retake": 1}
        for _ in range(before.get(mishap, 0)):
            self.read(line, at_pass, misread=mishap == "misread_retake")
            self.rest(0.3, 1.5)
            if mishap == "double_again" or self.chance(0.3):
                self.talk("again")
                self.rest(0.2, 0.9)
        if mishap != "drop":
            self.read(line, at_pass, misread=mishap == "misread")

    def after(self, mishap: str) -> None:
        """What happens in the pause after a line."""
        if mishap == "dead_air":
            self.rest(26, 34)
        elif mishap in {"talk", "whisper"}:
            self.rest(0.3, 1.0)
            self.talk(mishap)
            self.rest(0.3, 1.0)
        elif mishap in {"stray", *STRAY_KINDS}:
            self.rest(0.15, 0.8)
            self.noise(None if mishap == "stray" else mishap)
            self.rest(0.15, 0.6)


def draw(family: Family, seed: int) -> Plan:
    """The lesson of that family and seed."""
    rng = np.random.default_rng([seed, _STREAMS[family]])
    words = texts(family)
    clean = bool(rng.random() < 0.2)
    size = str(rng.choice(["tiny", "normal", "long", "huge"], p=[0.12, 0.63, 0.2, 0.05]))
    read_aloud = bool(rng.random() < _REAL_SHARE) and family in REAL_VOICES
    if read_aloud:
        altered = int(rng.integers(5)) if not clean and rng.random() < 0.5 else None
        sections = [real.passage(family, altered)]
    else:
        sections = _sections(rng, words, size)
    lines = tuple(
        ScriptLine(f"L{at + 1:03d}", block.title, block.kind == "passage", line)
        for at, (block, line) in enumerate((block, line) for block in sections for line in block.lines)
    )
    passes = _passes(rng, size)
    style = _style(rng, family, passes, read_aloud)
    lesson = _Lesson(rng, words, style, lines)
    _perform(lesson, sections, passes, clean, _amount(rng, size))
    items: tuple[Item, ...] = tuple(lesson.items)
    if _STREAMS[family] >= _FIRST_BREATHING:
        items = with_breaths(items, np.random.default_rng([seed, _STREAMS[family], 1]))
    title = next(block.title for block in sections if block.kind == "passage")
    return Plan(
        f"{family}-{seed:04d}",
        family,
        seed,
        title,
        lines,
        passes,
        items,
        draw_room(rng, clean),
        clean,
        markdown(title, lines, rng),
    )


def _amount(rng: np.random.Generator, size: str) -> int:
    low, high = {"tiny": (1, 4), "normal": (2, 10), "long": (4, 16), "huge": (8, 24)}[size]
    return int(rng.integers(low, high + 1))


def _sections(rng: np.random.Generator, words: Texts, size: str) -> list[Block]:
    def any_of(kind: str) -> Block:
        blocks = words.of(kind)
        return blocks[int(rng.integers(len(blocks)))]

    passage = any_of("passage")
    lines = passage.lines
    if size == "tiny":
        lines = lines[: max(6, len(lines) // 2)]
    elif size in {"long", "huge"}:
        other = any_of("passage")
        lines = lines if other == passage else (*lines, *other.lines)[: 20 if size == "long" else 28]
    text = Block("passage", passage.title, lines)
    pair = any_of("pair")
    named = Block("pair", f"The sounds {pair.title.replace('|', 'and')}", pair.lines)
    opening = Block("opening", "Welcome", any_of("opening").lines)
    ending = Block("ending", "Goodbye", any_of("ending").lines)
    if size == "tiny":
        return [Block("opening", "Welcome", opening.lines[:1]), text] if rng.random() < 0.5 else [text, ending]
    if rng.random() < 0.12:
        return [opening, text, named, ending]
    return [opening, named, text, ending]


def _passes(rng: np.random.Generator, size: str) -> tuple[PassKind, ...]:
    drawn = rng.random()
    if drawn < 0.12:
        return ("model",)
    if drawn < 0.27:
        return ("repeat", "model")
    if drawn < 0.4 or size == "huge":
        return ("model", "repeat", "repeat")
    return ("model", "repeat")


def _style(rng: np.random.Generator, family: Family, passes: tuple[PassKind, ...], read_aloud: bool) -> _Style:
    voices = VOICES[family]
    shares = np.array([voice.weight for voice in voices]) / sum(voice.weight for voice in voices)
    teacher, learner = (voices[int(at)] for at in rng.choice(len(voices), 2, replace=False, p=shares))
    rate = float(rng.uniform(0.86, 1.12))
    uneven = rng.random() < 0.3
    gains = tuple(float(rng.uniform(-6, 3)) if uneven else 0.0 for _ in passes)
    pauses = str(rng.choice(_PAUSE_STYLES, p=[0.4, 0.4, 0.2]))
    style = _Style(
        teacher,
        teacher,
        learner,
        rate,
        rate * float(rng.uniform(0.85, 1.0)),
        float(rng.uniform(0.3, 0.8)),
        pauses,
        gains,
        float(rng.uniform(0.5, 1.0)) if rng.random() < 0.15 else 0.0,
    )
    if read_aloud:
        return replace(style, voice=REAL_VOICES[family], talker=TALK_BESIDE_REAL[family], rate=1.0, repeat_rate=0.97)
    return style


def _perform(lesson: _Lesson, sections: list[Block], passes: tuple[PassKind, ...], clean: bool, amount: int) -> None:
    lesson.rest(0.4, 3.0)
    line = 0
    for block in sections:
        if block.kind == "passage":
            passage = range(line, line + len(block.lines))
            _perform_passage(lesson, passage, passes, clean, amount)
        else:
            _perform_section(lesson, range(line, line + len(block.lines)), 0.0 if clean else 0.06)
        line += len(block.lines)
        lesson.rest(0.8, 2.5)
        if not clean and lesson.chance(0.12):
            lesson.talk("talk")
            lesson.rest(0.6, 1.5)
    if lesson.pickups and lesson.chance(0.6):
        lesson.talk("pickup")
        lesson.rest(0.5, 2.0)
    for at_pass, picked in lesson.pickups:
        lesson.read(picked, at_pass)
        lesson.rest(0.8, 3.0)
    if lesson.chance(0.3):
        lesson.rest(1.0, 9.0)


def _perform_section(lesson: _Lesson, lines: range, share: float) -> None:
    for line in lines:
        mishap = ""
        if lesson.chance(share):
            mishap = lesson.pick(("retake", "false_start", "two_retakes", "drop", "talk", "stray"))
        several = len(lesson.lines[line].line.spoken.split()) > 2
        lesson.stumble("" if mishap == "false_start" and not several else mishap, line, None)
        hold = lesson.lines[line].line.hold
        if hold is not None and mishap != "drop" and lesson.chance(0.7):
            lesson.rest(0.3, 0.9)
            lesson.noise(hold, held=True)
        lesson.rest(lesson.style.line_rest_s, lesson.style.line_rest_s + 0.5)
        lesson.after(mishap)


def _perform_passage(lesson: _Lesson, passage: range, passes: tuple[PassKind, ...], clean: bool, amount: int) -> None:
    features: tuple[str, ...] = ()
    if not clean:
        drawn = lesson.rng.choice(HARD, int(lesson.rng.integers(1, 4)), replace=False)
        features = tuple(str(feature) for feature in drawn)
    slots = {} if clean else mishaps(lesson.rng, lesson.lines, passage, len(passes), amount, features)
    restart = int(lesson.rng.integers(len(passes))) if "restart" in features else None
    learner_share = max(lesson.style.learner_share, 0.7 if "learner" in features else 0.0)
    for at_pass, kind in enumerate(passes):
        if at_pass:
            lesson.rest(1.0, 4.0)
            if not clean and lesson.chance(0.2):
                lesson.talk("talk")
                lesson.rest(0.6, 1.5)
        if at_pass == restart:
            for line in passage[: max(2, round(0.4 * len(passage)))]:
                _perform_line(lesson, line, at_pass, kind, "", learner_share)
            if lesson.chance(0.7):
                lesson.talk("talk")
            lesson.rest(0.6, 2.0)
        for line in passage:
            _perform_line(lesson, line, at_pass, kind, slots.get((at_pass, line), ""), learner_share)
    if "pickup" in features:
        lesson.pickups = pickups(lesson.rng, lesson.lines, passage, len(passes) - 1, slots)


def _perform_line(lesson: _Lesson, line: int, at_pass: int, kind: PassKind, mishap: str, learner_share: float) -> None:
    lesson.stumble(mishap, line, at_pass)
    if mishap == "drop":
        return
    style = lesson.style
    if kind == "model":
        lesson.rest(style.line_rest_s, style.line_rest_s + 0.5)
    elif lesson.chance(learner_share):
        text = lesson.lines[line].line.spoken
        lesson.rest(0.4, 1.0)
        lesson.items.append(
            Said("learner", text, style.learner, 0.9, lesson.seed() % 40, float(lesson.rng.uniform(-14, -8)), line)
        )
        lesson.rest(0.4, 1.5)
    else:
        length_s = 0.3 * len(lesson.lines[line].line.spoken.split())
        lesson.rest(
            *{"even": (1.1 * length_s + 0.8, 1.1 * length_s + 1.6), "wild": (0.05, 8.0), "brisk": (0.8, 2.5)}[
                style.pause_style
            ]
        )
    lesson.after(mishap)
