"""Short forms and signs: how each is said, and in the ``OTHER_`` tables how else, likelier ones first between strokes.

Common practice of British and American English, no source.
"""

from __future__ import annotations

from lessoncut.wording import dates

TITLES = {"mr": "mister", "mrs": "missus", "dr": "doctor", "messrs": "messieurs"}
"""Said in full with or without their full stop."""
SHORT = {
    "prof": "professor", "rev": "reverend", "gen": "general", "capt": "captain", "sgt": "sergeant", "lt": "lieutenant",
    "hon": "honourable", "jr": "junior", "sr": "senior", "mt": "mount", "ave": "avenue", "rd": "road",
    "blvd": "boulevard", "vs": "versus", "etc": "et cetera", "approx": "approximately", "dept": "department",
    "ltd": "limited", "ph.d": "p h d", "apt": "apartment", "ext": "extension", "esp": "especially",
    "incl": "including", "misc": "miscellaneous", "encl": "enclosed", "para": "paragraph", "exp": "expires",
}  # fmt: skip
"""Said in full where their full stop is written."""
RANKS = {short.title(): SHORT[short] for short in ("rev", "prof", "capt", "sgt", "lt", "hon")} | {
    "Revd": "reverend", "Cpl": "corporal", "Cllr": "councillor", "Supt": "superintendent", "Insp": "inspector",
    "Cmdr": "commander", "Fr": "father", "Gov": "governor", "Sen": "senator",
}  # fmt: skip
"""Said in full before a name, with or without their full stop."""
COMPASS = {"NE": "north east", "NW": "north west", "SE": "south east", "SW": "south west"}
SYMBOLS = {
    "&": "and", "%": "percent", "+": "plus", "=": "equals", "@": "at", "×": "times", "÷": "divided by",
    "°": "degrees", "°c": "degrees celsius", "°f": "degrees fahrenheit", "≥": "is greater than or equal to",
    "≤": "is less than or equal to", "≠": "is not equal to", "±": "plus or minus", "√": "the square root of",
    ">": "is greater than", "<": "is less than", "#": "hash",
}  # fmt: skip
SLASHED = {
    "w/o": "without", "c/o": "care of", "and/or": "and or", "he/she": "he or she", "she/he": "she or he",
    "his/her": "his or her", "him/her": "him or her",
}  # fmt: skip
OTHER_SYMBOLS = {
    "%": "per cent", "°": "degree", "×": "by|multiplied by", "@": "at sign", "°c": "degrees|degrees c",
    "°f": "degrees|degrees f", "=": "is|are|makes|gives", "+": "and|add|and over|and up|or more|or over",
    "÷": "over|by", "≥": "greater than or equal to", "≤": "less than or equal to",
    "≠": "does not equal|is not|not equal to", "√": "root|square root of", ">": "greater than|is more than|more than",
    "<": "less than|is smaller than|is under",
    "#": "pound|number|hashtag|sharp",
}  # fmt: skip
OTHER_DOTTED = {"e.g.": "for example|for instance", "i.e.": "that is", "a.k.a.": "also known as"}
OTHER_COMPASS = {
    "ne": "northeast|n e", "nw": "northwest|n w", "se": "southeast|s e", "sw": "southwest|s w",
}  # fmt: skip
OTHER_SLASHED = {"w/o": "w o", "c/o": "in care of|c o", "and/or": "and|or"}
OTHER_WORDS = {
    "etc": "et cetera|and so on", "tv": "television|t v", "uk": "united kingdom|u k", "usa": "united states|u s a",
    "ltd": "limited", "inc": "incorporated", "pcm": "per calendar month|a month|p c m", "xl": "extra large|x l",
    "aka": "also known as", "diy": "do it yourself|d i y", "vs": "versus", "approx": "approximately",
    "dept": "department", "max": "maximum", "min": "minimum|minute", "tel": "telephone", "ext": "extension",
    "apt": "apartment", "fig": "figure", "vol": "volume", "ch": "chapter", "pg": "page", "pp": "pages",
    "co": "company", "est": "established", "sq": "square", "ref": "reference", "info": "information",
    "temp": "temperature", "ave": "avenue", "rd": "road", "asap": "as soon as possible", "rsvp": "r s v p",
    "eg": "for example", "ie": "that is", "wc": "w c", "rte": "route", "hwy": "highway", "bldg": "building",
    "govt": "government", "mgr": "manager", "asst": "assistant", "attn": "attention", "avg": "average",
    "intl": "international", "assoc": "association", "univ": "university", "excl": "excluding", "incl": "including",
    "nr": "near", "pkg": "package", "pkt": "packet", "doz": "dozen", "ln": "lane", "pkwy": "parkway",
    "hq": "headquarters", "vols": "volumes", "figs": "figures", "chap": "chapter", "wwi": "world war one|w w one",
    "wwii": "world war two|w w two",
}  # fmt: skip
"""Short forms that are words as well, or are read as they stand."""
CAPITALS = {short.title(): said for short, said in (dates.SHORT_DAYS | dates.SHORT_MONTHS).items()} | {
    "Jun": "june", "Jul": "july", "Sep": "september",
}  # fmt: skip
"""Days and months without their full stop, which are words as well."""
