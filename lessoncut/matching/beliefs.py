"""How sure it is that a difference was read and not misheard, by all that is known of it: what the sound says, how
likely the recogniser finds it, and how the line's other readings were heard."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace

from lessoncut import wording
from lessoncut.matching.differences import (
    EVEN,
    LEAST_APART,
    SURELY_HEARD,
    are_telling,
    is_guessed,
    is_word_for_word,
)
from lessoncut.matching.fillers import FILLERS
from lessoncut.matching.records import Change

LEAST_EVIDENCE = 12.5
"""In log score a frame: of the sound, with all else that speaks for a change turned into it."""
LEAST_SUPPORT = 5.0
"""Of the sound by itself."""
SMALL_WORDS_COST = 12.5
"""Changes that are not one word for another must have so much more evidence."""
SOUND_WORTH, PROBABILITY_WORTH = 3.0, 30.0
"""What another sound apart, and all the probability there is, are worth as evidence."""
ELSEWHERE_RIGHT, ELSEWHERE_SAME = 4.0, 25.0
"""What it is worth that the line's other readings were heard as the script; or as many as this one, as words are that
the recogniser cannot tell apart in this voice."""
LEAST_GAIN, CLEAR_CONFIDENCE = 1000.0, 0.85
"""How much better the sound must fit with words left out, put in or swapped, summed over frames, where nothing but the
sound tells: what a recogniser lost is worth less than 500."""
LEAST_WORTH, LEAST_GAIN_OF_LIKELY, LEAST_GAIN_OF_KNOWN = 5.0, 600.0, 100.0
"""How much likelier the line is with a change, times how probable its words are; and how much better the sound need fit
then, the last where the script's words are known to be heard in her voice."""
LIKELIER, KNOWN_LIKELIER, MOVED_LIKELIER = 5.0, 3.0, 3.5
"""How much likelier the recogniser finds the line with the change than as it stands, in natural logarithms; where it
heard the script's words in another reading, and never these; with words but left out, put in or swapped."""
COUNTED_LIKELIER, COUNTED = 1.5, 0.45
"""The same for one number, or one day of the week, in place of another that is known to be heard right in her voice,
and how probable it must be: recognisers seldom take these for each other. Of 30 that were read so 29 were likelier by
1.9 and more, and none of three that were not."""
ALIKE, GAIN_OF_ALIKE, LIKELIER_ALIKE = 1.05, 600.0, 10.0
"""Up to here the sound is what it is in another reading: then so much must speak for a change."""
ALIKE_UNKNOWN, GAIN_OF_ALIKE_UNKNOWN, LIKELIER_ALIKE_UNKNOWN = 1.2, 2500.0, 16.0
"""The same where no reading was heard as the script: of seven such changes two had been read, in every pass; one was
the likeliest, and the other lay better by far."""
JOINING = frozenset(("and", "oh", "point"))
"""Words of numbers that are none."""
NEAR_SUPPORT = 10.0
"""Of the sound by itself for a word that is but one sound from the script's; it must be known to be heard in her voice,
too."""
LIKELIHOOD_WORTH = 1.5
"""What each more of that is worth as evidence for words of clearly other sounds, unless other readings were heard with
the change, too."""
CLEARLY_LIKELIER, LIKELIER_APART, CLEARLY_APART = 12.0, 10.0, 3
"""So much likelier the words were said, if they were heard surely and have clearly other sounds, unless they lie worse
on the sound than the script's; and where so many sounds are others, and they lie better on it."""
SURELY_KNOWN = 0.95
"""Of another word where the script's was heard in another reading, and never this one: hardly any is a mishearing."""
FEWEST_RIGHT, LIKELIER_OF_SURE = 2, 4.0
"""Of so many readings that were heard as the script, where one word was surely heard for another, so much likelier, and
sound and aligner do not gainsay it: in 51 takes three were read so, and none was not."""
LIKELIER_ALONE = 15.0
"""How much likelier a line that is read but once must be with a word that sounds nearly as the script's: of four that
were likelier by 6.0 to 12.7 none was read so."""
HEARD_ONCE = 0.8
"""So surely a line that is read but once must have been heard to be misread: of three that were heard less so none
was."""
LEAST_SUPPORT_OF_KNOWN = 0.0
FAR_SUPPORT, FAR_LIKELIER = 40.0, 10.0
"""From where on even what was heard for a name was said, and a word that is but one sound from the script's."""


@dataclass(frozen=True)
class Bar:
    """How unlike the line's other readings the sound of a change must be, how much likelier the recogniser must find
    it, and how much better the sound must fit it, for it to be believed."""

    unlike: float
    likelier: float
    gain: float


OTHERWISE_KNOWN = Bar(1.4, 4.0, -150.0)
"""Where the script's words are known to be heard right in her voice: of such differences in 270 takes, 143 were read so
and one was not. Where a word was but misheard the sound is so unlike at one in fifteen."""
OTHERWISE_AGREED, SUPPORT_OF_AGREED = Bar(1.5, 1.0, 250.0), 5.0
"""The same where the aligner speaks for it as well: of nine such differences in 60 takes all were read so."""
OTHERWISE_UNSURE = Bar(1.6, 2.0, -150.0)
"""The same at a line's first word, which may be laid badly, and for small words."""
OTHERWISE = Bar(1.4, 4.0, 550.0)
"""Where nobody knows how they are heard in her voice: 33 were read so, three were not."""
OTHERWISE_ALWAYS = Bar(1.4, 10.0, 550.0)
"""Where they are heard so in another reading, too, and in none as the script: three were not read so."""
OTHERWISE_LONGER, OTHERWISE_SHORTER = Bar(1.2, 2.0, 200.0), Bar(2.3, 3.0, 0.0)
"""Words put in or swapped (16 and none), and left out (13 and one), or heard as fewer: little sound is another sound
before long."""


@dataclass(frozen=True)
class Facts:
    """What is known of a difference.

    ``probability`` is the recogniser's of the words heard; ``likelier``, how much likelier it finds the line with them,
    None where nobody can tell; ``gain``, how much better the whole reading fits the sound with them, summed over
    frames. ``right`` of the line's other readings were heard as the script there, ``same`` as this one. What is not
    ``of_passage`` explains sounds, with words that are taken for one another. ``slight``: the text alone does not speak
    for it. ``named``: for names recognisers make other words, each time anew. ``unlike``: how many times as far as is
    usual for two readings of the line its sound is there from that of the nearest other one, of those heard as the
    script if there are any; None where nobody can tell. ``alone``: there is no other
    reading of the line.
    """

    change: Change
    probability: float
    likelier: float | None
    gain: float
    right: int
    same: int
    of_passage: bool = True
    slight: bool = False
    named: bool = False
    unlike: float | None = None
    alone: bool = False

    @property
    def known(self) -> bool:
        """Whether the script's words are heard right in her voice, and these are not always heard for them."""
        return self.right > 0 and not self.same


def is_worth_asking(facts: Facts) -> bool:
    """Whether anything that the sound may say would make it believed."""
    if _is_another_count(facts) or _is_likely_otherwise(facts) or _may_be_agreed(facts):
        return True
    if facts.slight:
        return _is_likely(facts)
    return is_likelier(facts.change, facts.likelier, KNOWN_LIKELIER if facts.known else LIKELIER)


def confidence_of(facts: Facts) -> float:
    """How sure it is that the words were read so; 0 where too little speaks for it."""
    if _is_surely_heard_for_known(facts):
        return CLEAR_CONFIDENCE
    if _sounds_the_same(facts) or _is_hardly_likely_alone(facts):
        return 0.0
    otherwise = _is_likely_otherwise(facts) and facts.gain >= _bar(facts).gain
    if otherwise or _are_agreed(facts) or _is_another_count(facts) or (_is_likely(facts) and _fits(facts)):
        return CLEAR_CONFIDENCE
    return 0.0 if facts.slight else _of_what_is_clear(facts)


def _of_what_is_clear(facts: Facts) -> float:
    """The same for what the text alone speaks for."""
    if not facts.of_passage and facts.probability < HEARD_ONCE:
        return 0.0
    if is_moved(facts.change):
        return CLEAR_CONFIDENCE if _fits_by_itself(facts) else 0.0
    if _is_new_to_her(facts) and not (facts.right or _is_far(facts)):
        return 0.0
    return _of_words_for_others(facts)


def is_likelier(change: Change, by: float | None, least: float = LIKELIER) -> bool:
    """Whether the line with the change is so much likelier that it may have been read. Words said twice, and sounds of
    hesitation, are left out by recognisers themselves."""
    if by is None:
        return True
    if not is_moved(change):
        return by >= least
    return by >= MOVED_LIKELIER or _is_stumble(change)


def is_moved(change: Change) -> bool:
    """Whether words were but left out, put in or swapped."""
    script, heard = Counter(change.script), Counter(change.heard)
    return script <= heard or heard <= script


def evidence(change: Change, probability: float, elsewhere_right: int, elsewhere_same: int) -> float:
    """All that speaks for the change, in log score a frame.

    Little more than the sound is known but of one word for another.
    ``elsewhere_right`` of the line's other readings were heard as the script there, ``elsewhere_same`` as this one.
    """
    found = change.support - (ELSEWHERE_SAME if elsewhere_same >= max(1, elsewhere_right) else 0.0)
    if not is_word_for_word(change):
        return found - SMALL_WORDS_COST
    found += PROBABILITY_WORTH * (probability - SURELY_HEARD)
    found += SOUND_WORTH * (wording.sounds_apart(change.script, change.heard) - LEAST_APART)
    return found + ELSEWHERE_RIGHT if elsewhere_right and not elsewhere_same else found


def _is_stumble(change: Change) -> bool:
    """Whether all that was put in are sounds of hesitation, or words that were said twice."""
    heard = Counter(change.heard)
    added = heard - Counter(change.script)
    return bool(added) and all(word in FILLERS or heard[word] > 1 for word in added)


def _is_another_count(facts: Facts) -> bool:
    """Whether it is one number, or day, for another, likelier than the script's, which is known to be heard in her
    voice."""
    pair = (*facts.change.script, *facts.change.heard)
    if len(pair) != 2 or pair[0] == pair[1] or not (facts.known and facts.of_passage):
        return False
    return _are_of_a_kind(pair) and facts.probability >= COUNTED and _by_at_least(facts.likelier, COUNTED_LIKELIER)


def _are_of_a_kind(pair: tuple[str, ...]) -> bool:
    """Whether all are days of the week; or numbers that count, or all of them such as put in order."""
    numbers = all(map(wording.is_number, pair)) and not JOINING.intersection(pair)
    in_order = {word == "second" or word.endswith(("th", "st", "rd")) for word in pair}
    return all(map(wording.is_weekday, pair)) or (numbers and len(in_order) == 1)


def _is_surely_heard_for_known(facts: Facts) -> bool:
    """Whether one word was surely heard in the place of another that several readings have as the script has it."""
    change = facts.change
    if not (change.is_one_for_one and facts.of_passage) or _is_new_to_her(facts):
        return False
    known = facts.known and facts.right >= FEWEST_RIGHT
    sure = facts.probability >= SURELY_KNOWN and _by_at_least(facts.likelier, LIKELIER_OF_SURE)
    return known and sure and facts.gain >= 0 and change.support >= 0


def _is_hardly_likely_alone(facts: Facts) -> bool:
    """Whether the line was read but once, and is not far likelier with words that sound nearly as the script's."""
    if not facts.alone or facts.likelier is None or is_moved(facts.change):
        return False
    near = wording.sounds_apart(facts.change.script, facts.change.heard) <= LEAST_APART
    return near and facts.likelier < LIKELIER_ALONE


def _sounds_the_same(facts: Facts) -> bool:
    """Whether the sound is what it is in another reading, and little else speaks for the change."""
    alike, gain, likelier = (
        (ALIKE, GAIN_OF_ALIKE, LIKELIER_ALIKE)
        if facts.right
        else (ALIKE_UNKNOWN, GAIN_OF_ALIKE_UNKNOWN, LIKELIER_ALIKE_UNKNOWN)
    )
    same = facts.unlike is not None and facts.unlike <= alike
    return same and facts.gain < gain and not _by_at_least(facts.likelier, likelier)


def may_sound_otherwise(facts: Facts) -> bool:
    """Whether the sound is another than in the line's other readings, so that the change may be believed."""
    return facts.of_passage and facts.unlike is not None and facts.unlike >= _bar(facts).unlike


def _is_likely_otherwise(facts: Facts) -> bool:
    return may_sound_otherwise(facts) and _by_at_least(facts.likelier, _bar(facts).likelier)


def _may_be_agreed(facts: Facts) -> bool:
    """Whether one word for another, known to be heard in her voice, is somewhat likelier and sounds otherwise."""
    if not (facts.change.is_one_for_one and facts.known and facts.of_passage):
        return False
    unlike = facts.unlike is not None and facts.unlike >= OTHERWISE_AGREED.unlike
    return unlike and _by_at_least(facts.likelier, OTHERWISE_AGREED.likelier)


def _are_agreed(facts: Facts) -> bool:
    """Whether all that is known speaks for it, be it little."""
    sound = facts.gain >= OTHERWISE_AGREED.gain and facts.change.support >= SUPPORT_OF_AGREED
    return sound and _may_be_agreed(facts)


def _bar(facts: Facts) -> Bar:
    change = facts.change
    fewer = len(change.heard) < len(change.script)
    if is_moved(change):
        return OTHERWISE_SHORTER if fewer else OTHERWISE_LONGER
    bar = _bar_of_words(facts)
    return replace(bar, unlike=OTHERWISE_SHORTER.unlike) if fewer else bar


def _bar_of_words(facts: Facts) -> Bar:
    """The same for words in the place of others."""
    change = facts.change
    if not facts.known:
        return OTHERWISE_ALWAYS if facts.same and not facts.right else OTHERWISE
    unsure = change.first == 0 or not are_telling((*change.script, *change.heard))
    return OTHERWISE_UNSURE if unsure else OTHERWISE_KNOWN


def _is_likely(facts: Facts) -> bool:
    """Whether likelihood and probability together speak much for it."""
    if not facts.of_passage or facts.likelier is None or facts.probability < EVEN:
        return False
    return facts.probability * facts.likelier >= LEAST_WORTH


def _fits(facts: Facts) -> bool:
    """Whether the sound speaks for what is likely: clearly, or somewhat where the script's words are known to be heard
    in her voice."""
    clearly = facts.gain >= LEAST_GAIN_OF_LIKELY
    if is_moved(facts.change):
        return clearly
    somewhat = facts.known and facts.gain >= LEAST_GAIN_OF_KNOWN
    return not facts.same and not _is_new_to_her(facts) and (clearly or somewhat)


def _is_new_to_her(facts: Facts) -> bool:
    """Whether nobody can tell how she says the script's word: a name, or in no dictionary."""
    return facts.named or is_guessed(facts.change)


def _fits_by_itself(facts: Facts) -> bool:
    """Whether the sound alone tells that words were left out, put in or swapped that recognisers seldom lose or
    invent."""
    return are_telling(_moved_words(facts.change)) and facts.gain >= LEAST_GAIN


def _is_far(facts: Facts) -> bool:
    """Whether sound and recogniser speak so much for it that nothing else need be known."""
    return _by_at_least(facts.likelier, FAR_LIKELIER) and facts.change.support >= FAR_SUPPORT


def _by_at_least(likelier: float | None, least: float) -> bool:
    return likelier is not None and likelier >= least


def _of_words_for_others(facts: Facts) -> float:
    """How sure it is that words stood for others."""
    change, likelier = facts.change, facts.likelier
    if facts.same and facts.probability < EVEN:
        return 0.0  # rather the recogniser's own, each time anew
    apart = wording.sounds_apart(change.script, change.heard)
    surely = facts.probability >= SURELY_HEARD and apart > LEAST_APART
    others = apart >= CLEARLY_APART and facts.gain >= LEAST_GAIN_OF_LIKELY
    clear = surely and facts.gain >= 0 and _by_at_least(likelier, LIKELIER_APART if others else CLEARLY_LIKELIER)
    alone = apart >= LEAST_APART and _is_heard_here_alone(facts) and _by_at_least(likelier, LIKELIER_APART)
    another = facts.known and likelier is not None and facts.probability >= SURELY_KNOWN and _is_surely_another(change)
    if clear or alone or another:
        return CLEAR_CONFIDENCE
    told_apart = facts.known and likelier is not None and change.support >= NEAR_SUPPORT
    too_near = apart < LEAST_APART and not (told_apart or _is_far(facts))
    found = evidence(change, facts.probability, facts.right, facts.same)
    if likelier is not None and apart > LEAST_APART and not facts.same:
        found += LIKELIHOOD_WORTH * (likelier - LIKELIER)
    too_little = found < LEAST_EVIDENCE or change.support < LEAST_SUPPORT
    return 0.0 if too_near or too_little else min(0.95, 0.6 + found / 60)


def _is_heard_here_alone(facts: Facts) -> bool:
    """Whether it was heard so surely here, and in no other reading, and the sound is rather that."""
    here_alone = facts.of_passage and not facts.same
    return here_alone and facts.probability >= SURELY_KNOWN and facts.gain >= LEAST_GAIN_OF_KNOWN


def _is_surely_another(change: Change) -> bool:
    """Whether it is one word for one, not both of them small but for a "not", and the sound does not gainsay it."""
    both = (*change.script, *change.heard)
    says_not = any(word.endswith("n't") for word in both)
    return len(both) == 2 and (are_telling(both) or says_not) and change.support >= LEAST_SUPPORT_OF_KNOWN


def _moved_words(change: Change) -> list[str]:
    """Those left out, or put in; of words that were swapped, all."""
    script, heard = Counter(change.script), Counter(change.heard)
    return list(((script - heard) or (heard - script) or script).elements())
