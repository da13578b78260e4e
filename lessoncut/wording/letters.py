"""From letters to sounds for words that no dictionary has: rules for English, and the phonetic alphabet itself.

At each place of the word the first rule that fits is taken, longest spellings first. Meant for a forced aligner and
for telling words apart: it knows no stress, and gives vowels their full sound.
"""

from __future__ import annotations

import re

_C, _V = "[^aeiouy]", "[aeiouy]"
_RULES_WRITTEN = rf"""
^ae IY | ai EY | air(?!{_V}) EH R | augh(?=t) AO | augh AE F | au AO | aw AO | ay EY | ^a(?={_C}{{2}}) AE
alk\b AO K | all\b AO L | all(?=s\b) AO L | ^al(?=[mrwt]) AO L | alf\b AE F | alv(?=e) AE V | alm\b AA M
are\b EH R | ar(?=e[sd]\b) EH R | arr AE R | ^ar(?={_V}) ER | (?<=w)ar AO R | ar\b AA R | ar(?={_C}) AA R
ar(?=[iy]) EH R | ar AE R
age\b IH JH | (?<={_C})ate\b EY T | able\b AH B AH L | ably\b AH B L IY | ance\b AH N S | ant\b AH N T
al\b AH L | ally\b AH L IY | an\b AH N | a\b AH | (?<=w)a(?=[nst]) AA
aste\b EY S T | ange\b EY N JH | a(?={_C}e\b) EY | a(?={_C}e[sd]\b) EY | a(?={_C}ing\b) EY
a(?=ti) EY | a(?=[cs]i[oa]) EY
a(?=(?:bl|cl|pl|tl)e) EY | aa AA | ah AA | a AE
bb B | mb\b M | (?<=m)b\b _ | (?<=m)b(?=s\b) _ | b B
cch K | tch CH | (?<=s)ch(?=[oem]) K | ^chr K R | ch(?=[rlm]) K | ch CH | ck K | ^cz CH | cqu K W
cc(?=[eiy]) K S | cc K | ci(?=[aoe]) SH | (?<=s)c(?=[eiy]) _ | c(?=[eiy]) S | c K
dge JH | dg(?=[iy]) JH | dd D | (?<=[tdw])ed\b IH D | (?<=[pkfsxh])ed\b T | (?<=[c])ed\b T | ed\b D | ^dj JH | d D
eigh EY | eir(?!{_V}) EH R | ei(?=[nlv]) EY | (?<=c)ei IY | ei AY | eu Y UW | ew UW | ey\b IY | ey EY
ea(?=[dltv][^e]) EH | ea(?=d\b) EH | ear(?=[dln]) ER | ear\b IH R | ea IY | eer IH R | ee IY
eau OW | ere\b IH R | err EH R | er\b ER | er(?={_C}) ER | ^er(?={_V}) EH R | er(?=i) IH R | er ER
(?<=[sxzcg])es\b AH Z | (?<=[cs]h)es\b AH Z | (?<={_C})es\b Z | ely\b L IY | ement\b M AH N T | eful\b F AH L
eless\b L AH S | eness\b N AH S | ess\b AH S
en\b AH N | ent\b AH N T | ence\b AH N S | el\b AH L | et\b AH T | em\b AH M | e(?={_C}e\b) IY
^(?:e)(?={_C}\b) EH | (?<=^{_C})e\b IY | (?<=^{_C}{_C})e\b IY | (?<={_V})e\b _ | (?<={_C})e\b _
^be(?={_C}{_V}) B IH | ^de(?={_C}{_V}) D IH | ^re(?={_C}{_V}) R IY | ^e(?={_C}{_V}) IH | eo IY AH | e EH
ff F | f F
^gn N | gn\b N | gh\b _ | gh(?=t) _ | ^gh G | (?<={_V})gh _ | gg G | ge(?=[ao]) JH | gu(?=[ei]) G | gue\b G
g(?=e[rt]) G | g(?=i[vrgl]) G | (?<=n)ge\b JH | g(?=[eiy]) JH | g G
^hon AA N | (?<={_V})h(?={_C}) _ | (?<={_V})h\b _ | h HH
igh AY | ign\b AY N | ied\b IY D | ier\b IY ER | ies\b IY Z | (?<=^{_C})ie AY | ie IY | ia\b IY AH
ing\b IH NG | ings\b IH NG Z | ism\b IH Z AH M | ist\b IH S T | ity\b AH T IY | ice\b AH S | (?<={_C})ine\b AY N
ition IH SH AH N | ive\b IH V | ique\b IY K | ire\b AY ER | ir(?={_V}) IH R | ir ER | ild\b AY L D | ind\b AY N D
ization AH Z EY SH AH N | ious\b IY AH S | ian\b IY AH N | io IY OW | (?<={_C})i\b IY
i(?={_C}e\b) AY | i(?={_C}e[sd]\b) AY | i(?={_C}ing\b) AY | i(?=[bdtfgk]le) AY
^bi(?={_V}) B AY | ^i(?={_C}{_C}) IH | i IH
j JH
^kn N | kh K | kk K | k K
(?<={_C})le\b AH L | (?<={_C})les\b AH L Z | (?<={_C})led\b AH L D | ll L | (?<=[ao])lk K | (?<=ou)ld D | l L
^mc M AH K | ^mac(?=[^aeiouyhk]) M AH K | ^mn N | mn\b M | mm M | m M
ngue\b NG | ng\b NG | ngs\b NG Z | ng(?=[lr]) NG G | nk NG K | nx NG K S | nn N | n(?=[g][aou]) NG | n N
oa OW | oor AO R | ook UH K | ood\b UH D | oot\b UH T | oo UW | ough(?=t) AO | ough\b OW | ould UH D | ous\b AH S
ous(?=[nl]) AH S | ound AW N D | our\b AO R | our(?={_C}) AO R | oup UW P | ou AW | ow\b OW | ow(?=[nls]) OW | ow AW
oy OY | oi OY | oe\b OW | oes\b OW Z | ore AO R | orr AO R | (?<=w)or ER | or\b ER | ors\b ER Z | or AO R
old OW L D | olk OW K | oll\b OW L | ost\b OW S T | oth\b OW TH
on\b AH N | ons\b AH N Z | om\b AH M | o\b OW | os\b OW Z
ology AA L AH JH IY | o(?={_C}e\b) OW | o(?={_C}e[sd]\b) OW | o(?={_C}ing\b) OW | (?<=[^aeiouy])one\b OW N | o(?=ti) OW
o(?=[bcgpt]le) OW | o(?={_C}[iu]) OW | o AA
^pn N | ^ps S | ^pt T | ph F | pp P | p P
que\b K | quet\b K EY | qu K W | q K
(?<=[bgt])re\b ER | (?<=[bgt])res\b ER Z | rrh R | rh R | rr R | r R
sch(?=[^eio]) SH | sch S K | sh SH | ssion SH AH N | (?<={_V})sion ZH AH N | sion SH AH N | (?<={_V})sur ZH ER
ssur SH ER | ss S | (?<=[bdglmnrv])s\b Z | (?<=[aeiouy])s(?=[aeiouy]) Z | (?<=[eiay])s\b Z | (?<={_V})sm\b Z AH M
(?<={_V})se\b Z | (?<=r)se\b S | s(?=t(?:le|en)\b) S | s S
tion SH AH N | (?<=s)tion CH AH N | tial SH AH L | tient SH AH N T | tia SH AH | tious SH AH S | ture CH ER | tur CH ER
tual CH UW AH L | (?<=s)t(?=(?:le|en)\b) _ | th(?=e[rn]?\b) DH | thm DH AH M | (?<={_V})ther DH ER
th TH | tt T | tz T S | t T
ue\b UW | ui UW | uy AY | ur(?={_V}) Y UH R | ur ER | ^un AH N | ^up AH P | um\b AH M | us\b AH S | ull UH L | ush UH SH
ul\b AH L | u(?={_C}e\b) UW | u(?={_C}e[sd]\b) UW | u(?={_C}[iao]) Y UW | (?<=[gq])u(?={_V}) W | u\b UW | u AH
v V
^wr R | ^who HH UW | wh W | ^war W AO R | ^wor W ER | (?<=[aeo])w _ | w W
^x Z | x K S
^y Y | (?<={_C})y\b IY | (?<=^{_C})y\b AY | (?<=^{_C}{_C})y\b AY | ying\b IY IH NG | yr IH R
y(?={_C}e\b) AY | y(?={_V}) Y | y IH
zz Z | (?<=t)z S | z Z
"""
_LETTER_NAMES = {
    "a": "EY", "b": "B IY", "c": "S IY", "d": "D IY", "e": "IY", "f": "EH F", "g": "JH IY", "h": "EY CH", "i": "AY",
    "j": "JH EY", "k": "K EY", "l": "EH L", "m": "EH M", "n": "EH N", "o": "OW", "p": "P IY", "q": "K Y UW",
    "r": "AA R", "s": "EH S", "t": "T IY", "u": "Y UW", "v": "V IY", "w": "D AH B AH L Y UW", "x": "EH K S",
    "y": "W AY", "z": "Z IY",
}  # fmt: skip
_BARE = {
    "b": "B", "c": "K", "d": "D", "f": "F", "g": "G", "h": "HH", "j": "JH", "k": "K", "l": "L", "m": "M", "n": "N",
    "p": "P", "r": "R", "s": "S", "t": "T", "v": "V", "w": "W", "y": "Y", "z": "Z",
    "sh": "SH", "th": "TH", "ch": "CH", "ng": "NG", "zh": "ZH",
}  # fmt: skip
# Symbols of the International Phonetic Alphabet, and the ARPAbet phone that CMUdict uses for each (its own table of
# phones, with the British vowels laid on their nearest American ones).
_PHONETIC = {
    "tʃ": "CH", "dʒ": "JH", "aɪ": "AY", "aʊ": "AW", "eɪ": "EY", "ɔɪ": "OY", "oʊ": "OW", "əʊ": "OW", "ɪə": "IH R",
    "eə": "EH R", "ʊə": "UH R", "iː": "IY", "uː": "UW", "ɑː": "AA", "ɔː": "AO", "ɜː": "ER", "ɝ": "ER", "ɚ": "ER",
    "θ": "TH", "ð": "DH", "ʃ": "SH", "ʒ": "ZH", "ŋ": "NG", "ɹ": "R", "ɡ": "G", "j": "Y", "æ": "AE", "ɪ": "IH",
    "ʊ": "UH", "ə": "AH", "ʌ": "AH", "ɒ": "AA", "ɑ": "AA", "ɔ": "AO", "ɜ": "ER", "ɛ": "EH", "i": "IY", "u": "UW",
    "e": "EH", "o": "OW", "a": "AE", "x": "K", "ʔ": "T",
    **{letter: letter.upper() for letter in "bdfgklmnprstvwz"}, "h": "HH",
}  # fmt: skip
_PHONETIC_ONLY = frozenset("ʃʒθðŋɹɡæɪʊəʌɒɑɔɜɝɚɛʔː")
_PHONETIC_PATTERN = re.compile("|".join(sorted(map(re.escape, _PHONETIC), key=len, reverse=True)))
_VOWELS = frozenset(("AA", "AE", "AH", "AO", "AW", "AY", "EH", "ER", "EY", "IH", "IY", "OW", "OY", "UH", "UW"))
_LONGEST = 64


def _rules() -> dict[str, list[tuple[re.Pattern[str], tuple[str, ...]]]]:
    """Rules by the letter they begin at, in order."""
    rules: dict[str, list[tuple[re.Pattern[str], tuple[str, ...]]]] = {}
    for written in re.split(r" \| |\n", _RULES_WRITTEN.strip()):
        pattern, *phones = re.split(r" (?=[A-Z_])| (?=[A-Z]+$)", written)
        spelling = re.sub(r"\(\?<[=!][^)]*\)|\(\?:|[\^]", "", pattern)
        rules.setdefault(spelling[0], []).append((re.compile(pattern), tuple(p for p in phones if p != "_")))
    return rules


_BY_LETTER = _rules()


_LONE_VOWEL = re.compile(r"(?<![aeiouy])([aeiou])(?![aeiouy]|r(?![aeiouy]))")
_PURE = {"a": "AA", "e": "EH", "i": "IY", "o": "OW", "u": "UW"}


def pronounced(word: str) -> tuple[str, ...]:
    """A likely pronunciation of a normalised word; the first vowel carries the stress. Empty for other alphabets."""
    if not _PHONETIC_ONLY.isdisjoint(word):
        found = (_PHONETIC[match.group()] for match in _PHONETIC_PATTERN.finditer(word))
        return _stressed([phone for phones in found for phone in phones.split()])
    letters = re.sub(r"[^a-z]", "", word[:_LONGEST])
    if not re.search(r"[aeiouy]", letters):
        return _stressed(_without_vowels(letters))
    letters = re.sub(r"(.)\1{2,}", r"\1", letters)
    return _stressed(_by_rules(letters))


def as_a_name(word: str) -> tuple[str, ...]:
    """The same with the vowels that most languages have, as names are said; empty where a letter is none of English."""
    letters = word[:_LONGEST]
    if not re.fullmatch(r"[a-z]*[aeiou][a-z]*", letters):
        return ()
    return _stressed(_by_rules(letters, _PURE))


def bare_sound(letter: str) -> tuple[str, ...]:
    """The sound a consonant letter stands for, apart from its name; empty for vowels."""
    return tuple(_BARE.get(letter, "").split())


def _without_vowels(letters: str) -> list[str]:
    """``vvv`` and ``shh`` are held sounds; other rows of consonants are spelt out."""
    held = re.sub(r"(.)\1+", r"\1", letters)
    if held in _BARE and held != letters:
        return _BARE[held].split()
    return [phone for letter in letters for phone in _LETTER_NAMES[letter].split()]


def _by_rules(letters: str, pure: dict[str, str] | None = None) -> list[str]:
    """``pure``: what a vowel letter that stands by itself is instead."""
    phones: list[str] = []
    at = 0
    while at < len(letters):
        if pure and (vowel := _LONE_VOWEL.match(letters, at)):
            open_end = vowel[1] == "a" and at in (0, len(letters) - 1)
            phones.append("AH" if open_end else pure[vowel[1]])
            at += 1
            continue
        for pattern, sounds in _BY_LETTER[letters[at]]:
            match = pattern.match(letters, at)
            if match:
                phones += sounds
                at = match.end()
                break
    return phones


def _stressed(phones: list[str]) -> tuple[str, ...]:
    stressed = False
    out = []
    for phone in phones:
        if phone not in _VOWELS:
            out.append(phone)
        else:
            out.append(f"{phone}{0 if stressed else 1}")
            stressed = True
    return tuple(out)
