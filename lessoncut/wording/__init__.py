"""Words: how a text is said, how a word sounds, and how alike two words are."""

from lessoncut.wording.dates import is_of_calendar, is_weekday
from lessoncut.wording.likeness import (
    Place,
    first_alike,
    likeness,
    likeness_table,
    place_in,
    row_likeness,
    same_when_joined,
    sound_count,
    sounds_apart,
    takes_over,
)
from lessoncut.wording.measures import is_unit
from lessoncut.wording.numbers import is_number
from lessoncut.wording.said import Saying, Token, spoken, tokens
from lessoncut.wording.sounds import (
    headwords,
    in_dictionary,
    phones,
    syllables,
    unstressed,
)

__all__ = [
    "Place",
    "Saying",
    "Token",
    "first_alike",
    "headwords",
    "in_dictionary",
    "is_number",
    "is_of_calendar",
    "is_unit",
    "is_weekday",
    "likeness",
    "likeness_table",
    "phones",
    "place_in",
    "row_likeness",
    "same_when_joined",
    "sound_count",
    "sounds_apart",
    "spoken",
    "syllables",
    "takes_over",
    "tokens",
    "unstressed",
]
