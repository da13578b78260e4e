"""The long jobs of one lesson: its export, its pick-ups, and the copy of the take that browsers play."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from threading import Lock

from lessoncut.errors import ChoiceError, LessoncutError
from lessoncut.outputs import Kind
from lessoncut.outputs.base import Recording
from lessoncut.progress import Progress
from lessoncut.render.records import Wishes
from lessoncut.review.desk import Desk, Seen
from lessoncut.review.jobs import Job
from lessoncut.store import LessonFolder
from lessoncut.take import preview
from lessoncut.teaching.records import Study
from lessoncut.workflow.export import Exported, export
from lessoncut.workflow.opened import Opened, added_to
from lessoncut.workflow.picking_up import catch_up, lags, pick_up
from lessoncut.workflow.records import Stages
from lessoncut.workflow.studying import study_for

TAKE_COPY = "The take for this page"


class LongJobs:
    """At most one of each at a time. Every method may be called from any thread."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.export: Job | None = None
        self.preview: Job | None = None
        self.adding: Job | None = None
        self._lock = Lock()
        self._copied: Path | None = None
        self._caught_up: tuple[Path, ...] | None = None

    # -- the take for the browser ---------------------------------------------------------------------------------

    def copy_take(self, seen: Seen, path: Path) -> None:
        """Begin to write the copy to ``path``, unless that was begun before."""
        take = seen.lesson.found.take
        with self._lock:
            if self._copied == path:
                return
            self._copied, self.preview = path, Job((TAKE_COPY,))

            def write(job: Job) -> None:
                preview.write(take, path, job.begin(TAKE_COPY))
                job.end(TAKE_COPY)

            self.preview.start(write)

    # -- export ---------------------------------------------------------------------------------------------------

    def start_export(self, kinds: Sequence[Kind], wishes: Wishes) -> Job:
        """Raises ChoiceError while one is running."""
        with self._lock:
            if self.export and self.export.running:
                raise ChoiceError("an export is running already")
            seen = self.desk.seen()
            self.export = Job(tuple(kind.name for kind in kinds))
            self.export.start(lambda job: _export(job, seen, kinds, wishes))
            return self.export

    # -- pick-ups -------------------------------------------------------------------------------------------------

    def check_free(self) -> None:
        """Raises ChoiceError while a pick-up is being heard."""
        if self.adding and self.adding.running:
            raise ChoiceError("another pick-up is being heard", hint="wait until it is matched")

    def add(self, recording: Path) -> Job:
        """Begin to hear a recording that lies in the lesson folder; one that cannot be used is taken away again."""

        def heard(folder: LessonFolder, stages: Stages) -> Opened:
            try:
                return pick_up(folder, recording, stages)
            except LessoncutError:
                recording.unlink(missing_ok=True)
                raise

        with self._lock:
            self.check_free()
            self._caught_up = None
            return self._hear(recording.name, heard)

    def catch_up(self) -> None:
        """Where pick-ups were taken away, brought back, or added by a server that died: match the lesson again."""
        with self._lock:
            # Looked at here: what was seen while a pick-up was being heard lags though all is done.
            if (self.adding and self.adding.running) or not lags(self.desk.seen().lesson):
                return
            wanted = added_to(self.desk.folder)
            if wanted != self._caught_up:  # what failed is not tried again and again
                self._caught_up = wanted
                self._hear("The pick-ups", catch_up)

    def _hear(self, name: str, work: Callable[[LessonFolder, Stages], Opened]) -> Job:
        self.adding = Job((name,))

        def run(job: Job) -> None:
            lesson = work(self.desk.folder, lambda stage: job.begin(name, stage))
            job.end(name, _filled(lesson, name))

        self.adding.start(run)
        return self.adding


def _export(job: Job, seen: Seen, kinds: Sequence[Kind], wishes: Wishes) -> None:
    """The quick ones one by one; sound and picture together, which share what they are made of."""
    first = next((kind.name for kind in kinds if kind.of_study), "")
    study = study_for(kinds, seen.lesson, seen.targets, lambda stage: job.begin(first, stage))
    slow = [kind for kind in kinds if isinstance(kind, Recording)]
    for kind in kinds:
        if kind not in slow:
            _export_group(job, seen, study, [kind], wishes)
    if slow:
        _export_group(job, seen, study, slow, wishes)


def _export_group(job: Job, seen: Seen, study: Study | None, group: Sequence[Kind], wishes: Wishes) -> None:
    names = [kind.name for kind in group]

    def stages(name: str) -> Progress:
        return job.begin(name if name in names else names[0])

    try:
        for done in export(seen.sheet, study, group, stages=stages, wishes=wishes, choices=seen.choices):
            _ended(job, done)
    except LessoncutError as error:
        for name in names:
            job.fail(name, str(error))


def _ended(job: Job, done: Exported) -> None:
    if done.path is None:
        job.fail(done.output.name, done.why_not or "this lesson has no such file")
    else:
        job.end(done.output.name, " ".join(done.remarks) or None)


def _filled(lesson: Opened, name: str) -> str:
    """Where the pick-up's readings came to stand, in a sentence."""
    spans = dict(zip(map(_name, lesson.found.pick_up_paths), lesson.found.pick_ups, strict=True))
    own = spans.get(name)
    lines = [
        lesson.found.script.line(reading.line_id).text
        for reading in lesson.found.match.readings
        if own and reading.kind == "full" and reading.span.overlap_ms(own)
    ]
    if own is None:
        return "The lesson is matched again."
    return f"It reads: {' / '.join(dict.fromkeys(lines))}" if lines else "No line of the script is read in it."


def _name(path: str) -> str:
    return Path(path).name
