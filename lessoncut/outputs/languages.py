"""Languages as containers name them: three letters."""

from __future__ import annotations

_CODES = """
af afr am amh ar ara as asm az aze ba bak be bel bg bul bn ben bo bod br bre bs bos ca cat cs ces cy cym da dan de deu
el ell en eng eo epo es spa et est eu eus fa fas fi fin fo fao fr fra ga gle gl glg gu guj ha hau he heb hi hin hr hrv
ht hat hu hun hy hye id ind ig ibo is isl it ita ja jpn jv jav ka kat kk kaz km khm kn kan ko kor ku kur ky kir la lat
lb ltz ln lin lo lao lt lit lv lav mg mlg mi mri mk mkd ml mal mn mon mr mar ms msa mt mlt my mya nb nob ne nep nl nld
nn nno no nor oc oci pa pan pl pol ps pus pt por ro ron ru rus rw kin sa san sd snd si sin sk slk sl slv sn sna so som
sq sqi sr srp su sun sv swe sw swa ta tam te tel tg tgk th tha tk tuk tl tgl tr tur tt tat ug uig uk ukr ur urd uz uzb
vi vie wo wol xh xho yi yid yo yor zh zho zu zul
"""
_LONG = dict(zip(_CODES.split()[::2], _CODES.split()[1::2], strict=True))

UNDETERMINED = "und"


def three_letters(tag: str) -> str:
    """The ISO 639-2 (terminology) code of a BCP 47 tag's language; ``und`` where there is none."""
    language = tag.partition("-")[0].lower()
    if len(language) == 3 and language.isascii() and language.isalpha():
        return language
    return _LONG.get(language, UNDETERMINED)
