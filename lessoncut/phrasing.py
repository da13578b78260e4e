"""Where a sentence may be broken, from closed lists of English function words.

The pairs that stay together are those of two published guides:

* DCMP Captioning Key, "Line division": modifier and word modified, preposition and its phrase, a person's name and
  title, conjunction and what follows it, auxiliary and verb;
* Netflix Partner Help, Timed Text Style Guide, "Line treatment": noun and article, first and last name, verb and
  subject pronoun, verb and auxiliary or negation.

No part of speech is guessed: an adjective before its noun is not recognised, and a word with several uses ("that",
"her") may be followed by a break where a new phrase begins. Other languages than English have punctuation only.
"""

from __future__ import annotations

import re
from typing import Literal

Break = Literal["sentence", "clause", "conjunction", "preposition", "plain", "pair"]
"""The kinds of place between two words, from the best to break at to the worst."""


def _set(words: str) -> frozenset[str]:
    return frozenset(words.split())


_ARTICLES = _set("a an the my your its our their every another whose")
_DETERMINERS = _set("this that these those his her each some any no either neither both such what which")
_DEGREES = _set("very more most less least quite rather too how")
_NUMBERS = _set("one two three four five six seven eight nine ten eleven twelve hundred thousand first second third")
_PREPOSITIONS = _set(
    "about above across after against along among around as at before behind below beneath beside besides between"
    " beyond by despite down during except for from in inside into like near of off on onto out outside over past"
    " since than through throughout to toward towards under until up upon with within without"
)
_CONJUNCTIONS = _set(
    "and but or nor so yet because although though while whereas if unless when whenever where wherever since until"
    " till that than whether once after before as who whom which"
)
_AUXILIARIES = _set(
    "am is are was were be been being do does did has have had can could will would shall should may might must cannot"
)
_PRONOUNS = _set("i you he she it we they there")
_NEGATIONS = _set("not never")
_TITLES = _set("mr mrs ms miss dr prof professor sir st")
_AUXILIARY_ENDINGS = ("n't", "'m", "'re", "'ve", "'ll", "'d")
_FUNCTION_WORDS = (
    _ARTICLES | _DETERMINERS | _DEGREES | _PREPOSITIONS | _CONJUNCTIONS | _AUXILIARIES | _PRONOUNS | _NEGATIONS
)
_CLOSERS = "\"'”’»)]"
_SENTENCE_END = re.compile(r"(?:[.!?…]|\.\.\.)$")
_CLAUSE_END = re.compile(r"[,;:–—)\]]$|(?:^| )-$")


def is_function_word(word: str) -> bool:
    """Whether a normalised English word is an article, preposition, auxiliary or the like."""
    return word in _FUNCTION_WORDS


def break_between(left: str, right: str, language: str = "en") -> Break:
    """What kind of place lies between two words as they are written, punctuation included."""
    bare = left.rstrip(_CLOSERS)
    following = _plain(right)
    kind: Break = "plain"
    if _is_title(left) or not following:
        kind = "pair"
    elif _SENTENCE_END.search(bare):
        kind = "sentence"
    elif _CLAUSE_END.search(left) or _CLAUSE_END.search(bare):
        kind = "clause"
    elif is_english(language):
        if kept_together(left, right):
            kind = "pair"
        elif following in _CONJUNCTIONS:
            kind = "conjunction"
        elif following in _PREPOSITIONS:
            kind = "preposition"
    return kind


def kept_together(left: str, right: str) -> str | None:
    """Why no break may come between two English words with no punctuation between them; None where one may."""
    word, following = _plain(left), _plain(right)
    new_phrase = following in _CONJUNCTIONS or following in _PREPOSITIONS
    if word in _ARTICLES:
        return "article or possessive and its noun"
    if _is_title(left):
        return "title and name"
    if word in _CONJUNCTIONS and word not in _DETERMINERS:
        return "conjunction or relative and its clause"
    if following in _NEGATIONS:
        return "verb and negation"
    return None if new_phrase else _loosely_together(left, right, word)


def _loosely_together(left: str, right: str, word: str) -> str | None:
    """Pairs that hold only where the second word begins no phrase of its own."""
    reason = None
    if word in _PREPOSITIONS:
        reason = "preposition and its phrase"
    elif word in _DETERMINERS or word in _DEGREES:
        reason = "modifier and the word modified"
    elif word in _NUMBERS or word.replace(",", "").replace(".", "").isdigit():
        reason = "number and its noun"
    elif word in _PRONOUNS:
        reason = "subject pronoun and verb"
    elif word in _AUXILIARIES or word.endswith(_AUXILIARY_ENDINGS):
        reason = "auxiliary and verb"
    elif word in _NEGATIONS:
        reason = "negation and verb"
    elif _is_name(left) and _is_name(right):
        reason = "first and last name"
    return reason


def ends_sentence(word: str) -> bool:
    """Whether the word, as written, closes a sentence."""
    return not _is_title(word) and bool(_SENTENCE_END.search(word.rstrip(_CLOSERS)))


def is_english(language: str) -> bool:
    """Whether a BCP 47 tag names English of any kind."""
    return language.partition("-")[0].lower() in ("en", "eng")


def _plain(word: str) -> str:
    if word in ("&", "+"):
        return "and"
    return word.replace("’", "'").strip("\"'“”‘«»()[].,;:!?…–—-").lower()


def _is_title(word: str) -> bool:
    return _plain(word) in _TITLES and word[:1].isupper() and not word.endswith((",", "!", "?"))


def _is_name(word: str) -> bool:
    bare = word.strip("\"'“”‘’«»()[]")
    return bare[:1].isupper() and not bare.isupper() and _plain(word) not in _FUNCTION_WORDS
