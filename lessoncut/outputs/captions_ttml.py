"""Captions as TTML in the IMSC 1.1 text profile (W3C, "TTML Profiles for Internet Media Subtitles and Captions")."""

from __future__ import annotations

from lessoncut.outputs.base import Output, Programme
from lessoncut.outputs.captions import BOX_RGB, TEXT_RGB
from lessoncut.outputs.written import markup_escaped, one_line, timestamp

PROFILE = "http://www.w3.org/ns/ttml/profile/imsc1.1/text"
_HEAD = """<?xml version="1.0" encoding="UTF-8"?>
<tt xmlns="http://www.w3.org/ns/ttml" xmlns:ttm="http://www.w3.org/ns/ttml#metadata"
    xmlns:ttp="http://www.w3.org/ns/ttml#parameter" xmlns:tts="http://www.w3.org/ns/ttml#styling"
    ttp:contentProfiles="{profile}" ttp:timeBase="media" ttp:cellResolution="32 15" xml:lang="{language}">
  <head>
    <metadata>
      <ttm:title>{title}</ttm:title>
    </metadata>
    <styling>
      <style xml:id="words" tts:color="{text}" tts:backgroundColor="{box}"/>
      <style xml:id="block" tts:fontFamily="proportionalSansSerif" tts:fontSize="80%" tts:lineHeight="125%"
             tts:textAlign="center"/>
    </styling>
    <layout>
      <region xml:id="foot" tts:origin="10% 75%" tts:extent="80% 20%" tts:displayAlign="after"
              tts:showBackground="whenActive"/>
    </layout>
  </head>
  <body>
    <div region="foot" style="block">
"""
_FOOT = """    </div>
  </body>
</tt>
"""


def captions_ttml(programme: Programme) -> str:
    """One region at the foot of the picture, one ``p`` a cue, times as clock times of the media."""
    track = programme.captions
    head = _HEAD.format(
        profile=PROFILE,
        language=_attribute(track.language),
        title=markup_escaped(one_line(programme.title)),
        text=_hex(TEXT_RGB),
        box=_hex(BOX_RGB),
    )
    rows = []
    for number, cue in enumerate(track.cues, start=1):
        span = track.span(cue)
        times = f'begin="{timestamp(span.start_ms)}" end="{timestamp(span.end_ms)}"'
        text = "<br/>".join(markup_escaped(line) for line in cue.texts)
        rows.append(f'      <p xml:id="c{number}" {times}><span style="words">{text}</span></p>\n')
    return head + "".join(rows) + _FOOT


def _hex(rgb: tuple[int, int, int]) -> str:
    return "#{:02X}{:02X}{:02X}".format(*rgb)


def _attribute(text: str) -> str:
    return markup_escaped(text).replace('"', "&quot;")


OUTPUT = Output(
    name="captions-ttml",
    says="captions for broadcasters and streaming services (IMSC 1.1 text)",
    suffix=".ttml",
    make=captions_ttml,
)
