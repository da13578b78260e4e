"""The decision log: lines that only ever get more."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessoncut.decisions.log import SETTINGS, Log, decide, line_of, parse, pick_ups, redo, set_to, undo
from lessoncut.decisions.records import Decision, Entry, PassKey, Redo, Setting, Subject, TextKey, Undo
from lessoncut.errors import ChoiceError, LessonFolderError
from lessoncut.times import Span

AT = "2026-11-25T12:00:00Z"
GAP = Subject("gap", line=TextKey("We want seven vests, please."))
OTHER_GAP = Subject("gap", line=TextKey("Well done.", 2))


def grown(*steps: tuple[Subject, str, str | int | None] | str) -> list[Entry]:
    entries: list[Entry] = []
    for step in steps:
        if step == "undo":
            entries.append(undo(entries, AT))
        elif step == "redo":
            entries.append(redo(entries, AT))
        else:
            assert not isinstance(step, str)
            entries.append(decide(entries, AT, *step))
    return entries


subjects = st.builds(
    Subject,
    kind=st.just("finding"),
    finding=st.sampled_from(["misread", "ad_lib", None]),
    line=st.none() | st.builds(TextKey, st.text(), st.integers(1, 9)),
    section=st.none() | st.builds(TextKey, st.text()),
    pass_key=st.none() | st.builds(PassKey, st.sampled_from(["model", "repeat"]), st.integers(1, 3)),
    span=st.none() | st.builds(lambda start, length: Span(start, start + length), st.integers(0), st.integers(0, 999)),
    edge=st.sampled_from(["start", "end", None]),
    path=st.none() | st.text(),
)
entries = st.one_of(
    st.builds(
        Decision,
        number=st.integers(1),
        at_utc=st.just(AT),
        subject=subjects,
        choice=st.text(),
        value=st.none() | st.text() | st.integers(),
        reading=st.none() | st.just(Span(5, 9)),
    ),
    st.builds(
        Setting,
        number=st.integers(1),
        at_utc=st.just(AT),
        name=st.sampled_from(sorted(SETTINGS)),
        values=st.dictionaries(st.text(), st.none() | st.booleans() | st.integers() | st.text()).map(
            lambda values: tuple(values.items())
        ),
    ),
    st.builds(Undo, number=st.integers(1), at_utc=st.just(AT)),
    st.builds(Redo, number=st.integers(1), at_utc=st.just(AT)),
)


@given(st.lists(entries))
def test_every_entry_comes_back_as_it_was(log: list[Entry]) -> None:
    text = "".join(line_of(entry) + "\n" for entry in log)
    assert parse(text).entries == tuple(log)
    assert text.count("\n") == len(log)


def test_a_line_is_plain_to_read() -> None:
    entry = decide([], AT, GAP, "set", 4200)
    assert line_of(entry) == (
        '{"does": "decide", "number": 1, "at_utc": "2026-11-25T12:00:00Z", '
        '"subject": {"kind": "gap", "line": {"text": "We want seven vests, please.", "nth": 1}}, '
        '"choice": "set", "value": 4200}'
    )


def test_a_setting_is_plain_to_read() -> None:
    assert line_of(set_to([], AT, "targets", {"sounds": "v/w"})) == (
        '{"does": "set", "number": 1, "at_utc": "2026-11-25T12:00:00Z", "name": "targets", "values": {"sounds": "v/w"}}'
    )


def test_undo_goes_back_through_settings_and_decisions_in_their_order() -> None:
    log: list[Entry] = [set_to([], AT, "pacing", {"level": "A1"})]
    log.append(decide(log, AT, GAP, "set", 1000))
    log.append(set_to(log, AT, "pacing", {"level": "A2"}))
    log.append(set_to(log, AT, "targets", {"sounds": "v/w"}))

    def holds() -> tuple[dict[str, object], list[object]]:
        return (
            {name: dict(one.values) for name, one in Log(tuple(log)).settings.items()},
            [decision.value for decision in Log(tuple(log)).current],
        )

    back = [
        ({"pacing": {"level": "A2"}, "targets": {"sounds": "v/w"}}, [1000]),
        ({"pacing": {"level": "A2"}}, [1000]),
        ({"pacing": {"level": "A1"}}, [1000]),
        ({"pacing": {"level": "A1"}}, []),
        ({}, []),
    ]
    for state in back[:-1]:
        assert holds() == state
        log.append(undo(log, AT))
    assert holds() == back[-1]
    for state in reversed(back[:-1]):
        log.append(redo(log, AT))
        assert holds() == state
    log.extend((undo(log, AT),))
    log.append(set_to(log, AT, "teaching", {"ipa": True}))
    with pytest.raises(ChoiceError):
        redo(log, AT)


def test_a_line_torn_by_a_crash_is_told_and_passed_over() -> None:
    first, second = (line_of(entry) for entry in grown((GAP, "set", 1000), (GAP, "set", 2000)))
    log = parse(f"{first}\n{second[:40]}\n{second}\n")
    assert [entry.number for entry in log.entries] == [1, 2]
    assert log.torn == (2,)


@pytest.mark.parametrize(
    ("line", "place"),
    [
        ('{"does": "dance", "number": 1, "at_utc": ""}', "$.does"),
        ('{"does": "undo", "number": "one", "at_utc": ""}', "$.number"),
        ('{"does": "decide", "number": 1, "at_utc": "", "choice": "", "subject": {"kind": "hat"}}', "$.subject.kind"),
        ("[1, 2]", "$.does"),
        ('{"does": "set", "number": 1, "at_utc": "", "name": "hats", "values": {}}', "$.name"),
        ('{"does": "set", "number": 1, "at_utc": "", "name": "pacing", "values": [1]}', "$.values"),
        ('{"does": "set", "number": 1, "at_utc": "", "name": "pacing", "values": {"level": []}}', "$.values"),
    ],
)
def test_a_whole_line_that_is_no_entry_is_an_error_with_its_place(line: str, place: str) -> None:
    with pytest.raises(LessonFolderError) as caught:
        parse(f"\n{line}\n")
    assert place in str(caught.value)
    assert "line 2" in str(caught.value)


def test_the_last_decision_about_a_subject_holds() -> None:
    log = grown((GAP, "set", 1000), (OTHER_GAP, "set", 2000), (GAP, "set", 3000))
    assert [(decision.subject, decision.value) for decision in Log(tuple(log)).current] == [
        (OTHER_GAP, 2000),
        (GAP, 3000),
    ]


def test_undo_and_redo_go_back_and_forth() -> None:
    log = grown((GAP, "set", 1000), (GAP, "set", 2000), "undo")
    assert [decision.value for decision in Log(tuple(log)).current] == [1000]
    log = grown((GAP, "set", 1000), (GAP, "set", 2000), "undo", "undo")
    assert Log(tuple(log)).current == ()
    log = grown((GAP, "set", 1000), (GAP, "set", 2000), "undo", "undo", "redo", "redo")
    assert [decision.value for decision in Log(tuple(log)).current] == [2000]


def test_a_new_decision_ends_what_could_be_redone() -> None:
    log = grown((GAP, "set", 1000), "undo", (GAP, "set", 2000))
    with pytest.raises(ChoiceError, match="nothing to redo"):
        redo(log, AT)


def test_nothing_to_undo() -> None:
    with pytest.raises(ChoiceError, match="nothing to undo"):
        undo([], AT)
    with pytest.raises(ChoiceError, match="nothing to undo"):
        undo(grown((GAP, "set", 1000), "undo"), AT)


@given(st.lists(st.sampled_from(["decide", "undo", "redo"]), max_size=30))
def test_undo_and_redo_against_a_slow_history(steps: list[str]) -> None:
    """The oracle keeps every state there was, and where in them it is."""
    log: list[Entry] = []
    states: list[list[int]] = [[]]
    here = 0
    for step in steps:
        if step == "decide":
            entry = decide(log, AT, Subject("gap", line=TextKey(f"line {len(log)}")), "set", len(log))
            states = [*states[: here + 1], [*states[here], len(log)]]
            here += 1
            log.append(entry)
        elif step == "undo" and here > 0:
            log.append(undo(log, AT))
            here -= 1
        elif step == "redo" and here < len(states) - 1:
            log.append(redo(log, AT))
            here += 1
        assert [decision.value for decision in Log(tuple(log)).current] == states[here]
        assert [entry.number for entry in log] == list(range(1, len(log) + 1))


def test_a_chapter_keeps_its_title_while_it_is_hidden() -> None:
    chapter = Subject("chapter", section=TextKey("Goodbye"))
    log = grown((chapter, "title", "So long"), (chapter, "hide", None))
    assert [decision.choice for decision in Log(tuple(log)).current] == ["title", "hide"]
    log = grown((chapter, "title", "So long"), (chapter, "hide", None), (chapter, "show", None))
    assert [decision.choice for decision in Log(tuple(log)).current] == ["title", "show"]


@pytest.mark.parametrize(
    ("subject", "choice", "value", "says"),
    [
        (GAP, "stretch", 5, "not one of set, reset"),
        (GAP, "set", "long", "number of milliseconds"),
        (GAP, "set", True, "number of milliseconds"),
        (GAP, "set", -1, "between 0 and 60"),
        (GAP, "set", 60_001, "between 0 and 60"),
        (Subject("gap"), "set", 5, "which line"),
        (Subject("chapter"), "hide", None, "by its section or by the line"),
        (Subject("chapter", section=TextKey("Welcome")), "title", "  ", "needs a title"),
        (Subject("slot", line=TextKey("Well done.")), "keep", None, "needs a reading"),
        (Subject("edge", line=TextKey("Well done."), span=Span(0, 9)), "move", 4, "which edge"),
    ],
)
def test_what_cannot_be_decided_is_refused(subject: Subject, choice: str, value: str | int | None, says: str) -> None:
    with pytest.raises(ChoiceError, match=says):
        decide([], AT, subject, choice, value)


def test_pick_ups_are_the_files_that_were_added_and_not_removed() -> None:
    one, two = Subject("pick_up", path="one.wav"), Subject("pick_up", path="two.wav")
    log = grown((one, "add", None), (two, "add", None), (one, "remove", None))
    assert pick_ups(Log(tuple(log)).current) == ("two.wav",)
