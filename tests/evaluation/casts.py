"""Who reads the lessons of each family, and how often."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Voice:
    """``shift`` plays the engine's sound faster or slower, which makes another speaker of it.

    ``weight`` is how often it is drawn: the less natural, the less often.
    """

    name: str
    engine: str
    setting: str = ""
    shift: float = 1.0
    weight: float = 1.0


DEV_VOICES = (
    Voice("joe", "piper", weight=1.5),
    Voice("joe-light", "piper", shift=1.15),
    Voice("kumo", "kokoro", "jm_kumo", weight=2.0),
    Voice("nezumi", "kokoro", "jf_nezumi", weight=2.0),
    Voice("rms", "flite", "rms"),
    Voice("slt", "flite", "slt"),
    Voice("slt-hts", "festival", "cmu_us_slt_arctic_hts"),
    Voice("kal", "festival", "kal_diphone", weight=0.5),
    Voice("english-rp", "espeak", "en-gb-x-rp", weight=0.6),
    Voice("american", "espeak", "en-us+klatt2", weight=0.6),
)
HELD_VOICES = (
    Voice("joe-deep", "piper", shift=0.9, weight=1.5),
    Voice("joe-high", "piper", shift=1.3),
    Voice("gongitsune", "kokoro", "jf_gongitsune", weight=2.0),
    Voice("tebukuro-alpha", "kokoro", "jf_tebukuro+jf_alpha", weight=2.0),
    Voice("awb", "flite", "awb"),
    Voice("ked", "festival", "ked_diphone", weight=0.6),
    Voice("slt-young", "flite", "slt", shift=1.12),
    Voice("american-woman", "espeak", "en-us+female5", weight=0.6),
    Voice("american-man", "espeak", "en-us+Michael", weight=0.6),
)
_BOTH = (*DEV_VOICES, *HELD_VOICES)


def _known(names: str) -> tuple[Voice, ...]:
    """Some of the voices of ``dev`` and ``held``."""
    return tuple(voice for voice in _BOTH if voice.name in names.split())


_ONE_MIXTURE = _known(
    "joe kumo nezumi rms slt-hts english-rp joe-deep gongitsune tebukuro-alpha awb ked slt-young american-woman"
)
_ANOTHER_MIXTURE = _known(
    "joe-light kumo nezumi rms slt slt-hts kal american joe-deep joe-high gongitsune tebukuro-alpha american-man"
)
VOICES = {
    "dev": DEV_VOICES,
    "held": HELD_VOICES,
    "fresh": _BOTH,
    "fresh2": _BOTH,
    "fresh3": _BOTH,
    "fresh4": _BOTH,
    "fresh5": _BOTH,
    "fresh6": _ONE_MIXTURE,
    "fresh7": _ANOTHER_MIXTURE,
    "fresh8": _ANOTHER_MIXTURE,
    "fresh9": _ONE_MIXTURE,
    "fresh10": _known(
        "joe kumo nezumi slt kal english-rp american joe-high gongitsune tebukuro-alpha awb ked american-woman"
    ),
    "fresh11": _known(
        "joe-light kumo nezumi rms slt-hts joe-deep joe-high gongitsune tebukuro-alpha awb slt-young american-man"
    ),
    "fresh12": (
        *_known("joe joe-light slt slt-hts awb american-woman"),
        Voice("joe-low", "piper", shift=0.85),
        Voice("kumo-gongitsune", "kokoro", "jm_kumo+jf_gongitsune", weight=2.0),
        Voice("nezumi-alpha", "kokoro", "jf_nezumi+jf_alpha", weight=2.0),
        Voice("tebukuro", "kokoro", "jf_tebukuro", weight=2.0),
        Voice("rms-young", "flite", "rms", shift=1.1),
    ),
    "fresh13": (
        *_known("nezumi rms slt-hts joe-deep ked"),
        Voice("joe-young", "piper", shift=1.22),
        Voice("alpha", "kokoro", "jf_alpha", weight=2.0),
        Voice("kumo-tebukuro", "kokoro", "jm_kumo+jm_kumo+jf_tebukuro", weight=2.0),
        Voice("gongitsune-nezumi", "kokoro", "jf_gongitsune+jf_nezumi", shift=0.94, weight=2.0),
        Voice("awb-deep", "flite", "awb", shift=0.92),
        Voice("scottish", "espeak", "en-gb-scotland+steph", weight=0.6),
    ),
    "fresh14": (
        *_known("slt-hts kal joe-high gongitsune awb"),
        Voice("joe-soft", "piper", shift=1.07),
        Voice("alpha-kumo", "kokoro", "jf_alpha+jf_alpha+jm_kumo", weight=2.0),
        Voice("tebukuro-nezumi", "kokoro", "jf_tebukuro+jf_nezumi", shift=1.06, weight=2.0),
        Voice("kumo-nezumi", "kokoro", "jm_kumo+jf_nezumi", shift=0.95, weight=2.0),
        Voice("slt-deep", "flite", "slt", shift=0.91),
        Voice("lancaster", "espeak", "en-gb-x-gbclan+Andrea", weight=0.6),
    ),
    "fresh15": (
        *_known("joe-light slt-hts tebukuro-alpha ked slt-young"),
        Voice("joe-mellow", "piper", shift=0.95),
        Voice("nezumi-tebukuro", "kokoro", "jf_nezumi+jf_nezumi+jf_tebukuro", shift=0.97, weight=2.0),
        Voice("alpha-gongitsune", "kokoro", "jf_alpha+jf_gongitsune", shift=1.04, weight=2.0),
        Voice("kumo-alpha", "kokoro", "jm_kumo+jm_kumo+jf_alpha", shift=0.93, weight=2.0),
        Voice("rms-light", "flite", "rms", shift=1.17),
        Voice("midlands", "espeak", "en-gb-x-gbcwmd+Gene2", weight=0.6),
    ),
    "fresh16": (
        *_known("joe rms kal tebukuro-alpha awb"),
        Voice("joe-bright", "piper", shift=1.18),
        Voice("gongitsune-tebukuro", "kokoro", "jf_gongitsune+jf_gongitsune+jf_tebukuro", shift=1.05, weight=2.0),
        Voice("alpha-nezumi", "kokoro", "jf_alpha+jf_alpha+jf_nezumi", shift=0.96, weight=2.0),
        Voice("kumo-deep", "kokoro", "jm_kumo", shift=0.9, weight=2.0),
        Voice("slt-hts-light", "festival", "cmu_us_slt_arctic_hts", shift=1.06),
        Voice("caribbean", "espeak", "en-029+f3", weight=0.6),
    ),
    "fresh17": (
        *_known("kumo slt slt-hts joe-high ked"),
        Voice("joe-clear", "piper", shift=1.12),
        Voice("tebukuro-gongitsune", "kokoro", "jf_tebukuro+jf_tebukuro+jf_gongitsune", shift=1.02, weight=2.0),
        Voice("nezumi-alpha", "kokoro", "jf_nezumi+jf_nezumi+jf_alpha", shift=1.08, weight=2.0),
        Voice("kumo-gongitsune", "kokoro", "jm_kumo+jf_gongitsune", shift=0.97, weight=2.0),
        Voice("awb-light", "flite", "awb", shift=1.1),
        Voice("received", "espeak", "en-gb-x-rp+Alicia", weight=0.6),
    ),
    "fresh18": (
        *_known("kal joe-deep gongitsune awb slt-young"),
        Voice("joe-full", "piper", shift=0.92),
        Voice("alpha-tebukuro", "kokoro", "jf_alpha+jf_tebukuro", weight=2.0),
        Voice("gongitsune-kumo", "kokoro", "jf_gongitsune+jf_gongitsune+jm_kumo", shift=0.98, weight=2.0),
        Voice("nezumi-light", "kokoro", "jf_nezumi", shift=1.1, weight=2.0),
        Voice("rms-deep", "flite", "rms", shift=0.93),
        Voice("american-neighbour", "espeak", "en-us+Annie", weight=0.6),
    ),
    "fresh19": (
        *_known("joe nezumi rms slt-hts ked"),
        Voice("joe-warm", "piper", shift=1.04),
        Voice("alpha-deep", "kokoro", "jf_alpha", shift=0.94, weight=2.0),
        Voice("tebukuro-kumo", "kokoro", "jf_tebukuro+jm_kumo", shift=1.03, weight=2.0),
        Voice("three", "kokoro", "jf_gongitsune+jf_nezumi+jf_alpha", weight=2.0),
        Voice("slt-light", "flite", "slt", shift=1.07),
        Voice("english-neighbour", "espeak", "en-gb-x-rp+linda", weight=0.6),
    ),
    "fresh20": (
        *_known("joe-light slt slt-hts kal tebukuro-alpha"),
        Voice("joe-lively", "piper", shift=1.26),
        Voice("tebukuro-alpha-alpha", "kokoro", "jf_tebukuro+jf_alpha+jf_alpha", shift=1.05, weight=2.0),
        Voice("kumo-nezumi-low", "kokoro", "jm_kumo+jm_kumo+jf_nezumi", shift=0.96, weight=2.0),
        Voice("another-three", "kokoro", "jf_nezumi+jf_gongitsune+jf_tebukuro", shift=0.98, weight=2.0),
        Voice("awb-clear", "flite", "awb", shift=1.05),
        Voice("american-colleague", "espeak", "en-us+max", weight=0.6),
    ),
    "fresh21": (
        *_known("nezumi rms joe-high gongitsune awb"),
        Voice("joe-calm", "piper", shift=0.97),
        Voice("alpha-nezumi-tebukuro", "kokoro", "jf_alpha+jf_nezumi+jf_tebukuro", shift=1.03, weight=2.0),
        Voice("kumo-light", "kokoro", "jm_kumo", shift=1.07, weight=2.0),
        Voice("gongitsune-alpha", "kokoro", "jf_gongitsune+jf_gongitsune+jf_alpha", shift=0.95, weight=2.0),
        Voice("slt-hts-deep", "festival", "cmu_us_slt_arctic_hts", shift=0.94),
        Voice("english-colleague", "espeak", "en-gb-x-rp+f4", weight=0.6),
    ),
    "fresh22": (
        *_known("joe kumo slt ked slt-young"),
        Voice("joe-dark", "piper", shift=0.88),
        Voice("gongitsune-nezumi", "kokoro", "jf_gongitsune+jf_nezumi", shift=1.06, weight=2.0),
        Voice("alpha-tebukuro-deep", "kokoro", "jf_alpha+jf_tebukuro+jf_tebukuro", shift=0.94, weight=2.0),
        Voice("kumo-dark", "kokoro", "jm_kumo", shift=0.93, weight=2.0),
        Voice("slt-hts-dark", "festival", "cmu_us_slt_arctic_hts", shift=0.9),
        Voice("american-colleague", "espeak", "en-us+f2", weight=0.6),
    ),
    "fresh23": (
        *_known("joe-light slt-hts gongitsune tebukuro-alpha awb"),
        Voice("joe-rough", "piper", shift=0.9),
        Voice("nezumi-nezumi-kumo", "kokoro", "jf_nezumi+jf_nezumi+jm_kumo", shift=1.04, weight=2.0),
        Voice("tebukuro-deep", "kokoro", "jf_tebukuro", shift=0.93, weight=2.0),
        Voice("kumo-alpha-gongitsune", "kokoro", "jm_kumo+jf_alpha+jf_gongitsune", shift=0.98, weight=2.0),
        Voice("rms-clear", "flite", "rms", shift=1.08),
        Voice("scottish-colleague", "espeak", "en-gb-scotland+f3", weight=0.6),
    ),
    "fresh24": (
        *_known("joe kumo tebukuro-alpha rms slt-hts"),
        Voice("joe-even", "piper", shift=0.92),
        Voice("alpha-alpha-gongitsune", "kokoro", "jf_alpha+jf_alpha+jf_gongitsune", shift=0.97, weight=2.0),
        Voice("nezumi-bright", "kokoro", "jf_nezumi", shift=1.09, weight=2.0),
        Voice("kumo-kumo-nezumi", "kokoro", "jm_kumo+jm_kumo+jf_nezumi", shift=0.98, weight=2.0),
        Voice("slt-clear", "flite", "slt", shift=1.05),
        Voice("northern-colleague", "espeak", "en-gb-x-gbclan+f1", weight=0.6),
    ),
    "fresh25": (
        *_known("joe-high nezumi gongitsune awb kal"),
        Voice("joe-firm", "piper", shift=1.09),
        Voice("tebukuro-tebukuro-kumo", "kokoro", "jf_tebukuro+jf_tebukuro+jm_kumo", shift=1.02, weight=2.0),
        Voice("alpha-dark", "kokoro", "jf_alpha", shift=0.91, weight=2.0),
        Voice("kumo-bright", "kokoro", "jm_kumo", shift=1.04, weight=2.0),
        Voice("slt-hts-clear", "festival", "cmu_us_slt_arctic_hts", shift=1.03),
        Voice("island-colleague", "espeak", "en-029+f2", weight=0.6),
    ),
    "fresh26": (
        *_known("joe-light kumo tebukuro-alpha slt ked"),
        Voice("joe-mild", "piper", shift=0.94),
        Voice("gongitsune-bright", "kokoro", "jf_gongitsune", shift=1.07, weight=2.0),
        Voice("alpha-kumo-nezumi", "kokoro", "jf_alpha+jm_kumo+jf_nezumi", shift=1.01, weight=2.0),
        Voice("nezumi-dark", "kokoro", "jf_nezumi", shift=0.92, weight=2.0),
        Voice("rms-dark", "flite", "rms", shift=0.89),
        Voice("city-colleague", "espeak", "en-us-nyc+f3", weight=0.6),
    ),
    "fresh27": (
        *_known("joe-deep nezumi gongitsune rms slt-hts"),
        Voice("joe-brisk", "piper", shift=1.2),
        Voice("tebukuro-bright", "kokoro", "jf_tebukuro", shift=1.08, weight=2.0),
        Voice("kumo-gongitsune-tebukuro", "kokoro", "jm_kumo+jf_gongitsune+jf_tebukuro", shift=0.97, weight=2.0),
        Voice("alpha-bright", "kokoro", "jf_alpha", shift=1.05, weight=2.0),
        Voice("awb-dark", "flite", "awb", shift=0.95),
        Voice("valley-colleague", "espeak", "en-gb-x-gbcwmd+f5", weight=0.6),
    ),
    "fresh28": (
        *_known("joe-high kumo tebukuro-alpha slt kal"),
        Voice("joe-near", "piper", shift=1.02),
        Voice("gongitsune-dark", "kokoro", "jf_gongitsune", shift=0.93, weight=2.0),
        Voice("alpha-alpha-kumo", "kokoro", "jf_alpha+jf_alpha+jm_kumo", shift=1.03, weight=2.0),
        Voice("nezumi-tebukuro-tebukuro", "kokoro", "jf_nezumi+jf_tebukuro+jf_tebukuro", shift=0.99, weight=2.0),
        Voice("rms-bright", "flite", "rms", shift=1.13),
        Voice("lancaster-colleague", "espeak", "en-gb-x-gbclan+f4", weight=0.6),
    ),
    "fresh29": (
        *_known("joe nezumi gongitsune awb slt-hts"),
        Voice("joe-grave", "piper", shift=0.86),
        Voice("tebukuro-dark", "kokoro", "jf_tebukuro", shift=0.9, weight=2.0),
        Voice("kumo-kumo-alpha-nezumi", "kokoro", "jm_kumo+jm_kumo+jf_alpha+jf_nezumi", shift=1.02, weight=2.0),
        Voice("alpha-gongitsune-bright", "kokoro", "jf_alpha+jf_gongitsune", shift=1.09, weight=2.0),
        Voice("slt-bright", "flite", "slt", shift=1.12),
        Voice("highland-colleague", "espeak", "en-gb-scotland+f5", weight=0.6),
    ),
    "fresh30": (
        *_known("joe-light kumo gongitsune rms slt-hts"),
        Voice("joe-clear", "piper", shift=1.06),
        Voice("alpha-light", "kokoro", "jf_alpha", shift=1.08, weight=2.0),
        Voice("nezumi-kumo-gongitsune", "kokoro", "jf_nezumi+jm_kumo+jf_gongitsune", shift=0.96, weight=2.0),
        Voice("tebukuro-nezumi-low", "kokoro", "jf_tebukuro+jf_nezumi", shift=0.92, weight=2.0),
        Voice("awb-bright", "flite", "awb", shift=1.13),
        Voice("midlands-colleague", "espeak", "en-gb-x-gbcwmd+f2", weight=0.6),
    ),
    "fresh31": (
        *_known("joe-deep nezumi tebukuro-alpha slt awb"),
        Voice("joe-keen", "piper", shift=1.15),
        Voice("kumo-low", "kokoro", "jm_kumo", shift=0.9, weight=2.0),
        Voice("gongitsune-gongitsune-tebukuro", "kokoro", "jf_gongitsune+jf_gongitsune+jf_tebukuro", weight=2.0),
        Voice("alpha-nezumi-kumo", "kokoro", "jf_alpha+jf_nezumi+jm_kumo", shift=1.06, weight=2.0),
        Voice("slt-hts-bright", "festival", "cmu_us_slt_arctic_hts", shift=1.08),
        Voice("coast-colleague", "espeak", "en-us+f5", weight=0.6),
    ),
    "fresh32": (
        *_known("joe-high kumo tebukuro-alpha rms slt-hts"),
        Voice("joe-soft", "piper", shift=0.99),
        Voice("kumo-tebukuro-alpha", "kokoro", "jm_kumo+jf_tebukuro+jf_alpha", shift=1.02, weight=2.0),
        Voice("gongitsune-low", "kokoro", "jf_gongitsune", shift=0.9, weight=2.0),
        Voice("nezumi-nezumi-alpha", "kokoro", "jf_nezumi+jf_nezumi+jf_alpha", shift=0.98, weight=2.0),
        Voice("slt-low", "flite", "slt", shift=0.93),
        Voice("town-colleague", "espeak", "en-gb-x-rp+f2", weight=0.6),
    ),
    "fresh33": (
        *_known("joe-light kumo nezumi ked slt-young"),
        Voice("joe-warm", "piper", shift=0.97),
        Voice("kumo-alpha-tebukuro", "kokoro", "jm_kumo+jf_alpha+jf_tebukuro", shift=0.99, weight=2.0),
        Voice("nezumi-tebukuro-high", "kokoro", "jf_nezumi+jf_nezumi+jf_tebukuro", shift=1.03, weight=2.0),
        Voice("alpha-gongitsune-bright", "kokoro", "jf_alpha+jf_gongitsune", shift=1.07, weight=2.0),
        Voice("kal-low", "festival", "kal_diphone", shift=0.95),
        Voice("valley-colleague", "espeak", "en-gb+m5", weight=0.6),
    ),
}
"""In ``fresh`` and those after it only the texts are new. ``fresh6`` to ``fresh11`` have a mixture of voices of both
others, with every engine; those after them have a few of these, beside voices that no family before has."""
REAL_VOICES = {"dev": Voice("reader", "real"), "held": Voice("other-reader", "real", shift=0.92)}
"""Recorded people, who say nothing but their clips; the other families have none, because those texts are known."""
TALK_BESIDE_REAL = {"dev": DEV_VOICES[0], "held": HELD_VOICES[0]}
