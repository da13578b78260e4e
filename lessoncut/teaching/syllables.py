"""Where a word's syllables lie in its letters, and how its sounds are written in the phonetic alphabet.

Letters are laid on phones by the cheapest path through a table of usual English spellings; syllables begin with the
longest row of consonants that can begin an English word (the maximal onset principle).
"""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise

from lessoncut.teaching.records import Syllable
from lessoncut.teaching.word_lists import words

_SPELLINGS = {
    "AA": "o a ah au ea e aa ho oh", "AE": "a ai au", "AH": "u o a e i ou oo io eo ia iou eou ie ai ei y ough ea oe",
    "AO": "o au aw ou oa a oo augh ough ao", "AW": "ou ow ough au hou", "AY": "i y ie igh ye uy eye ei ai eigh is",
    "EH": "e ea a ai ie eo u ay ae", "ER": "er ir ur or ear our ar re yr err urr r eur ure irr ere",
    "EY": "a ai ay ei ey ea eigh e et aigh ee au", "IH": "i y e ui a ie u ee o ei ea ai ia",
    "IY": "e ee ea y ie ei i ey eo ay oe ae is", "OW": "o oa ow oe ou ough eau ew au oh owe", "OY": "oy oi uoy",
    "UH": "oo u ou o", "UW": "oo u ue ew ou o ui ough oe eu ieu wo eau iew oux", "B": "b bb pb", "CH": "ch tch t c cz",
    "D": "d dd ed ld de", "DH": "th the", "F": "f ff ph gh lf fe pph ft", "G": "g gg gh gu gue x",
    "HH": "h wh j", "JH": "j g dg dge d gg ge dj", "K": "c k ck ch cc q qu x kk cqu lk que cch cu ke che",
    "L": "l ll le sl lle", "M": "m mm mb mn lm gm me mme", "N": "n nn kn gn pn ne mn nne nd", "NG": "ng n ngue",
    "P": "p pp ph pe", "R": "r rr wr rh rrh re", "S": "s ss c sc ce se st ps sse sch sce x z sw",
    "SH": "sh s ss t c ch sch ti ci si ssi sci xi che", "T": "t tt ed th te bt pt ght ct cht tte d",
    "TH": "th h tth", "V": "v f ve vv ph lv", "W": "w wh u o", "Y": "y i u j ll", "Z": "z s zz ss x ze se sc si",
    "ZH": "s g z si ge ti x j",
}  # fmt: skip
_GRAPHEMES = {phone: frozenset(spellings.split()) for phone, spellings in _SPELLINGS.items()}
_VOWEL_LETTERS = frozenset("aeiouy")
_VOWELS = words("AA AE AH AO AW AY EH ER EY IH IY OW OY UH UW")
_ONSETS = frozenset(
    tuple(onset.split("_"))
    for onset in words(
        "P_R B_R T_R D_R K_R G_R F_R TH_R SH_R P_L B_L K_L G_L F_L S_L T_W D_W K_W G_W S_W TH_W HH_W P_Y B_Y K_Y G_Y"
        " F_Y V_Y M_Y HH_Y S_P S_T S_K S_M S_N S_F S_P_R S_T_R S_K_R S_P_L S_K_W S_K_Y S_P_Y"
    )
)
_NO_ONSET = frozenset({"NG", "ZH"})
_IPA = {
    "AA": "ɑː", "AE": "æ", "AH": "ʌ", "AO": "ɔː", "AW": "aʊ", "AY": "aɪ", "EH": "e", "ER": "ɜː", "EY": "eɪ",
    "IH": "ɪ", "IY": "iː", "OW": "oʊ", "OY": "ɔɪ", "UH": "ʊ", "UW": "uː", "B": "b", "CH": "tʃ", "D": "d", "DH": "ð",
    "F": "f", "G": "ɡ", "HH": "h", "JH": "dʒ", "K": "k", "L": "l", "M": "m", "N": "n", "NG": "ŋ", "P": "p", "R": "r",
    "S": "s", "SH": "ʃ", "T": "t", "TH": "θ", "V": "v", "W": "w", "Y": "j", "Z": "z", "ZH": "ʒ",
}  # fmt: skip
_IPA_UNSTRESSED = {"AH": "ə", "ER": "ər", "IY": "i", "UW": "u"}
_IPA_STRESSED = {"ER": "ɜːr"}
_NO_LETTER = {"Y": 0.3, "W": 0.8}
_DEAR = 3.0


def bare(phone: str) -> str:
    """The phone without its stress digit."""
    return phone.rstrip("012")


def is_vowel(phone: str) -> bool:
    return bare(phone) in _VOWELS


def ipa_of(phone: str) -> str:
    """One ARPAbet phone in the phonetic alphabet (General American, with length marks)."""
    plain = bare(phone)
    if phone.endswith("0") and plain in _IPA_UNSTRESSED:
        return _IPA_UNSTRESSED[plain]
    return _IPA_STRESSED.get(plain, _IPA[plain])


def ipa(sounds: tuple[str, ...], *, stress: bool = True) -> str:
    """A pronunciation in the phonetic alphabet, with a stress mark before each stressed syllable of a longer word."""
    parts = phone_syllables(sounds)
    written: list[str] = []
    for start, end in parts:
        level = _stress(sounds[start:end])
        mark = {1: "ˈ", 2: "ˌ"}.get(level, "") if stress and len(parts) > 1 else ""
        onset = ""
        if start and sounds[start - 1] == "ER0" and is_vowel(sounds[start]):
            written[-1], onset = written[-1].removesuffix("r"), "r"  # the r of "arrive" begins its second syllable
        written.append(mark + onset + "".join(ipa_of(phone) for phone in sounds[start:end]))
    return "".join(written)


def phone_syllables(sounds: tuple[str, ...]) -> tuple[tuple[int, int], ...]:
    """Half-open ranges of phones, one a syllable; one range for a word without a vowel."""
    nuclei = [place for place, phone in enumerate(sounds) if is_vowel(phone)]
    starts = [0]
    for before, after in pairwise(nuclei):
        between = tuple(bare(phone) for phone in sounds[before + 1 : after])
        longest = next(size for size in range(len(between), -1, -1) if _can_begin(between[len(between) - size :]))
        starts.append(after - longest)
    ends = [*starts[1:], len(sounds)]
    return tuple(zip(starts, ends, strict=True))


@lru_cache(maxsize=1 << 14)
def letters_of(word: str, sounds: tuple[str, ...]) -> tuple[tuple[int, int], ...]:
    """For each phone the half-open range of letters that spell it, in order and without holes.

    A phone that no letter spells (the y in "use") has an empty range.
    """
    letters = word.lower()
    plain = [bare(phone) for phone in sounds]
    nothing = (float("inf"), 0, 0)
    best = [[nothing] * (len(letters) + 1) for _ in range(len(plain) + 1)]
    best[0] = [(_silent(letters, 0, place), 0, 0) for place in range(len(letters) + 1)]
    for p, phone in enumerate(plain, start=1):
        for end in range(len(letters) + 1):
            best[p][end] = min(
                (best[p - 1][start][0] + cost, start, taken)
                for start in range(max(0, end - 5), end + 1)
                for cost, taken in _ways(letters, start, end, phone)
            )
    spans: list[tuple[int, int]] = []
    end = len(letters)
    for p in range(len(plain), 0, -1):
        _, start, _ = best[p][end]
        spans.append((start, end))
        end = start
    spans.reverse()
    if spans:
        spans[0] = (0, spans[0][1])
    return tuple(spans)


def in_letters(word: str, sounds: tuple[str, ...], offset: int = 0) -> tuple[Syllable, ...]:
    """The word's syllables as characters from ``offset`` on. A doubled consonant is shared by both syllables."""
    if not sounds:
        return (Syllable(offset, offset + len(word), 1),)
    spans = letters_of(word, sounds)
    parts = phone_syllables(sounds)
    cuts = [0]
    for start, _ in parts[1:]:
        first, last = spans[start]
        doubled = last - first == 2 and word[first].lower() == word[first + 1].lower() and not is_vowel(sounds[start])
        cuts.append(first + 1 if doubled else first)
    cuts.append(len(word))
    return tuple(
        Syllable(offset + cuts[i], offset + cuts[i + 1], _stress(sounds[start:end]))
        for i, (start, end) in enumerate(parts)
    )


def _stress(sounds: tuple[str, ...]) -> int:
    levels = [int(phone[-1]) for phone in sounds if phone[-1].isdigit()]
    return 1 if 1 in levels else max(levels, default=0)


def _can_begin(consonants: tuple[str, ...]) -> bool:
    if len(consonants) <= 1:
        return not consonants or consonants[0] not in _NO_ONSET
    return consonants in _ONSETS


def _silent(letters: str, start: int, end: int) -> float:
    """What it costs that these letters stand for no sound."""
    return sum(0.3 if letter in "e'-’" else 0.8 if letter in "hgkwpbtu" else 1.5 for letter in letters[start:end])


def _ways(letters: str, start: int, end: int, phone: str) -> list[tuple[float, int]]:
    """(cost, letters that spell the phone) for ``letters[start:end]`` standing for one phone, silent ones after it."""
    if start == end:
        return [(_no_letter(letters, start, phone), 0)]
    ways = []
    for taken in range(1, min(4, end - start) + 1):
        spelt = letters[start : start + taken]
        if spelt in _GRAPHEMES[phone]:
            cost = 0.02 if taken > 1 else 0.05
        elif taken == 1:
            alike = (spelt in _VOWEL_LETTERS) == (phone in _VOWELS)
            cost = 1.0 if alike else _DEAR
        else:
            continue
        ways.append((cost + _silent(letters, start + taken, end), taken))
    return ways


def _no_letter(letters: str, place: int, phone: str) -> float:
    if phone in "SZ" and letters[place - 1 : place] == "x":
        return 0.05
    if phone == "AH" and letters[place - 1 : place] in ("m", "l", "r"):
        return 1.0
    return _NO_LETTER.get(phone, _DEAR)
