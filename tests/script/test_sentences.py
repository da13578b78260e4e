"""Where sentences end.

The categories and their numbers are those of the Golden Rules for English of the Pragmatic Segmenter (Kevin S. Dias,
https://github.com/diasks2/pragmatic_segmenter, README, "Golden Rules (English)"); the sentences are our own. Not
followed: 31, 33, 35, 39 (list items without stops in one row of text) and 52 (no space between sentences). 40 and 41
(wrapped lines) are the business of the formats.
"""

import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessoncut.script.sentences import LONGEST_WORDS, sentences

GOLDEN = [
    (1, ["Vera drives a van.", "Her van is white."]),
    (2, ["Where is the vet?", "He is in the west wing."]),
    (3, ["Here it comes!", "We can hear it."]),
    (4, ["The prize went to Olga F. Winter."]),
    (5, ["Please open your book at p. 31."]),
    (5, ["Present, P. Nuttall and S. Royd."]),
    (6, ["Did Walter and co. come along?"]),
    (7, ["The van belongs to Vane & Co. of Westwick."]),
    (8, ["Ask Vera and co. They will know."], ["Ask Vera and co.", "They will know."]),
    (9, ["It was built by Vane & Co. It still runs."], ["It was built by Vane & Co.", "It still runs."]),
    (10, ["From here we see Mt. Wend in the snow."]),
    (11, ["St. Wilma's Hall is on Vine st. by the well."]),
    (12, ["This is Walter Vane Jr.'s vest."]),
    (13, ["They sailed to the U.K.I. last winter."]),
    (14, ["He moved to the E.U. How is he now?"], ["He moved to the E.U.", "How is he now?"]),
    (15, ["She works in the U.S. What does she do?"], ["She works in the U.S.", "What does she do?"]),
    (16, ["She joined the U.S. Weather Service in May."]),
    (17, ["We lived in the U.S. for two winters."]),
    (
        18,
        ["At 6 a.m. Mr. Vane woke up.", "He walked to the well at 7 P.M. Mr. Winter walked with him."],
        ["At 6 a.m. Mr. Vane woke up.", "He walked to the well at 7 P.M.", "Mr. Winter walked with him."],
    ),
    (19, ["The vest costs $45.00 in the village."]),
    (20, ["The vest costs $45.00.", "It is warm."]),
    (21, ["Wilma paints walls (She studied it in Westwick.) and windows."]),
    (22, ["Write to wilma.vane@example.com.", "She answers at once."]),
    (23, ["It is at https://www.example.com/a.b/vests_and_wells.html.", "Take a look."]),
    (24, ["He waved and said, 'We won.' and left."]),
    (25, ['He waved and said, "We won." and left.']),
    (26, ['He waved and said, "We won."', "Everyone went wild."]),
    (27, ["Wait!!", "The van is moving."]),
    (28, ["What??", "Who said that?"]),
    (29, ["Really!?", "Is it so warm?"]),
    (30, ["Really?!", "Is it so warm?"]),
    (32, ["1.) The vine is old.", "2.) The wine is new."]),
    (34, ["1) The vine is old.", "2) The wine is new."]),
    (36, ["1. The vine is old.", "2. The wine is new."]),
    (37, ["• 3. The vine", "• 4. The wine"]),
    (38, ["⁃3. The vine", "⁃4. The wine"]),
    (42, ["vines", "white wine", "vests, wells"]),
    (43, ["The well is at N°. 21.40.17.", "That is far."]),
    (44, ["She sells for Wow! in the west."]),
    (45, ["They went home, you and I.", "Did you meet Vera I. Vane?"]),
    (46, ["The sign says, “the well will be open in winter. . . .”"]),
    (47, ['"Walter [...] went west in a van [...]" (Vane 12).']),
    (48, ["The rest of the letter is lost . . . .", "We have one page."]),
    (49, ["We never found it....", "The wind took it."]),
    (50, ["I wasn't ... well, I mean...you know . . . what I said, that was . . . I didn't want it."]),
    (51, ["The wind grew weaker . . . over the valley. . . .", "We went on."]),
]  # fmt: skip
NEWLINE = {42}


def split(text: str) -> list[str]:
    return [text[start:end] for start, end in sentences(text)]


@pytest.mark.parametrize(("rule", "parts", "expected"), [(case[0], case[1], case[-1]) for case in GOLDEN])
def test_golden_rules(rule: int, parts: list[str], expected: list[str]) -> None:
    assert split(("\n" if rule in NEWLINE else " ").join(parts)) == expected


@pytest.mark.parametrize(
    "parts",
    [
        ["No.", "I won't."],
        ["See No. 5 first.", "Then go on."],
        ["We met J. R. Vane.", "He waved."],
        ["Walk to Gate C.", "Turn left by room D.", "Vera waits there."],
        ["The wind was wild; e.g. Vera's van rolled away, i.e. it was gone."],
        ["“Come in,” he said.", "“It is warm.”"],
        ["“Is it time?” Vera asked.", "“Wait!” I said."],
        ["“Come in.", "Sit down,” he said."],
        ["Say the letter V. Vera does."],
        ["The sound is soft.", "/v/ is voiced."],
        ["Listen… I have an idea.", "Ready?"],
        ["It costs 3.5 euros.", "7 vests cost 24.5."],
        ["The shop opens at 9 a.m. every day."],
        ["The shop opens at 9 a.m.", "Vans wait outside."],
        ["(This is whole. It is.)", "Next."],
        ["Well done! 🎈"],
        ["It ended in Dec.", "Everyone left."],
        ["これはペンです。", "それは何ですか？"],
        ["¿Cómo está?", "¡Muy bien!"],
        ["P.S. The vase is in the van.", "P.P.S. It leaks."],
        ["Ring Ext. 7 and wait.", "The vet is at Apt. 12 now."],
        ["So can I.", "Vera can't.", "We've time.", "Neither do I.", "Winter is long."],
        ["We met Wilma I. Vane."],
        ["He lives in the U.S.", "Don't write, he's in a van."],
        ["We open on Tues. 11 May and on Sat. 3 June."],
        ["The vet sat.", "Vera stood."],
        ["Vine, wine"],
        ["The vet sat.", "[smile] Vera stood.", "(loudly) Who won?", "We did!", "[bow] (pause) Well, well."],
        ["It cost five pounds (about six dollars).", "We paid."],
    ],
)
def test_more_cases(parts: list[str]) -> None:
    """Common practice, no source."""
    joiner = "" if parts[0].endswith("。") else " "
    assert split(joiner.join(parts)) == parts


def test_a_newline_ends_a_sentence() -> None:
    assert split("The vest\n\n is warm. So \n 🎈 \n is the wall") == ["The vest", "is warm.", "So", "🎈", "is the wall"]


def test_a_very_long_sentence_is_split_after_a_clause() -> None:
    clause = "the wind went over the wide valley and the wet wood "
    pieces = split(f"{clause * 8}and rested, {clause * 8}and rested again.")
    assert [piece.endswith("rested,") for piece in pieces] == [True, False]
    assert all(len(piece.split()) <= LONGEST_WORDS for piece in split("word " * 1000))


PIECES = st.sampled_from(
    ["Vera", "went", " ", " ", ". ", "? ", "! ", "... ", "…", "Mr. ", "a.m. ", "e.g. ", "3.5", "7", "“", "”", '"', "(",
     ")", "[", "]", "J. ", "I ", "The ", "• ", "1. ", ", ", "\n", "🎈", "p. ", "No. ", "said ", "U.S. ", "。", "*"]
)  # fmt: skip


@given(st.lists(PIECES, max_size=40).map("".join) | st.text(max_size=60))
def test_spans_cover_all_that_is_not_space(text: str) -> None:
    spans = sentences(text)
    covered = [False] * len(text)
    previous = 0
    for start, end in spans:
        assert previous <= start < end
        assert text[start:end] == text[start:end].strip()
        covered[start:end] = [True] * (end - start)
        previous = end
    assert all(covered[place] or char.isspace() for place, char in enumerate(text))


@given(st.lists(PIECES, max_size=40).map("".join))
def test_a_sentence_alone_is_one_sentence(text: str) -> None:
    """What makes writing a script and reading it again exact."""
    for part in split(text):
        assert split(part) == [part]


@pytest.mark.parametrize("unit", ["e.g. ", "A. ", "(a. ", "! ", "!🎈 ", "a.m. ", '" ', ". ", ".\n"])
def test_time_is_linear_in_the_text(unit: str) -> None:
    started = time.process_time()
    sentences(unit * (200_000 // len(unit)))
    assert time.process_time() - started < 8
