"""Sounds held for demonstration, from a hearing written by hand: which of them the lesson keeps."""

from __future__ import annotations

from lessoncut.hearing.told import told as heard
from lessoncut.matching.held import with_held
from lessoncut.matching.records import Aside
from lessoncut.times import Span
from tests.lesson.telling import CLEAN, MARKET, told

TAKE = """
     1.0  hello and welcome                      2.2
     2.9  listen to the two sounds               4.3
     4.6  <vvvv>                                 5.5
     6.0  vic sells very fine wool               7.8
     7.9  <a hum in the room>                    8.2
     8.3  we want seven vests please            10.2
    10.4  (cough)                               10.8
    10.9  the wind is wild and the van is slow  13.0
    13.5  <mmmm>                                14.6
    15.0  vic sells very fine wool              16.9
    20.5  we want seven vests please            22.4
    26.0  the wind is wild and the van is slow  28.3
    33.0  well done                             33.9
    34.5  <wwww>                                35.9
    42.0  <a kettle>                            44.0
"""


def test_a_demonstration_stands_beside_talk_and_outside_the_passes() -> None:
    match = with_held(told(MARKET, CLEAN), heard(TAKE).sounds)
    assert match.asides == (Aside(Span(4600, 5500), (), held=True), Aside(Span(34_500, 35_900), (), held=True))


def test_a_sound_that_reaches_into_speech_or_is_hardly_there_is_no_demonstration() -> None:
    match = told(MARKET, CLEAN.replace("L002 -  2900 4300", "L002 -  2900 4700"))
    assert with_held(match, heard(TAKE).sounds).asides == (Aside(Span(34_500, 35_900), (), held=True),)
    short = heard("     4.6  <vv>   4.8").sounds
    assert with_held(told(MARKET, CLEAN), short).asides == ()
