"""The handout as one HTML file that reads on a screen and prints on paper."""

from __future__ import annotations

import math
from html import escape

from lessoncut.outputs.base import Output, Programme
from lessoncut.outputs.handout import Piece, Sheet, SheetLine, sheet
from lessoncut.outputs.left_out import of_sheet
from lessoncut.outputs.qr_code import qr_svg
from lessoncut.teaching.melody_svg import KEY, ROW_MM

_PAGE = {"a4": "A4", "letter": "letter"}
_PRINTED_MM = {"a4": (178.0, 267.0), "letter": (183.9, 249.4)}
"""The page without its margins, across and down."""
_POINTS = (13.5, 12.5, 11.5)
_HEAD_MM, _ROW_SHARE, _LETTER_SHARE = 32.0, 0.6, 0.17
"""What the title takes, and a row of text and a letter for each point: about, since fonts differ."""
_LEAST_MM, _EASY_MM, _MOST_MM = 3.2, 6.0, 11.0
_PAGES_MM = 7.0
"""Room to write where the lines take more than one page anyway: what handwriting needs."""
_LEAST_GAP_MM, _MOST_GAP_MM = 1.4, 5.0
_STYLE = """
@page { size: %(page)s; margin: 15mm 16mm }
* { box-sizing: border-box }
body { margin: 0 auto; padding: 1.2rem; max-width: 46rem; color: #111; background: #fff;
  font: 17px/1.5 "Libertinus Serif", "Gentium Plus", "Charis SIL", "Noto Serif", Georgia, serif }
header { display: flex; gap: 1.2rem; align-items: end; border-bottom: 3px double #111; padding-bottom: .5rem }
h1 { font-size: 1.6rem; line-height: 1.2; margin: 0; flex: 1; min-width: 0; overflow-wrap: anywhere }
h1 a { display: block; font-size: .8rem; font-weight: 400 }
header svg { width: 17mm; height: 17mm; flex: none }
h2 { font-size: 1.1rem; margin: 1.4rem 0 .4rem }
.key { font-size: .8rem; margin: .5rem 0 1rem; display: flex; flex-wrap: wrap; gap: .15rem 1.2rem; padding: 0;
  list-style: none }
.lines { list-style: none; margin: 0; padding: 0 }
.lines > li { display: grid; grid-template-columns: 2rem minmax(0, 1fr) 3.2rem; break-inside: avoid;
  margin-bottom: .35rem }
.number { font-size: .8rem; padding-top: .2rem; font-variant-numeric: tabular-nums }
.time { font-size: .8rem; padding-top: .2rem; text-align: right; font-variant-numeric: tabular-nums; color: inherit }
.ipa, .melody, .room { grid-column: 2 }
.text { overflow-wrap: anywhere }
.ipa { font-size: .95rem }
.ipa span { display: inline-block }
.melody { overflow-x: auto }
.room { border-bottom: 1px dotted #777; height: 1.5rem }
b { font-weight: 700 }
b.focus { text-decoration: underline 2px; text-underline-offset: 3px }
.phrase { border-bottom: 2px dotted #111 }
.frame { border: 1.2px solid #111; padding: 0 .1em; margin: 0 .03em }
.frame1 { border-radius: .6em }
.frame2 { border-radius: 0 }
.frame3 { border-style: dashed; border-radius: .6em }
.bar { padding: 0 .35em; font-weight: 400 }
.tie { letter-spacing: -.05em }
table { border-collapse: collapse }
.phrases { columns: 3; list-style: none; padding: 0; margin: 0 }
.phrases li { break-inside: avoid }
.pairs { columns: 2; column-gap: 3rem; padding: 0; margin: .8rem 0 0; list-style: none; counter-reset: pair }
.pairs li { break-inside: avoid; display: grid; grid-template-columns: 2rem 1fr 1fr; align-items: baseline;
  font-size: 1.15rem; padding: .3rem 0; border-bottom: 1px dotted #777; counter-increment: pair }
.pairs li::before { content: counter(pair); font-size: .8rem; font-variant-numeric: tabular-nums }
.pairs span::before { content: ""; display: inline-block; width: .75em; height: .75em; margin-right: .45em;
  border: 1px solid #111; border-radius: 50%%; vertical-align: -.08em }
.second { break-before: page }
a { color: inherit }
@media print {
  body { padding: 0; max-width: none; font-size: %(points)spt; line-height: 1.35 }
  .key { margin: .3rem 0 .6rem; font-size: .75rem; column-gap: 1rem }
  .lines > li { margin-bottom: %(gap).1fmm }
  .room { height: %(room).1fmm }
  .melody svg { height: calc(var(--rows) * %(row)smm); width: auto; max-width: 100%% }
  h2 { margin-top: .8rem }
}
"""


def handout_html(programme: Programme) -> str:
    """One file: styles inside, nothing fetched."""
    page = sheet(programme)
    body = [
        _header(page),
        _key(page),
        '<ol class="lines">',
        *(_line(line, page) for line in page.lines),
        "</ol>",
        *_phrases(page),
        *_pairs(page),
    ]
    return "\n".join(
        [
            "<!DOCTYPE html>",
            f'<html lang="{escape(page.language)}">',
            '<head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">',
            f"<title>{escape(page.title)}</title>",
            f"<style>{_STYLE % _printed(page)}</style></head>",
            "<body>",
            *body,
            "</body></html>\n",
        ]
    )


def _header(page: Sheet) -> str:
    title, url = escape(page.title), page.choices.url
    if not url:
        return f"<header><h1>{title}</h1></header>"
    address = f'<a href="{escape(url)}">{escape(url)}</a>'
    return f"<header><h1>{title} {address}</h1>{qr_svg(url)}</header>"


def _printed(page: Sheet) -> dict[str, str | float]:
    """Paper, letters and room to write, so that one printed page is filled where the lines fit on one."""
    across, down = _PRINTED_MM[page.choices.paper]
    looks: dict[str, str | float] = {
        "page": _PAGE[page.choices.paper],
        "row": ROW_MM,
        "points": _POINTS[-1],
        "room": _PAGES_MM,
        "gap": _LEAST_GAP_MM if page.choices.room else _MOST_GAP_MM,
    }
    if any(line.melody for line in page.lines):
        return looks
    for points in _POINTS:
        letter_mm, row_mm = points * _LETTER_SHARE, points * _ROW_SHARE
        rows = sum(math.ceil(len(line.text) * letter_mm / (across - 22)) + bool(line.ipa) for line in page.lines)
        left_mm = down - _HEAD_MM - rows * row_mm - (14 if page.phrases else 0)
        each_mm = left_mm / max(1, len(page.lines))
        if each_mm >= (_EASY_MM if points > _POINTS[-1] else _LEAST_MM):
            gap_mm = _LEAST_GAP_MM if page.choices.room else min(_MOST_GAP_MM, each_mm)
            return looks | {"points": points, "room": min(_MOST_MM, each_mm), "gap": gap_mm}
    return looks


def _key(page: Sheet) -> str:
    """The legend, only of what this sheet shows."""
    entries = [
        (page.shows(1), "<b>bold</b> stressed syllable"),
        (page.shows(2), '<b class="focus">underlined</b> focus of the group'),
        (bool(page.phrases), '<span class="phrase">dotted</span> key phrase'),
        (page.has("bar"), '<span class="bar">|</span> a short stop'),
        (page.has("tie"), "a<span>‿</span>b said as one"),
        *((True, f'<span class="frame frame{min(n, 3)}">{escape(sound.strip("/"))}</span> the sound {escape(sound)}')
          for n, sound in enumerate(page.sounds, start=1)),
        (any(line.melody for line in page.lines), f"melody: {KEY}"),
    ]  # fmt: skip
    return '<ul class="key">' + "".join(f"<li>{says}</li>" for shown, says in entries if shown) + "</ul>"


def _line(line: SheetLine, page: Sheet) -> str:
    time = "" if line.time is None else escape(line.time)
    if line.link:
        time = f'<a class="time" href="{escape(line.link)}">{time}</a>'
    parts = [
        f'<span class="number">{line.number}</span>',
        f'<span class="text">{"".join(map(_piece, line.pieces))}</span>',
        time if line.link else f'<span class="time">{time}</span>',
    ]
    if line.ipa:
        words = " ".join(f"<span>{escape(word)}</span>" for word in line.ipa.replace(" |", "\xa0|").split(" "))
        parts.append(f'<span class="ipa">{words}</span>')
    if line.melody:
        parts.append(f'<span class="melody" style="--rows: {line.melody.rows}">{line.melody.svg}</span>')
    if page.choices.room:
        parts.append('<span class="room"></span>')
    return f"<li>{''.join(parts)}</li>"


def _piece(piece: Piece) -> str:
    if piece.kind == "bar":
        return '<span class="bar">|</span>'
    inner = "‿" if piece.kind == "tie" else escape(piece.text)
    if piece.kind == "tie":
        inner = f'<span class="tie">{inner}</span>'
    if piece.frame:
        inner = f'<span class="frame frame{min(piece.frame, 3)}">{inner}</span>'
    if piece.stress:
        inner = f'<b class="focus">{inner}</b>' if piece.stress == 2 else f"<b>{inner}</b>"
    return f'<span class="phrase">{inner}</span>' if piece.phrase else inner


def _phrases(page: Sheet) -> list[str]:
    if not page.phrases:
        return []
    items = "".join(f"<li>{escape(text)} <small>({number})</small></li>" for text, number in page.phrases)
    return ["<h2>Key phrases</h2>", f'<ul class="phrases">{items}</ul>']


def _pairs(page: Sheet) -> list[str]:
    if not page.pairs:
        return []
    names = ", ".join(f"{a} and {b}" for a, b in page.pair_sounds)
    items = "".join(f"<li><span>{escape(a)}</span> <span>{escape(b)}</span></li>" for a, b in page.pairs)
    how = "<small>Say both words of a pair. Then listen: which of the two is it? Tick it.</small>"
    heading = f"<h2>Minimal pairs: {escape(names)}</h2>{how}"
    return [f'<section class="second">{heading}<ol class="pairs">{items}</ol></section>']


OUTPUT = Output(
    name="handout-html",
    says="the sheet for learners, to read on a screen or to print",
    suffix=".html",
    make=handout_html,
    of_study=True,
    left_out=of_sheet,
)
