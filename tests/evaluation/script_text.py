"""The script of a lesson as Markdown, in one of the ways teachers write it."""

from __future__ import annotations

from itertools import groupby

import numpy as np

from tests.evaluation.plan import ScriptLine


def markdown(title: str, lines: tuple[ScriptLine, ...], rng: np.random.Generator) -> str:
    """Passage lines stand one to a row, one to a paragraph, or as a list; some words carry stress or phrase marks."""
    layout = int(rng.integers(3))
    marked = bool(rng.random() < 0.3)
    parts = [f"# {title}\n"]
    for (section, in_passage), group in groupby(lines, key=lambda line: (line.section, line.in_passage)):
        written = [line.line.written for line in group]
        parts.append(f"## {section} {{.passage}}\n" if in_passage else f"## {section}\n")
        if not in_passage:
            parts.append(" ".join(written) + "\n")
            continue
        if marked:
            written = [_marked(text, rng) for text in written]
        if layout == 2:
            parts.append("\n".join(f"- {text}" for text in written) + "\n")
        else:
            parts.append(("\n" if layout == 0 else "\n\n").join(written) + "\n")
    return "\n".join(parts)


def _marked(text: str, rng: np.random.Generator) -> str:
    words = text.split()
    at = int(rng.integers(len(words)))
    bare = words[at].rstrip(".,?!")
    if bare.isalpha() and rng.random() < 0.7:
        sign = "**" if rng.random() < 0.7 else "=="
        words[at] = f"{sign}{bare}{sign}{words[at][len(bare) :]}"
    return " ".join(words)
