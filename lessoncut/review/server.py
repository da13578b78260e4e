"""The addresses of the review page, and what each answers."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from threading import Lock
from typing import Any

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response, StreamingResponse
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles
from starlette.types import ASGIApp

from lessoncut import files
from lessoncut.errors import ChoiceError, LessoncutError
from lessoncut.outputs import named
from lessoncut.render import cover
from lessoncut.review.asked import wishes_asked
from lessoncut.review.desk import Desk, Seen
from lessoncut.review.guard import Guard, Keys
from lessoncut.review.heard import HEADER_BYTES, LessonWav, TakeWav, source_of, wav_bytes
from lessoncut.review.jobs import Job
from lessoncut.review.long import LongJobs
from lessoncut.review.view import state, tried_view
from lessoncut.take import preview
from lessoncut.take.peaks import outline, to_bytes
from lessoncut.workflow.export import wanted
from lessoncut.workflow.opened import check_take_is_there
from lessoncut.workflow.sound import Sound

STATIC = Path(__file__).parent / "static"
MOST_BODY_BYTES = 65_536
_RANGE = re.compile(r"\s*bytes\s*=\s*([0-9]{0,18})-([0-9]{0,18})\s*")
MOST_PICK_UP_BYTES = 4 << 30
SHOWN_POLICY = "sandbox; default-src 'none'; style-src 'unsafe-inline'; img-src data:; font-src data:"
"""For exported pages: they may look as they do, and nothing else."""


class Review:
    """The answers for one lesson."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.jobs = LongJobs(desk)
        self._made: dict[str, Any] = {}
        self._making = Lock()

    # -- the lesson -----------------------------------------------------------------------------------------

    def state(self, _: Request) -> Response:
        return self._seen(self.desk.seen())

    def pulse(self, _: Request) -> Response:
        """Whether anything has changed, and how far the long jobs are."""
        return JSONResponse(
            {
                "revision": self.desk.folder.revision(),
                "export": _steps(self.jobs.export),
                "preview": _steps(self.jobs.preview),
                "adding": _steps(self.jobs.adding),
            }
        )

    def decide(self, _: Request, body: dict[str, Any]) -> Response:
        return self._seen(self.desk.decide(body))

    def pacing(self, _: Request, body: dict[str, Any]) -> Response:
        if body.get("keep") is True:
            return self._seen(self.desk.set_pacing(body))
        return JSONResponse(tried_view(self.desk.tried(body)))

    def targets(self, _: Request, body: dict[str, Any]) -> Response:
        return self._seen(self.desk.set_targets(body))

    def choices(self, _: Request, body: dict[str, Any]) -> Response:
        return self._seen(self.desk.set_choices(body))

    def cover(self, _: Request) -> Response:
        """The picture of the practice tracks."""
        path = self.desk.seen().cover
        if path is None or not path.is_file():
            return JSONResponse({"what": "no picture was chosen"}, 404)
        return FileResponse(path)

    async def set_cover(self, request: Request) -> Response:
        """Takes in a picture; an empty one takes the picture away."""
        name = request.query_params.get("name", "")
        content = await _taken_in(request, cover.MOST_BYTES)
        if content is None:
            return _refused(cover.too_large(name), 413)
        try:
            return self._seen(await run_in_threadpool(self.desk.set_cover, name, content))
        except LessoncutError as error:
            return _refused(error)

    def undo(self, _: Request, __: dict[str, Any]) -> Response:
        return self._seen(self.desk.undo())

    def redo(self, _: Request, __: dict[str, Any]) -> Response:
        return self._seen(self.desk.redo())

    def _seen(self, seen: Seen) -> Response:
        self.jobs.catch_up()
        return JSONResponse(state(seen))

    async def pick_up(self, request: Request) -> Response:
        """Takes in a recording; it is on the disk when this is answered, and heard afterwards."""
        try:
            self.jobs.check_free()
            await run_in_threadpool(self._samples)  # what plays now goes on playing
            path = self.desk.folder.pick_up_path(request.query_params.get("name", ""))
            with files.in_the_making(path) as part, part.open("wb") as file:
                size = 0
                async for chunk in request.stream():
                    size += len(chunk)
                    if size > MOST_PICK_UP_BYTES:
                        raise ChoiceError("this recording is too large for a pick-up")
                    try:
                        await run_in_threadpool(file.write, chunk)
                    except OSError as error:
                        raise files.cannot_write(path, error) from error
            return JSONResponse({"adding": _steps(self.jobs.add(path))}, 202)
        except LessoncutError as error:
            return _refused(error)

    # -- sound and picture ------------------------------------------------------------------------------------

    def peaks(self, _: Request) -> Response:
        sound = self._sound()
        path = self.desk.folder.peaks_path(sound.key)
        with self._making:
            if not path.exists():
                files.write_whole(path, to_bytes(outline(sound.samples())))
        return FileResponse(path, media_type="application/octet-stream")

    def take(self, _: Request) -> Response:
        """The take as a browser plays it; 202 while a copy that it can play is being made."""
        found = self.desk.seen().lesson.found
        if preview.why_needed(found.take) is None:
            check_take_is_there(found.known)
            return FileResponse(found.take.files[0].path)
        path = self.desk.folder.preview_path(self._sound().key, preview.suffix(found.take))
        if path.exists():
            return FileResponse(path)
        check_take_is_there(found.known)
        self.jobs.copy_take(self.desk.seen(), path)
        return Response(status_code=202, headers={"retry-after": "1"})

    def take_wav(self, request: Request) -> Response:
        return _ranged(request, TakeWav(self._samples()))

    def lesson_wav(self, request: Request) -> Response:
        return _ranged(request, self._lesson())

    def _sound(self) -> Sound:
        return Sound(self.desk.folder, self.desk.seen().lesson.found.take)

    def _samples(self) -> Any:
        return self._kept(f"samples {self._sound().key}", self._sound().samples)

    def _lesson(self) -> LessonWav:
        seen = self.desk.seen()
        samples = self._samples()
        source = self._kept(f"source {self._sound().key}", lambda: source_of(seen, samples))
        made: LessonWav = self._kept(f"lesson {seen.revision}", lambda: LessonWav(seen, source))
        return made

    def _kept(self, name: str, make: Callable[[], Any]) -> Any:
        """What was made under that name; of each sort only the latest is kept."""
        with self._making:
            if name not in self._made:
                made = make()
                sort = _sort(name)
                self._made = {key: one for key, one in self._made.items() if _sort(key) != sort}
                self._made[name] = made
            return self._made[name]

    # -- export ---------------------------------------------------------------------------------------------

    def start_export(self, _: Request, body: dict[str, Any]) -> Response:
        names = body.get("outputs", [])
        if not isinstance(names, list) or not all(isinstance(name, str) for name in names):
            raise ChoiceError("outputs are named by a list of texts")
        job = self.jobs.start_export(wanted(names), wishes_asked(body))
        return JSONResponse({"export": _steps(job)}, 202)

    def output(self, request: Request) -> Response:
        """An exported file, by the output's name."""
        path = self.desk.folder.output_path(named(request.path_params["name"]).file_name("lesson"))
        if not path.is_file():
            return JSONResponse({"what": "this was not exported yet"}, 404)
        shown = path.suffix == ".html"
        response = FileResponse(path, filename=path.name, content_disposition_type="inline" if shown else "attachment")
        response.headers["content-security-policy"] = SHOWN_POLICY
        return response


def app(desk: Desk, port: int, keys: Keys) -> ASGIApp:
    """The whole server. ``port`` is the one it listens on: part of the address that it answers to."""
    review = Review(desk)
    routes = [
        Route("/", lambda _: FileResponse(STATIC / "index.html")),
        Route("/state", _answering(review.state)),
        Route("/pulse", _answering(review.pulse)),
        Route("/decisions", _changing(review.decide), methods=["POST"]),
        Route("/pacing", _changing(review.pacing), methods=["POST"]),
        Route("/targets", _changing(review.targets), methods=["POST"]),
        Route("/choices", _changing(review.choices), methods=["POST"]),
        Route("/cover", _answering(review.cover)),
        Route("/cover", review.set_cover, methods=["POST"]),
        Route("/pick-up", review.pick_up, methods=["POST"]),
        Route("/undo", _changing(review.undo), methods=["POST"]),
        Route("/redo", _changing(review.redo), methods=["POST"]),
        Route("/export", _changing(review.start_export), methods=["POST"]),
        Route("/outputs/{name}", _answering(review.output)),
        Route("/peaks", _answering(review.peaks)),
        Route("/take", _answering(review.take)),
        Route("/take.wav", _answering(review.take_wav)),
        Route("/lesson.wav", _answering(review.lesson_wav)),
        Mount("/static", StaticFiles(directory=STATIC)),
    ]
    return Starlette(routes=routes, middleware=[Middleware(Guard, port=port, keys=keys)])


# -- answers --------------------------------------------------------------------------------------------------


def _answering(answer: Callable[[Request], Response]) -> Callable[[Request], Response]:
    """Errors for the user become JSON; the page shows them as they are."""

    def answered(request: Request) -> Response:
        try:
            return answer(request)
        except LessoncutError as error:
            return _refused(error)

    return answered


def _changing(answer: Callable[[Request, dict[str, Any]], Response]) -> Callable[[Request], Any]:
    async def answered(request: Request) -> Response:
        body = await _taken_in(request, MOST_BODY_BYTES)
        if body is None:
            return JSONResponse({"what": "that is too much at once"}, 413)
        try:
            value = json.loads(body or b"{}")
            if not isinstance(value, dict):
                raise ChoiceError("the page sent something that is not an object")
            return await run_in_threadpool(answer, request, value)
        except (ValueError, RecursionError):
            return JSONResponse({"what": "the page sent something that is not JSON"}, 400)
        except LessoncutError as error:
            return _refused(error)

    return answered


def _sort(name: str) -> str:
    return name.partition(" ")[0]


async def _taken_in(request: Request, most_bytes: int) -> bytes | None:
    """What was sent; None as soon as it is more than that."""
    body = b""
    async for chunk in request.stream():
        body += chunk
        if len(body) > most_bytes:
            return None
    return body


def _refused(error: LessoncutError, status: int = 400) -> Response:
    return JSONResponse({"what": error.what, "where": error.where, "hint": error.hint}, status)


def _steps(job: Job | None) -> list[dict[str, Any]] | None:
    if job is None:
        return None
    return [{"name": s.name, "state": s.state, "done": round(s.done, 3), "says": s.says} for s in job.steps]


def _ranged(request: Request, sound: TakeWav | LessonWav) -> Response:
    """A WAV that is made while it is sent; answers one byte range (RFC 9110, section 14)."""
    size = HEADER_BYTES + sound.length * 2
    start, end = 0, size
    ranged = request.headers.get("range")
    if ranged is not None:
        found = _range(ranged, size)
        if found is None:
            return Response(status_code=416, headers={"content-range": f"bytes */{size}"})
        start, end = found
    headers = {"accept-ranges": "bytes", "content-length": str(end - start)}
    if ranged is not None:
        headers["content-range"] = f"bytes {start}-{end - 1}/{size}"
    pieces: Iterator[bytes] = iter(()) if request.method == "HEAD" else wav_bytes(sound, start, end)
    return StreamingResponse(pieces, 206 if ranged is not None else 200, headers, "audio/wav")


def _range(asked: str, size: int) -> tuple[int, int] | None:
    spec = _RANGE.fullmatch(asked)
    if spec is None or spec.groups() == ("", ""):
        return None
    first, last = spec.groups()
    if not first:
        return (max(0, size - int(last)), size) if int(last) else None
    start, end = int(first), min(size, int(last) + 1) if last else size
    return (start, end) if start < min(size, end) else None
