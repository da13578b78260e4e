"""espeak-ng through its own library, because only the library tells when each word begins. Runs by itself."""

from __future__ import annotations

import ctypes
import json
import sys
from typing import Any

_LIBRARY = "libespeak-ng.so.1"
_SYNCHRONOUS, _PHONEME_EVENTS, _BY_CHARACTER, _UTF8 = 2, 1, 1, 1
_RATE_PARAMETER, _PITCH_PARAMETER = 1, 3
_WORD_EVENT, _END_EVENT, _PHONEME_EVENT = 1, 5, 7
_DEFAULT_WORDS_PER_MINUTE = 165


class _Id(ctypes.Union):
    _fields_ = (("number", ctypes.c_int), ("name", ctypes.c_char_p), ("string", ctypes.c_char * 8))


class _Event(ctypes.Structure):
    """``espeak_EVENT`` of espeak-ng's speak_lib.h, interface version 12."""

    _fields_ = (
        ("type", ctypes.c_int),
        ("uid", ctypes.c_uint),
        ("text_position", ctypes.c_int),
        ("length", ctypes.c_int),
        ("audio_position", ctypes.c_int),
        ("sample", ctypes.c_int),
        ("user", ctypes.c_void_p),
        ("id", _Id),
    )


_Callback = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.POINTER(ctypes.c_short), ctypes.c_int, ctypes.POINTER(_Event))
_blocks: list[bytes] = []
_events: list[tuple[int, int, int, bytes]] = []


def _hear(wave: Any, samples: int, events: Any) -> int:
    if samples > 0 and wave:
        _blocks.append(ctypes.string_at(wave, samples * 2))
    at = 0
    while events[at].type:
        event = events[at]
        name = event.id.string if event.type == _PHONEME_EVENT else b""
        _events.append((event.type, event.text_position, event.audio_position, name))
        at += 1
    return 0


_hear_as_callback = _Callback(_hear)  # kept alive here: the library holds a bare pointer


def _library() -> tuple[Any, int]:
    library = ctypes.CDLL(_LIBRARY)
    rate_hz = library.espeak_Initialize(_SYNCHRONOUS, 0, None, _PHONEME_EVENTS)
    if rate_hz <= 0:
        raise RuntimeError("espeak-ng did not start")
    library.espeak_SetSynthCallback(_hear_as_callback)
    return library, rate_hz


def say(voice: str, text: str, rate: float, pitch: int) -> tuple[bytes, int, list[tuple[str, float, float]]]:
    """16-bit samples, their rate, and each word with its start and end in seconds."""
    library, rate_hz = _library()
    if library.espeak_SetVoiceByName(voice.encode()) != 0:
        raise ValueError(f"espeak-ng has no voice {voice}")
    library.espeak_SetParameter(_RATE_PARAMETER, round(_DEFAULT_WORDS_PER_MINUTE * rate), 0)
    library.espeak_SetParameter(_PITCH_PARAMETER, pitch, 0)
    encoded = text.encode()
    if library.espeak_Synth(encoded, len(encoded) + 1, 0, _BY_CHARACTER, 0, _UTF8, None, None) != 0:
        raise RuntimeError(f"espeak-ng did not say: {text}")
    samples = b"".join(_blocks)
    return samples, rate_hz, _words(text, len(samples) / 2 / rate_hz)


def _words(text: str, length_s: float) -> list[tuple[str, float, float]]:
    """A word ends at the first pause phoneme after its start, or where the next word starts."""
    starts = [(position, ms / 1000) for kind, position, ms, _ in _events if kind == _WORD_EVENT]
    rests = [
        ms / 1000
        for kind, _, ms, name in _events
        if kind == _END_EVENT or (kind == _PHONEME_EVENT and name.startswith(b"_"))
    ]
    words = []
    for at, (position, start_s) in enumerate(starts):
        following_s = starts[at + 1][1] if at + 1 < len(starts) else length_s
        end_s = min([following_s, *(rest for rest in rests if rest > start_s)])
        name = text[position - 1 :].split(maxsplit=1)[0].strip(",.?!;:")
        if name:  # punctuation makes an event of its own
            words.append((name, start_s, end_s))
    return words


def main() -> None:
    """``espeak.py VOICE TEXT RATE PITCH``: samples to the standard output, the rest as JSON to the error output."""
    voice, text, rate, pitch = sys.argv[1:]
    samples, rate_hz, words = say(voice, text, float(rate), int(pitch))
    sys.stdout.buffer.write(samples)
    sys.stderr.write(json.dumps({"rate_hz": rate_hz, "words": words}))


if __name__ == "__main__":
    main()
