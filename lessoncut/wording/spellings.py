"""British spellings as Americans write them: CMUdict, and most recognisers, know those alone."""

from __future__ import annotations

from collections.abc import Iterator

_INSIDE = (
    ("our", "or"), ("ise", "ize"), ("isi", "izi"), ("isa", "iza"), ("yse", "yze"), ("ysi", "yzi"),
    ("ll", "l"), ("l", "ll"), ("ae", "e"), ("oe", "e"), ("sce", "ske"), ("ould", "old"), ("oul", "ol"), ("ulph", "ulf"),
    ("mme", "m"), ("tt", "t"),
)  # fmt: skip
"""Tried at every place in the word."""
_AT_THE_END = (
    ("tre", "ter"), ("bre", "ber"), ("gre", "ger"), ("ence", "ense"), ("ogue", "og"), ("tte", "t"), ("rse", "rze"),
)  # fmt: skip
_WORDS = {
    "artefact": "artifact", "behove": "behoove", "carburettor": "carburetor", "cosier": "cozier", "cosiest": "coziest",
    "gaol": "jail", "hullo": "hello", "jewellery": "jewelry", "kerb": "curb", "liquorice": "licorice",
    "manoeuvre": "maneuver", "mediaeval": "medieval", "plough": "plow", "pyjamas": "pajamas", "storey": "story",
    "tyre": "tire", "yoghurt": "yogurt",
}  # fmt: skip


def respelt(word: str) -> Iterator[str]:
    """What the word may be in American spelling, the surest first; not all of it need be words.

    The pairs are common practice, no source.
    """
    if word in _WORDS:
        yield _WORDS[word]
    for ours, theirs in _AT_THE_END:
        if word.endswith(ours):
            yield word.removesuffix(ours) + theirs
    for ours, theirs in _INSIDE:
        at = word.find(ours)
        while at >= 0:
            yield word[:at] + theirs + word[at + len(ours) :]
            at = word.find(ours, at + 1)
