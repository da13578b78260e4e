"""Sentence stress as the textbooks have it, from the text alone.

Content words are stressed and function words are weak; the nucleus is the last content word of a thought group, except
where it was said before, stands in contrast, is the second part of a compound, or a particle follows its verb.
What the teacher marks and how she reads stand beside this rule, never under it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from lessoncut.script.records import Line
from lessoncut.teaching import word_lists as lists
from lessoncut.teaching.parts import CONTENT, Tag, stem, tags
from lessoncut.teaching.records import RuleLine, RuleWord
from lessoncut.teaching.syllables import in_letters
from lessoncut.teaching.thought_groups import ends_of, thought_groups
from lessoncut.wording import Token, phones

GIVEN_LINES = 1
"""How many lines back a word counts as said before."""
_FIRST_STRESS, _LAST_STRESS = ("noun", "adjective", "adverb"), ("verb",)
_STRANDED = lists.words("at for from of to as")
_QUOTES = '"“”‘«»'


def stress(lines: Iterable[Line]) -> tuple[RuleLine, ...]:
    """The rule over lines in order: a word of the line before is given."""
    found: list[RuleLine] = []
    memory: list[frozenset[str]] = []
    for line in lines:
        said = frozenset().union(*memory[-GIVEN_LINES:])
        found.append(stress_of(line, said))
        memory.append(frozenset(stem(w.spoken[-1]) for w in line.tokens))
    return tuple(found)


def stress_of(line: Line, given: frozenset[str] = frozenset()) -> RuleLine:
    """The rule for one line; ``given`` are stems of words that were just said."""
    words = line.tokens
    heads = [word.spoken[0] if len(word.spoken) == 1 else "two" for word in words]
    ends = ends_of(line.text, words)
    parts = tags(heads, question=line.text.rstrip('"”’) ').endswith("?"), ends=ends)
    groups = thought_groups(words, parts, ends)
    nuclei = _nuclei(heads, parts, groups, given)
    weak = _weak_forms(heads, groups)
    made = tuple(
        _word(line.text, word, parts[i], heads, i, ends, nuclei.get(i), weak[i]) for i, word in enumerate(words)
    )
    return RuleLine(line.id, _second_parts(made, heads, parts), groups)


def _word(
    text: str,
    word: Token,
    tag: Tag,
    heads: Sequence[str],
    place: int,
    ends: frozenset[int],
    nucleus: str | None,
    weak_form: str | None,
) -> RuleWord:
    head = heads[place]
    cited = bool(place) and text[word.start - 1] in _QUOTES and text[word.end : word.end + 1] in tuple(_QUOTES + "'’")
    strong = _strong_at_end(head, tag, place in ends) or cited
    content = tag in CONTENT or nucleus is not None
    weak = None if content or strong else weak_form
    sounds = tuple(phone for said in word.spoken for phone in pronunciation(said, tag, weak=weak is not None))
    stressed = content or cited or (strong and tag in ("auxiliary", "be"))
    why = nucleus or _why(tag, strong=strong, cited=cited)
    letters = in_letters(word.text, sounds, word.start) if len(word.spoken) == 1 else ()
    return RuleWord(
        word.text, word.start, word.end, word.spoken, tag, stressed, nucleus is not None, weak, sounds, letters, why
    )  # fmt: skip


def _weak_forms(heads: Sequence[str], groups: Sequence[tuple[int, int]]) -> list[str | None]:
    """Each word's weak form, where it has one: with its h after a stop, and as it is before a vowel."""
    forms = [lists.WEAK_FORMS.get(head) for head in heads]
    for start, end in groups:
        for place in range(start, end):
            form, following = forms[place], phones(heads[place + 1]) if place + 1 < end else ()
            if following and following[0][0][-1].isdigit():
                form = lists.BEFORE_VOWEL.get(heads[place], form)
            if form and place == start and heads[place] in lists.WITH_H:
                form = f"h{form}"
            forms[place] = form
    return forms


def _why(tag: Tag, *, strong: bool, cited: bool) -> str:
    if cited:
        return "named as a word"
    if strong:
        return f"{tag} at the end: strong form"
    return f"{tag}: {'content word' if tag in CONTENT else 'function word'}"


def _strong_at_end(head: str, tag: Tag, last: bool) -> bool:
    """Helping verbs and stranded prepositions keep their full vowel at the end; pronouns stay weak."""
    return last and (tag in ("auxiliary", "be") or (tag == "preposition" and head in _STRANDED))


def pronunciation(word: str, tag: Tag | str, *, weak: bool = False) -> tuple[str, ...]:
    """The phones that fit the part of speech, from CMUdict where it has the word."""
    known = phones(word)
    if not known:
        return ()
    fixed = lists.HETERONYMS.get(word, {}).get(str(tag))
    if fixed:
        return tuple(fixed.split())
    if weak:
        reduced = [sounds for sounds in known if all(p[-1] == "0" for p in sounds if p[-1].isdigit())]
        return (reduced or known)[0]
    wanted = 0 if tag in _FIRST_STRESS else -1 if tag in _LAST_STRESS else None
    if wanted is not None and len({_main_stress(sounds) for sounds in known}) > 1:
        fitting = [s for s in known if _two_syllables(s) and _main_stress(s) == (0 if wanted == 0 else 1)]
        return (fitting or known)[0]
    return known[0]


def _main_stress(sounds: tuple[str, ...]) -> int:
    """Which vowel carries the main stress, from 0."""
    vowels = [phone for phone in sounds if phone[-1].isdigit()]
    return next((place for place, phone in enumerate(vowels) if phone.endswith("1")), 0)


def _two_syllables(sounds: tuple[str, ...]) -> bool:
    return sum(phone[-1].isdigit() for phone in sounds) == 2


def _nuclei(
    heads: Sequence[str], parts: Sequence[Tag], groups: Sequence[tuple[int, int]], given: frozenset[str]
) -> dict[int, str]:
    """The nucleus of each thought group, and why it is there."""
    found: dict[int, str] = {}
    said = set(given)
    for number, (start, end) in enumerate(groups):
        following = groups[number + 1] if number + 1 < len(groups) else None
        place, why = _nucleus(heads, parts, start, end, said, _contrast(heads, parts, (start, end), following))
        if place is not None:
            found[place] = why
        said.update(stem(word) for word in heads[start:end])
    return found


def _nucleus(
    heads: Sequence[str], parts: Sequence[Tag], start: int, end: int, said: set[str], contrast: int | None
) -> tuple[int | None, str]:
    content = [place for place in range(start, end) if parts[place] in CONTENT]
    if not content:
        helping = [place for place in range(start, end) if parts[place] in ("auxiliary", "be") and place == end - 1]
        return (helping[0], "focus: the helping verb stands for the rest") if helping else (None, "")
    if contrast is not None:
        return contrast, "focus: in contrast with what follows"
    weighty = [p for p in content if not _light(heads[p], parts[p]) or parts[p] == "particle"] or content
    fresh = [p for p in weighty if stem(heads[p]) not in said or parts[p] in ("number", "negative")]
    why = "focus: last content word of the thought group"
    if fresh and fresh[-1] != weighty[-1]:
        why = f"focus: “{heads[weighty[-1]]}” was said before"
    place = (fresh or weighty)[-1]
    if parts[place] == "particle":
        return place, "focus: the particle of a phrasal verb"
    if place > start and _compound(heads, parts, place):
        return place - 1, f"focus: first part of the compound with “{heads[place]}”"
    return place, why


def _light(word: str, tag: Tag) -> bool:
    """Words that can follow the focus: late adverbs and indefinite pronouns."""
    return (tag in ("adverb", "interjection") and word in lists.LATE_ADVERBS) or tag == "indefinite pronoun"


def _contrast(
    heads: Sequence[str], parts: Sequence[Tag], group: tuple[int, int], following: tuple[int, int] | None
) -> int | None:
    """ "the RED pen, not the BLUE pen": both groups end in one word, with different content words before it."""
    if following is None:
        return None
    last, next_last = group[1] - 1, following[1] - 1
    same = stem(heads[last]) == stem(heads[next_last]) and parts[last] in CONTENT
    if not same or last == group[0] or next_last == following[0]:
        return None
    differ = heads[last - 1] != heads[next_last - 1] and parts[last - 1] in CONTENT and parts[next_last - 1] in CONTENT
    return last - 1 if differ else None


def _compound(heads: Sequence[str], parts: Sequence[Tag], place: int) -> bool:
    return (
        heads[place] in lists.COMPOUND_HEADS
        and parts[place] == "noun"
        and parts[place - 1] == "noun"
        and not heads[place - 1].endswith("'s")
    )


def _second_parts(words: tuple[RuleWord, ...], heads: Sequence[str], parts: Sequence[Tag]) -> tuple[RuleWord, ...]:
    """The second part of a compound gives its stress up to the first."""
    return tuple(
        replace(word, stressed=False, why="second part of a compound: less stress")
        if place and word.stressed and not word.nucleus and _compound(heads, parts, place)
        else word
        for place, word in enumerate(words)
    )
