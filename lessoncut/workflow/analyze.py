"""From take and script to what was found."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, cast

from lessoncut import codec
from lessoncut.cores import cores
from lessoncut.errors import LessoncutError, ScriptError
from lessoncut.hearing.records import Alignment, Likelihoods
from lessoncut.script.read import read_script
from lessoncut.script.records import Script
from lessoncut.store import LessonFolder, check_free, holds_lesson, key_of, source_key
from lessoncut.workflow.asking import Answer, Asked, Question, Rounds
from lessoncut.workflow.listening import HEARING_STAGE, Growing, growing, known_take, listen
from lessoncut.workflow.opened import Opened, added_to, with_decisions, write_analysis
from lessoncut.workflow.records import FOUND, Found, HearingSettings, KnownTake, Stages, no_stages
from lessoncut.workflow.sound import content

if TYPE_CHECKING:
    from lessoncut.matching.speakers import VoiceOf

LEAST_SHARE = 0.1
"""A take that holds less of the script's lines is a take of another script."""
LOW_SHARE = 0.5
"""A take that holds less than this is worth a word."""

MATCH_STAGE = (*HEARING_STAGE, "script", "matching", "phrasing")
"""Whose source makes the match and the findings: when that changes, they are made again."""


@dataclass(frozen=True)
class Request:
    """What the user wants analysed."""

    takes: tuple[Path, ...]
    script: Path
    settings: HearingSettings = field(default_factory=HearingSettings)


def analyze(request: Request, at: Path, stages: Stages = no_stages) -> Opened:
    """Analyse into the lesson folder ``at``; what earlier runs left there and still holds is used.

    Raises TakeError, ScriptError, LessonFolderError, ChoiceError, ToolError. When it comes to that before anything was
    heard, folders that were not there before are not there after.
    """
    made = [folder for folder in (at, *at.parents) if not folder.exists()]
    check_free(at)
    before = LessonFolder(at) if holds_lesson(at) else None
    script = read_script(request.script)
    added = tuple(path for path in added_to(before) if path not in request.takes) if before else ()
    takes = (*request.takes, *added)
    known = known_take(before, takes, stages)
    key = key_of(content(known.take), script, request.settings, len(added), source_key(*MATCH_STAGE))
    folder = before or LessonFolder.found_or_made(at)
    with folder.locked():
        try:
            found = folder.read(FOUND, key) or _found(folder, known, script, request, stages)
        except LessoncutError:
            if not before and not folder.holds_answers():
                folder.discard(made)
            raise
        found = replace(
            found,
            known=known,
            pick_up_paths=tuple(str(path.absolute()) for path in added),
            script_path=str(request.script.absolute()),
        )
        with folder.deciding():
            if found != folder.read(FOUND, key):
                folder.write(FOUND, key, found)
            lesson = with_decisions(folder, found)
            write_analysis(lesson)
    return lesson


def _found(folder: LessonFolder, known: KnownTake, script: Script, request: Request, stages: Stages) -> Found:
    from lessoncut.hearing.align import LANGUAGE, no_aligner  # these are slow to import
    from lessoncut.hearing.aligners import Aligners
    from lessoncut.hearing.weigh import Weigher
    from lessoncut.matching.findings import find
    from lessoncut.matching.ground import Ground
    from lessoncut.matching.held import with_held
    from lessoncut.matching.laughs import without_laughter
    from lessoncut.matching.match import match
    from lessoncut.matching.sayings import in_same_words
    from lessoncut.script.passage import with_passage

    own_files = len(request.takes)
    heard = listen(folder, known, request.settings, stages, own_files)
    progress = stages("Following the script")
    rounds = Rounds(progress)
    laid = growing(folder, "alignments", known, own_files)
    weighed = growing(folder, "likelihoods", known, own_files, request.settings)
    known_language = heard.hearing.language == LANGUAGE
    with Aligners(heard.sound.path, cores(), at_once=known_language and not laid.known) as aligners:
        from lessoncut.hearing.timbre import timbre  # slower still, while the aligners get ready
        from lessoncut.hearing.warping import Comparer

        # It gives one kind of voice, which it compares with its own.
        samples = heard.sound.samples()
        voice_of = cast("VoiceOf", partial(timbre, samples))
        comparer = Comparer(samples)
        ask = remembering(rounds.of(aligners.align), laid, Alignment) if known_language else no_aligner
        weigher = Weigher(heard.sound.path, request.settings, heard.hearing.language)
        weigh = remembering(rounds.of(weigher.weigh), weighed, Likelihoods)
        script, hearing = in_same_words(script, without_laughter(script, heard.hearing), ask)
        ground = Ground(
            script, hearing, ask, voice_of=voice_of, weigh=weigh, compare=comparer.compare, begins=comparer.beginnings
        )
        followed = match(ground, heard.levels)
        _check_resemblance(followed.script_share, request.script)
        whole_script = with_passage(script, Counter(r.line_id for r in followed.readings if r.kind == "full"))
        if whole_script != script:
            followed = match(replace(ground, script=whole_script), heard.levels)
    findings = find(whole_script, hearing, followed)
    progress(1.0)
    return Found(
        known=known,
        pick_up_paths=(),
        script_path="",
        script=whole_script,
        hearing_key=heard.key,
        language=heard.hearing.language,
        engine=heard.hearing.engine,
        match=with_held(followed, hearing.sounds),
        findings=findings,
        remarks=(
            *_language_remark(heard.hearing.language, known_language),
            *_passage_remark(script, whole_script),
            *_share_remark(followed.script_share),
        ),
        settings=request.settings,
    )


def remembering(ask: Asked[Question, Answer], answers: Growing, kind: type[Answer]) -> Asked[Question, Answer]:
    """``ask``, which asks nothing twice: what is known is not asked, what is not is kept."""

    def asked(requests: Sequence[Question]) -> tuple[Answer, ...]:
        names = {request: key_of(request) for request in requests}
        new = [request for request, name in names.items() if name not in answers.known]
        for request, answer in zip(new, ask(new) if new else (), strict=True):
            answers.keep(names[request], codec.encode(answer), request.window.end_ms)
        return tuple(codec.decode(kind, answers.known[names[request]]) for request in requests)

    return asked


def _check_resemblance(share: float, script: Path) -> None:
    if share < LEAST_SHARE:
        raise ScriptError(
            f"the take does not follow this script: {share:.0%} of its lines are in it",
            where=str(script),
            hint="check that the take and the script belong together (what was heard is kept)",
        )


def _language_remark(language: str, known: bool) -> tuple[str, ...]:
    if known:
        return ()
    return (f"No aligner for the language heard ({language}): edges come from the recogniser and are coarser.",)


def _passage_remark(written: Script, marked: Script) -> tuple[str, ...]:
    if written.passage:
        return ()
    if marked.passage:
        lines = f"{marked.passage[0].id} to {marked.passage[-1].id}"
        return (f"No passage is marked in the script; lines {lines} are taken for it: the take holds them twice.",)
    return (
        "No passage is marked in the script, and the take holds no part of it twice; "
        "put {.passage} after the heading of the part that learners repeat.",
    )


def _share_remark(share: float) -> tuple[str, ...]:
    if share >= LOW_SHARE:
        return ()
    return (f"Only {share:.0%} of the script's lines are in this take; is it the whole take, and the right script?",)
