"""The part of speech of every word of a line, as far as it decides how the word is said.

A light tagger of our own: closed lists for the function words, the neighbours for the words that are both, endings for
the rest. It tells content from function words well and nouns from verbs fairly; it is no parser.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Literal

from lessoncut.teaching import word_lists as lists

Tag = Literal[
    "noun", "verb", "past", "adjective", "adverb", "number", "question word", "demonstrative", "negative",
    "interjection", "quantifier", "possessive pronoun", "particle", "be", "auxiliary", "article", "determiner",
    "pronoun", "indefinite pronoun", "possessive", "preposition", "conjunction", "relative", "existential there",
    "infinitive to",
]  # fmt: skip
CONTENT: frozenset[str] = frozenset(
    {"noun", "verb", "past", "adjective", "adverb", "number", "question word", "demonstrative", "negative",
     "interjection", "quantifier", "possessive pronoun", "particle", "indefinite pronoun"}
)  # fmt: skip
_ADJECTIVE_ENDINGS = ("ful", "ous", "ive", "able", "ible", "ical", "less", "ish", "est")
_NOUN_ENDINGS = ("tion", "sion", "ment", "ness", "ity", "ship", "ance", "ence", "ism", "age")
_BEFORE_NOUNS: frozenset[Tag] = frozenset(
    {"article", "possessive", "determiner", "number", "adjective", "preposition", "demonstrative", "quantifier"}
)
_BEFORE_VERBS: frozenset[Tag] = frozenset(
    {"pronoun", "indefinite pronoun", "negative", "adverb", "relative", "possessive pronoun"}
)
_NOT_LY = lists.words("family reply supply belly july italy bully jelly lily fly only")
_PLACES_ONE = lists.words("the this that each which every another no")


def stem(word: str) -> str:
    """The word without -s, -es, -ed, -ing: enough to know it again."""
    for ending, kept in (("'s", ""), ("ies", "y"), ("ied", "y"), ("ing", ""), ("ed", ""), ("es", ""), ("s", "")):
        if word.endswith(ending) and len(word) - len(ending) >= 3 and not word.endswith("ss"):
            root = word.removesuffix(ending) + kept
            if len(root) > 3 and root[-1] == root[-2] and root[-1] not in "lsz" and ending in ("ing", "ed"):
                root = root[:-1]
            return root.removesuffix("e") if len(root) > 3 else root
    return word.removesuffix("e") if len(word) > 3 else word


_VERB_STEMS = frozenset(map(stem, lists.VERBS))
_PAST_OF = {
    "take": "took taken", "give": "gave given", "get": "got gotten", "go": "went gone", "come": "came", "sit": "sat",
    "stand": "stood", "wake": "woke woken", "write": "wrote written", "throw": "threw thrown", "find": "found",
    "break": "broke broken", "hang": "hung", "run": "ran", "hold": "held", "grow": "grew grown", "fall": "fell fallen",
    "bring": "brought", "send": "sent", "keep": "kept", "lie": "lay lain", "speak": "spoke spoken", "wind": "wound",
}  # fmt: skip
_PHRASAL = {
    stem(form): particles
    for verb, particles in lists.PHRASAL.items()
    for form in (verb, *_PAST_OF.get(verb, "").split())
}
_PLACE_VERBS = frozenset(
    map(stem, lists.words("sit sat stand stood lie lay come came go went run ran walk fall fell get got stay"))
)


def tags(words: Sequence[str], *, question: bool = False, ends: frozenset[int] = frozenset()) -> tuple[Tag, ...]:
    """The tag of every word. ``words`` are spoken words (lower case); ``ends``: words before a comma or the end."""
    found: list[Tag] = []
    for place in range(len(words)):
        found.append(_Place(words, found, place, question, ends).tag())
    return tuple(found)


class _Place:
    """One word among its neighbours; the tags before it are known."""

    def __init__(
        self, words: Sequence[str], before: Sequence[Tag], place: int, question: bool, ends: frozenset[int]
    ) -> None:
        self.word = words[place]
        self.rest = list(words[place + 1 :])
        self.next = words[place + 1] if place + 1 < len(words) else ""
        self.previous = words[place - 1] if place else ""
        self.previous_tag: Tag | None = before[place - 1] if place else None
        self.earlier = list(zip(words[:place], before[:place], strict=True))
        self.question = question
        self.last = place in ends or place == len(words) - 1

    def tag(self) -> Tag:
        for ask in (self._closed, self._ambiguous, self._grammar, self._number, self._open):
            tag = ask()
            if tag:
                return tag
        return "noun"

    def _closed(self) -> Tag | None:
        word = self.word
        if word.endswith("n't") or (word in lists.NEGATIVES and word not in ("no", "nor")):
            return "negative"
        if "'" in word:
            return self._contracted(word)
        simple: tuple[tuple[frozenset[str], Tag], ...] = (
            (lists.ARTICLES, "article"), (lists.STRONG_PRONOUNS, "possessive pronoun"),
            (lists.BE, "be"), (lists.INTERJECTIONS - {"no", "well", "please", "sorry"}, "interjection"),
        )  # fmt: skip
        return next((tag for members, tag in simple if word in members), None)

    def _contracted(self, word: str) -> Tag | None:
        head = word.partition("'")[0]
        if word.endswith(lists.CONTRACTED_ENDINGS) or word in ("it's", "he's", "she's", "that's", "let's", "'em"):
            return "question word" if head in ("what", "where", "how", "why") else "pronoun"
        if word == "there's":
            return "existential there"
        if head in lists.QUESTION_WORDS:
            return "question word"
        return None

    def _ambiguous(self) -> Tag | None:
        asks: dict[str, Callable[[], Tag]] = {
            "that": self._that, "this": lambda: "demonstrative", "these": lambda: "demonstrative",
            "those": lambda: "demonstrative", "there": self._there, "to": self._to, "so": self._so, "no": self._no,
            "like": self._like, "one": self._one, "ones": lambda: "indefinite pronoun", "his": self._his,
            "her": self._her, "once": self._once,
            "please": lambda: "adverb", "well": self._well, "little": lambda: "adjective",
            "as": lambda: "conjunction", "than": lambda: "conjunction", "half": lambda: "quantifier",
        }  # fmt: skip
        ask = asks.get(self.word)
        return ask() if ask else None

    def _that(self) -> Tag:
        if not self.rest or self.last:
            return "demonstrative"
        starts_clause = self.next in lists.SUBJECTS | lists.ARTICLES | lists.POSSESSIVES | {"there"}
        if self.previous_tag in ("verb", "past", "noun", "adjective", "pronoun") and (
            starts_clause or self.previous_tag == "noun" or self.next in lists.BE | lists.MODALS | lists.HAVE
        ):
            return "conjunction" if self.previous_tag != "noun" else "relative"
        return "conjunction" if starts_clause and self.previous_tag else "demonstrative"

    def _there(self) -> Tag:
        if self.next in lists.BE | {"isn't", "aren't", "wasn't", "weren't", "will", "must", "used"} or (
            self.previous in lists.BE and not self.last
        ):
            return "existential there"
        return "adverb"

    def _to(self) -> Tag:
        return "infinitive to" if stem(self.next) in _VERB_STEMS and not self.next.endswith("s") else "preposition"

    def _so(self) -> Tag:
        degree = self.last or self.next in lists.ADJECTIVES | lists.QUANTIFIERS | lists.ADVERBS
        return "adverb" if degree else "conjunction"

    def _no(self) -> Tag:
        return "interjection" if not self.rest or self.last else "negative"

    def _like(self) -> Tag:
        verbal = self.previous_tag in ("pronoun", "auxiliary", "negative", "infinitive to", "adverb") or (
            self.previous_tag == "noun" and self.previous.endswith("s")
        )
        return "verb" if verbal and self.previous not in lists.COPULAS else "preposition"

    def _one(self) -> Tag:
        if self.previous_tag == "adjective" or self.previous in _PLACES_ONE:
            return "indefinite pronoun"
        return "number"

    def _once(self) -> Tag:
        return "conjunction" if self.next in lists.SUBJECTS | lists.POSSESSIVES | {"the"} else "adverb"

    def _his(self) -> Tag:
        return "possessive pronoun" if self.last else "possessive"

    def _her(self) -> Tag:
        alone = self.last or self.next in lists.PREPOSITIONS | lists.ARTICLES | lists.CONJUNCTIONS | lists.LATE_ADVERBS
        return "pronoun" if alone else "possessive"

    def _well(self) -> Tag:
        return "adverb" if self.previous else "interjection"

    def _grammar(self) -> Tag | None:
        word = self.word
        if word in lists.QUESTION_WORDS:
            return self._question_word()
        if word in lists.HAVE | lists.DO | lists.MODALS:
            return self._helping()
        if word in lists.PARTICLES | lists.PREPOSITIONS:
            alone = word in lists.PLACE_ADVERBS and (self.last or self.next in lists.CONJUNCTIONS)
            governs = word in lists.PREPOSITIONS and not alone
            return self._particle() or ("preposition" if governs else "adverb")
        members: tuple[tuple[frozenset[str], Tag], ...] = (
            (lists.INDEFINITE, "indefinite pronoun"), (lists.PRONOUNS, "pronoun"), (lists.POSSESSIVES, "possessive"),
            (lists.WEAK_DETERMINERS, "determiner"), (lists.CONJUNCTIONS, "conjunction"),
            (lists.QUANTIFIERS, "quantifier"),
        )  # fmt: skip
        return next((tag for group, tag in members if word in group), None)

    def _question_word(self) -> Tag:
        if self.word in ("how", "why", "what"):
            return "question word"
        if not self.previous:
            asks = self.question or self.word in ("who", "which", "whose")
            return "question word" if asks else "conjunction"
        if self.last or (self.question and self.previous_tag in ("conjunction", "preposition")):
            return "question word"
        if self.previous_tag in ("verb", "past") and self.word not in ("when", "which"):
            return "question word"
        return "relative" if self.word in lists.RELATIVES else "conjunction"

    def _helping(self) -> Tag:
        """have, do and the modals: helping verbs where another verb follows, or where they stand for one."""
        if self.word in lists.MODALS:
            return "noun" if self.previous_tag in ("article", "possessive") else "auxiliary"
        ahead = [word for word in self.rest[:4] if word not in lists.ADVERBS | lists.NEGATIVES][:2]
        if not ahead or self.last:
            return "auxiliary"
        if self.previous_tag == "infinitive to":
            return "verb"
        asks = ahead[0] in lists.SUBJECTS or self.question or not self.previous
        helps = any(map(self._helped, ahead if asks else ahead[:1])) or (self.question and not self.previous)
        return "auxiliary" if helps else "verb"

    def _helped(self, word: str) -> bool:
        """Whether have or do can be the helping verb of ``word``."""
        if self.word in lists.HAVE:
            return word in lists.PARTICIPLES or word.endswith("ed")
        return stem(word) in _VERB_STEMS or word in lists.SUBJECTS

    def _particle(self) -> Tag | None:
        """up, off, away...: stressed with a phrasal verb, or where nothing follows for them to govern."""
        if self.word not in lists.PARTICLES:
            return None
        verbs = [stem(word) for word, _ in self.earlier[-4:]]
        phrasal = any(self.word in _PHRASAL.get(verb, frozenset()) for verb in verbs)
        stops = lists.PREPOSITIONS | lists.CONJUNCTIONS | lists.LATE_ADVERBS
        governs = bool(self.next) and not self.last and self.next not in stops
        if self.word in ("away", "back", "together", "apart", "aside", "forward"):
            return "particle" if any(tag in ("verb", "past") for _, tag in self.earlier) else "adverb"
        if phrasal and governs and self.previous_tag not in ("verb", "past"):
            return None  # an object stands between: "put a coin in the slot"
        if phrasal and not (governs and self.word in ("in", "on", "over", "down", "through") and _lands(self.earlier)):
            return "particle"
        if not governs and self.word not in ("by", "about") and not self.question:
            return "particle"
        return None

    def _number(self) -> Tag | None:
        return "number" if self.word in lists.NUMBERS or self.word[:1].isdigit() else None

    def _open(self) -> Tag:
        word, before = self.word, self.previous_tag
        if self._surely_verb():
            return "verb"
        if before == "noun" and word in lists.COMPOUND_HEADS and (self.last or self.next in lists.BE):
            return "noun"
        if word in lists.ADVERBS or (word.endswith("ly") and word not in _NOT_LY | lists.ADJECTIVES):
            return "adverb"
        if word in lists.ADJECTIVES and not (self.last and before == "adjective"):
            return "adjective"
        if before in _BEFORE_NOUNS and not word.endswith(_NOUN_ENDINGS):
            return "adjective" if self._describes() else "noun"
        rest: Tag = "adjective" if word.endswith(_ADJECTIVE_ENDINGS) else "noun"
        return "noun" if word.endswith(_NOUN_ENDINGS) else self._verb() or rest

    def _surely_verb(self) -> bool:
        after_helper = self.previous_tag in ("infinitive to", "auxiliary") and self.previous not in lists.HAVE
        return (after_helper and self.word in lists.VERBS) or (self.previous_tag == "be" and self.word.endswith("ing"))

    def _describes(self) -> bool:
        word = self.word
        if self.last or self.next in lists.PREPOSITIONS | lists.CONJUNCTIONS | lists.BE | lists.MODALS:
            return False
        return word.endswith((*_ADJECTIVE_ENDINGS, "ed", "ing")) or word in ("separate", "live", "close", "minute")

    def _verb(self) -> Tag | None:
        word, before = self.word, self.previous_tag
        if self._past():
            return "past"
        if before in ("infinitive to", "auxiliary"):
            return "verb"
        known = stem(word) in _VERB_STEMS
        if before == "be" and word in lists.VERBS:
            return "adjective"
        begins = before is None or (before == "noun" and not self._has_verb() and not self._verb_follows())
        joined = before in ("conjunction", "particle") and word not in lists.ADJECTIVES
        return "verb" if known and (before in _BEFORE_VERBS or begins or joined) else None

    def _past(self) -> bool:
        word = self.word
        if word == "read":
            return any(tag == "past" or said in lists.HAVE for said, tag in self.earlier)
        return (word in lists.IRREGULAR_PAST and word not in lists.VERBS) or (word.endswith("ed") and len(word) > 4)

    def _verb_follows(self) -> bool:
        """ "the winter wind blows": of two, the second is the verb."""
        third_person = self.next.endswith("s") and stem(self.next) in _VERB_STEMS
        return not self.last and not self.word.endswith("s") and (third_person or self.next in lists.BE | lists.MODALS)

    def _has_verb(self) -> bool:
        return any(tag in ("verb", "past", "be", "auxiliary") for _, tag in self.earlier)


def _lands(earlier: Sequence[tuple[str, Tag]]) -> bool:
    """ "sat on the bench", "went in the house": a verb of place just before, and the particle governs what follows."""
    return bool(earlier) and earlier[-1][1] in ("verb", "past") and stem(earlier[-1][0]) in _PLACE_VERBS
