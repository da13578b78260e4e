"""Decisions are found again after a new analysis, or are shown as stale."""

from dataclasses import replace

import pytest

from lessoncut.decisions.records import Decision, Subject, TextKey
from lessoncut.decisions.subjects import (
    about_added_chapter,
    about_aside,
    about_caption,
    about_edge,
    about_gap,
    about_pick_up,
    about_section,
    about_slot,
)
from lessoncut.script.records import Line, Script, Section
from lessoncut.times import Span
from tests.decisions.scene import AT, MISHAPS, Scene, renumbered
from tests.lesson.telling import MARKET, reading, told, with_change

ALL_KINDS = ["repeated_line", "false_start", "dropped_line", "ad_lib"]


def everything(scene: Scene) -> Scene:
    """One decision about every kind of subject."""
    match, script = scene.match, scene.script
    for kind in ALL_KINDS:
        scene.decide(scene.finding(kind), scene.finding(kind).choices[-1].name)
    last = match.readings[-1]
    scene.decide(about_slot("L003", "P2", script, match), "keep", reading=Span(15000, 16900))
    scene.decide(about_slot("L004", "P2", script, match), "leave_out")
    scene.decide(about_edge(last, "end", script), "move", last.span.end_ms + 40)
    scene.decide(about_gap("L005", script), "set", 5000)
    scene.decide(about_section(1, "P2", script, match), "title", "Your turn")
    scene.decide(about_added_chapter("L002", None, script, match), "add", "Two sounds")
    scene.decide(about_caption(match.readings[0], script), "set", "Hello!")
    scene.decide(about_aside(match.asides[0].span), "keep")
    scene.decide(about_pick_up("later.wav"), "add")
    return scene


def test_an_undecided_finding_holds_its_first_choice() -> None:
    scene = Scene()
    assert {settled.finding.kind for settled in scene.resolved.settled} == set(ALL_KINDS)
    assert all(settled.choice == settled.finding.choices[0].name for settled in scene.resolved.settled)
    assert len(scene.resolved.open) == len(scene.findings)


@pytest.mark.parametrize("shift_ms", [0, 40, -300])
def test_every_decision_is_found_again_under_other_ids(shift_ms: int) -> None:
    scene = everything(Scene())
    before = scene.resolved
    assert not before.stale
    again = scene.analysed_again(renumbered(scene.match, shift_ms))
    after = again.resolved
    assert not after.stale
    assert [item.decision for item in after.applied] == [item.decision for item in before.applied]
    assert [(s.finding.kind, s.choice) for s in after.settled] == [(s.finding.kind, s.choice) for s in before.settled]
    starts = {r.id: r.span.start_ms for r in scene.match.readings}
    starts_again = {r.id: r.span.start_ms - shift_ms for r in again.match.readings}
    assert [item.reading_id and starts[item.reading_id] for item in before.applied] == [
        item.reading_id and starts_again[item.reading_id] for item in after.applied
    ]


def test_a_decision_survives_a_changed_comma_but_not_other_words() -> None:
    scene = Scene()
    scene.decide(about_gap("L004", MARKET), "set", 5000)

    def with_text(text: str) -> Script:
        return replace(MARKET, lines=(*MARKET.lines[:3], replace(MARKET.lines[3], text=text), *MARKET.lines[4:]))

    same = scene.analysed_again(scene.match, with_text("We want seven vests please!")).resolved
    assert [item.line_id for item in same.applied] == ["L004"]
    other = scene.analysed_again(scene.match, with_text("We want eleven vests, please.")).resolved
    assert [item.why for item in other.stale] == ["the script no longer has this line"]
    assert not other.applied


def test_a_finding_that_is_gone_makes_its_decision_stale_and_changes_nothing() -> None:
    scene = Scene()
    scene.decide(scene.finding("repeated_line"), "keep_earlier")
    assert scene.read("L003", "P2") == (15000,)
    clean = told(MARKET, MISHAPS.replace("L003 P2 15000 16900\n", ""))
    again = scene.analysed_again(clean)
    assert [item.why for item in again.resolved.stale] == ["nothing like it was found this time"]
    assert again.read("L003", "P2") == (18000,)


def test_a_finding_more_than_a_second_away_is_another_one() -> None:
    scene = Scene()
    scene.decide(scene.finding("ad_lib"), "keep")
    near = told(MARKET, MISHAPS.replace("talk 4700 5400", "talk 6399 6499"))
    assert not scene.analysed_again(near).resolved.stale
    far = told(MARKET, MISHAPS.replace("talk 4700 5400", "talk 6401 6499"))
    assert len(scene.analysed_again(far).resolved.stale) == 1


def test_a_neighbour_does_not_take_a_decision_from_the_finding_it_was_made_for() -> None:
    """Two talks half a second apart, a decision about each; then the first is no longer heard."""
    two = MISHAPS.replace("talk 4700 5400 water please", "talk 4500 4700 hm\n talk 5200 5600 water please")
    scene = Scene(two)
    scene.decide(scene.finding("ad_lib", 1), "leave_out")
    scene.decide(scene.finding("ad_lib", 0), "keep")
    again = scene.analysed_again(told(MARKET, two.replace("talk 4500 4700 hm\n", "")))
    assert [settled.choice for settled in again.resolved.settled if settled.finding.kind == "ad_lib"] == ["leave_out"]
    assert [item.decision.choice for item in again.resolved.stale] == ["keep"]


def test_of_two_decisions_about_the_same_finding_the_later_counts() -> None:
    """The same finding named twice, as two analyses told it."""
    scene = Scene()
    scene.decide(scene.finding("repeated_line"), "keep_both")
    again = scene.analysed_again(renumbered(scene.match, 25))
    again.decide(again.finding("repeated_line"), "keep_earlier")
    assert [item.decision.choice for item in again.resolved.applied] == ["keep_earlier"]
    assert not again.resolved.stale


def test_a_choice_that_the_finding_no_longer_offers_is_stale() -> None:
    scene = Scene()
    scene.decide(scene.finding("dropped_line"), "borrow")
    alone = told(MARKET, MISHAPS.replace("L004 P1 9000 10200\n", ""))
    again = scene.analysed_again(alone)
    in_repeat = [s for s in again.resolved.settled if s.finding.kind == "dropped_line" and s.finding.pass_id == "P2"]
    assert in_repeat[0].choice == "leave_out"
    assert [item.why for item in again.resolved.stale] == ["'borrow' is no longer among its choices"]


def test_a_line_that_was_to_be_picked_up_and_is_there_now_is_no_stale_decision() -> None:
    scene = Scene()
    scene.decide(scene.finding("dropped_line"), "pick_up")
    assert scene.slot("L004", "P2").reading_ids == ()
    there = told(MARKET, MISHAPS + "L004 P2 36000 38000")
    again = scene.analysed_again(there)
    assert not again.resolved.stale
    assert again.read("L004", "P2") == (36000,)


def test_lines_alike_are_told_apart_by_their_place() -> None:
    refrain = Script(
        "Refrain",
        (Section("Passage", passage=True),),
        tuple(Line(f"L00{at}", text, 0, True) for at, text in enumerate(["We wait.", "Very well.", "We wait!"], 1)),
    )
    match = told(refrain, "model P1 0 9000\n L001 P1 0 900\n L002 P1 2000 3000\n L003 P1 4000 5000")
    scene = Scene(script=refrain, match=match)
    scene.decide(about_gap("L003", refrain), "set", 3000)
    assert [item.line_id for item in scene.resolved.applied] == ["L003"]
    assert about_gap("L003", refrain).line == TextKey("We wait!", 2)


def test_an_edge_cannot_pass_the_middle_of_its_reading() -> None:
    scene = Scene()
    first = scene.match.readings[0]
    scene.decide(about_edge(first, "start", MARKET), "move", first.span.middle_ms)
    assert [item.why for item in scene.resolved.stale] == ["this edge would pass the middle of the reading"]
    assert not scene.effects.edges


@pytest.mark.parametrize(
    ("subject", "choice", "why"),
    [
        (Subject("slot", line=TextKey("Well done.")), "dance", "'dance' is not one of"),
        (Subject("caption", line=TextKey("Well done.")), "reset", "which span"),
    ],
)
def test_a_decision_that_means_nothing_is_shown_and_not_applied(subject: Subject, choice: str, why: str) -> None:
    """A log may come from another version, or from an editor."""
    scene = Scene()
    scene.entries.append(Decision(1, AT, subject, choice))
    assert why in scene.resolved.stale[0].why
    assert not scene.resolved.applied


def test_two_changed_words_of_one_line_are_two_findings() -> None:
    match = told(MARKET, MISHAPS)
    kept = match.kept("L005", "P1")
    assert kept
    match = with_change(with_change(match, kept.id, 1, 1, "window"), kept.id, 6, 6, "fan")
    scene = Scene(match=match)
    scene.decide(scene.finding("misread", 0), "as_script")
    again = scene.analysed_again(renumbered(match, 30))
    assert [s.choice for s in again.resolved.settled if s.finding.kind == "misread"] == ["as_script", "as_heard"]
    heard = [change.heard for wording in again.effects.wordings for change in wording.changes]
    assert heard == [("fan",)]
    assert reading(again.match, again.effects.wordings[0].reading_id).line_id == "L005"
