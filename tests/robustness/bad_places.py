"""Where things lie, what they are called, and lesson folders that are not what they should be."""

from __future__ import annotations

import fcntl
import json
import os
import shutil
from functools import partial
from pathlib import Path

from lessoncut.decisions.log import parse
from lessoncut.store import LessonFolder
from tests.crash.filling import leave, small_disk
from tests.crash.whole import decided
from tests.robustness.odd_takes import good
from tests.robustness.scene import SAID, Scene, followed
from tests.robustness.table import Case, Step
from tests.take.making import ffmpeg

REPEATED = SAID.replace("\n 9.0", "\n 7.3  the winter wind is wild            8.3\n 9.0")
"""The same, with a line that is said twice in the repeat pass: something to decide."""
EXPORT = "export {lesson} --only captions-srt --only gap-sheet"


# -- places and names -------------------------------------------------------------------------------------------------


def called(name: bytes | str) -> Step:
    """Take, script and lesson folder in a folder of that name, and all three called so, too."""
    text = os.fsdecode(name) if isinstance(name, bytes) else name

    def make(scene: Scene) -> None:
        old = (scene.take, scene.script)
        room = scene.at / text
        room.mkdir()
        scene.take, scene.script, scene.lesson = room / f"{text}.wav", room / f"{text}.md", room / text
        for before, after in zip(old, (scene.take, scene.script), strict=True):
            before.rename(after)

    return make


def of_255_bytes(scene: Scene) -> None:
    """As long as a name may be."""
    old = (scene.take, scene.script)
    scene.take, scene.script, scene.lesson = scene.at / ("t" * 251 + ".wav"), scene.at / ("s" * 252 + ".md"), (
        scene.at / ("l" * 255)
    )  # fmt: skip
    for before, after in zip(old, (scene.take, scene.script), strict=True):
        before.rename(after)


def dashed(scene: Scene) -> None:
    """Names that look like options; they are told as the command line asks: behind ``--`` or ``=``."""
    scene.take.rename(scene.at / "-i.wav")
    scene.script.rename(scene.at / "--json.md")
    scene.take, scene.script, scene.lesson = scene.at / "-i.wav", scene.at / "--json.md", scene.at / "-y"


def linked(scene: Scene) -> None:
    """Take, script and lesson folder are links to elsewhere."""
    elsewhere = scene.at / "elsewhere"
    (elsewhere / "kept").mkdir(parents=True)
    for name in ("take.wav", "script.md"):
        (scene.at / name).rename(elsewhere / name)
        (scene.at / name).symlink_to(Path("elsewhere") / name)
    scene.lesson.symlink_to(Path("elsewhere") / "kept")
    scene.lesson = elsewhere / "kept"


def to_be_made(scene: Scene) -> None:
    scene.lesson = scene.at / "new" / "and" / "deeper"


def silent_take(scene: Scene) -> None:
    ffmpeg("-f", "lavfi", "-i", "anullsrc=r=16000:cl=mono", "-t", "3", scene.take)


def to_be_made_in_vain(scene: Scene) -> None:
    to_be_made(scene)
    silent_take(scene)


def empty_and_in_vain(scene: Scene) -> None:
    """An empty folder of the teacher's own, with what her system hides in it."""
    scene.lesson.mkdir()
    (scene.lesson / ".DS_Store").write_bytes(b"\0")
    silent_take(scene)


def read_only_parent(scene: Scene) -> None:
    room = scene.at / "shelf"
    room.mkdir()
    room.chmod(0o555)
    scene.lesson = room / "lesson"
    scene.finishing.append(lambda: room.chmod(0o755))


def read_only_lesson(scene: Scene) -> None:
    """A lesson that was put where nobody may write."""
    something_to_decide(scene)
    places = [scene.lesson, scene.lesson / "work"]
    for place in places:
        place.chmod(0o555)
    for path in scene.lesson.rglob("*"):
        if path.is_file():
            path.chmod(0o444)
    scene.finishing += [partial(place.chmod, 0o755) for place in places]


def read_only_take(scene: Scene) -> None:
    """A take on a shelf that nobody may write to: the lesson is made elsewhere."""
    shelf = scene.at / "shelf"
    shelf.mkdir()
    for name in ("take.wav", "script.md"):
        (scene.at / name).rename(shelf / name)
        (shelf / name).chmod(0o444)
    scene.take, scene.script = shelf / "take.wav", shelf / "script.md"
    shelf.chmod(0o555)
    scene.finishing.append(lambda: shelf.chmod(0o755))


def full_disk(scene: Scene) -> None:
    """A disk with room for some small files, and not for the sound."""
    disk = small_disk(scene.at / "disk", 2 * 1024 * 1024)
    room = disk.__enter__()
    scene.finishing.append(lambda: disk.__exit__(None, None, None))
    leave(room, 256 * 1024)
    scene.lesson = room / "lesson"


def nothing_on_the_full_disk(scene: Scene) -> None:
    assert not list(scene.lesson.rglob(".part-*"))
    assert not list(scene.lesson.rglob("*.npy"))


def a_file_there(scene: Scene) -> None:
    scene.lesson.write_text("shopping list")


def other_things_there(scene: Scene) -> None:
    scene.lesson.mkdir()
    (scene.lesson / "thesis.txt").write_text("three years of work")


def the_takes_own_folder(scene: Scene) -> None:
    scene.lesson = scene.at


# -- lesson folders ---------------------------------------------------------------------------------------------------


def something_to_decide(scene: Scene) -> None:
    scene.said = REPEATED
    scene.analyzed()


def one_decision(scene: Scene) -> None:
    something_to_decide(scene)
    code, said = scene.run(["decide", str(scene.lesson), "F01", "keep_earlier"])
    assert code == 0, said


def rewritten(name: str, content: bytes, before: Step = one_decision) -> Step:
    """A lesson with a decision, one of whose files somebody else has written."""

    def make(scene: Scene) -> None:
        before(scene)
        (scene.lesson / name).write_bytes(content)

    return make


def hearing_broken(scene: Scene) -> None:
    """Neither what was found nor what was heard can be read."""
    rewritten("work/found.json", b"{]")(scene)
    (scene.lesson / "work" / "hearing.json").write_bytes(b"\0\0")


def no_lesson_file(scene: Scene) -> None:
    one_decision(scene)
    (scene.lesson / "lesson.json").unlink()


def work_lost(scene: Scene) -> None:
    one_decision(scene)
    shutil.rmtree(scene.lesson / "work")


def found_with_more(scene: Scene) -> None:
    """The record of a later version: a field that this one does not know."""
    one_decision(scene)
    path = scene.lesson / "work" / "found.json"
    held = json.loads(path.read_text())
    held["record"]["mood"] = "cheerful"
    path.write_text(json.dumps(held))


def decisions_of_later(scene: Scene) -> None:
    """A decision of a kind that this version does not know, written by a later one."""
    one_decision(scene)
    path = scene.lesson / "decisions.jsonl"
    entry = json.loads(path.read_text().splitlines()[0])
    entry["number"], entry["mood"] = 2, "cheerful"
    path.write_text(path.read_text() + json.dumps(entry) + "\n")


def torn(scene: Scene) -> None:
    one_decision(scene)
    with (scene.lesson / "decisions.jsonl").open("a") as file:
        file.write('{"does": "dec')


def of_another_take(scene: Scene) -> None:
    """A lesson with a decision, and now another take and the same script: the decision must not be lost."""
    one_decision(scene)
    take = scene.at / "another.wav"
    ffmpeg("-i", scene.take, "-af", "volume=0.9", take)
    scene.take = take


def take_changed(scene: Scene) -> None:
    one_decision(scene)
    with scene.take.open("ab") as file:
        file.write(b"more")


def take_gone(scene: Scene) -> None:
    one_decision(scene)
    scene.take.rename(scene.at / "elsewhere.wav")


def take_moved(scene: Scene) -> None:
    take_gone(scene)
    scene.take = scene.at / "elsewhere.wav"


def another_at_work(scene: Scene) -> None:
    """Another process holds the lock, as a running analysis does."""
    one_decision(scene)
    lock = os.open(scene.lesson / "work" / "lock", os.O_RDWR)
    fcntl.flock(lock, fcntl.LOCK_EX)
    os.ftruncate(lock, 0)
    os.pwrite(lock, b"process 4711, lessoncut analyze", 0)
    scene.finishing.append(lambda: os.close(lock))


def left_by_a_killed_run(scene: Scene) -> None:
    one_decision(scene)
    (scene.lesson / "work" / ".part-4711-sound.npy").write_bytes(b"half")
    (scene.lesson / ".part-4711-analysis.json").write_bytes(b"half")


def hostile_pick_up(scene: Scene) -> None:
    """A lesson from elsewhere whose log names a file outside it as a pick-up."""
    something_to_decide(scene)
    secret = scene.at / "secret.wav"
    shutil.copy(scene.take, secret)
    line = {"does": "decide", "number": 1, "at_utc": "2026-01-01T00:00:00Z", "choice": "add",
            "subject": {"kind": "pick_up", "path": "../secret.wav"}}  # fmt: skip
    (scene.lesson / "decisions.jsonl").write_text(json.dumps(line) + "\n")


# -- what must be true ------------------------------------------------------------------------------------------------


def still_decided(scene: Scene) -> None:
    """The teacher's decision is in the log as she made it."""
    folder = LessonFolder(scene.lesson)
    (entry,) = parse(folder.decisions_text()).entries
    assert getattr(entry, "choice", None) == "keep_earlier"


def holds_again(scene: Scene) -> None:
    still_decided(scene)
    assert [one["choice"] for one in scene.analysis["findings"]] == ["keep_earlier"]


def exported(scene: Scene) -> None:
    still_decided(scene)
    assert scene.outputs() == ["captions-srt.srt", "gap-sheet.csv"]


def made_there(scene: Scene) -> None:
    followed(scene)
    assert scene.lesson.is_dir()


def no_second_decision(scene: Scene) -> None:
    assert decided(LessonFolder(scene.lesson)) == [None]


BROKEN = r"lesson\.json: this file is broken Try: analyze into a new folder, and copy decisions\.jsonl"
NEWER = rb'{"schema": "lessoncut.lesson/2", "made_with": "9.0"}'
UNREADABLE = r"this lesson has no analysis that this lessoncut can read Try: lessoncut analyze"

CASES = (
    good("names with spaces", called("my first lesson"), made_there),
    good("names with quotes", called('it\'s "mine" `id`'), made_there),
    good("names with a newline", called("two\nlines"), made_there),
    good("names of a shell's commands", called("$(touch gone);&|>x"), made_there),
    good("names with percent signs and braces", called("100%d {0} %s [0:a]"), made_there),
    good("names that are no UTF-8", called(b"caf\xe9"), made_there),
    good("names from right to left and with emoji", called("\u202eשלום 👋"), made_there),
    good("names of 255 bytes", of_255_bytes, made_there),
    Case(
        "names that begin with a dash",
        dashed,
        0,
        r"lessoncut show",
        made_there,
        "analyze --lesson=-y -- -i.wav --json.md",
        "lesson",
    ),
    Case(
        "names that begin with a dash, in a process",
        dashed,
        2,
        r"No such option",
        None,
        "analyze -i.wav --json.md --lesson=-y",
        process="alone",
        tries=False,
    ),
    good("everything is a link", linked, followed),
    good("a folder whose parents are missing", to_be_made, made_there),
    Case("missing parents, and a take of silence", to_be_made_in_vain, 2, r"silence and nothing else Try"),
    Case("an empty folder, and a take of silence", empty_and_in_vain, 2, r"silence and nothing else Try"),
    Case(
        "a lesson folder where nobody may write",
        read_only_parent,
        2,
        r"this place may not be written to Try: choose another lesson folder",
        process="permitted",
    ),
    Case(
        "a decision where nobody may write",
        read_only_lesson,
        2,
        r"this place may not be written to Try",
        None,
        "decide {lesson} F01 keep_earlier",
        process="permitted",
    ),
    Case(
        "a lesson that nobody may write to is still shown",
        read_only_lesson,
        0,
        r"The winter wind is wild",
        None,
        "show {lesson}",
        process="permitted",
    ),
    Case(
        "outputs where nobody may write",
        read_only_lesson,
        2,
        r"this place may not be written to Try",
        None,
        EXPORT,
        process="permitted",
    ),
    Case("a full disk", full_disk, 2, r"the disk is full Try: make room", nothing_on_the_full_disk),
    Case("a file where the lesson should be", a_file_there, 2, r"this is a file, not a folder Try: name a folder"),
    Case("a folder of other things", other_things_there, 2, r"this folder holds other things \(thesis\.txt\) and no"),
    Case("the take's own folder", the_takes_own_folder, 2, r"this folder holds other things \(script\.md, take\.wav"),
    Case("no such lesson", lambda _: None, 2, r"there is no such lesson folder Try", None, "show {lesson}"),
    Case("a folder without a lesson", other_things_there, 2, r"this folder holds no lesson Try", None, "show {lesson}"),
    Case(
        "two commands on one folder: analyze",
        another_at_work,
        2,
        r"another lessoncut is working here \(process 4711, lessoncut analyze\) Try: wait",
        still_decided,
    ),
    Case("two commands on one folder: export", another_at_work, 2, r"another lessoncut is working here", None, EXPORT),
    Case("two commands on one folder: show", another_at_work, 0, r"The winter wind is wild", None, "show {lesson}"),
    Case(
        "a lesson of a newer form",
        rewritten("lesson.json", NEWER),
        2,
        r"made by a newer lessoncut \(form 2; .* Try: pip install --upgrade",
    ),
    Case(
        "a lesson of a newer form is not shown wrong",
        rewritten("lesson.json", NEWER),
        2,
        r"made by a newer lessoncut",
        None,
        "show {lesson}",
    ),
    Case("a foreign lesson.json", rewritten("lesson.json", b'{"schema": "cookbook/1"}'), 2, BROKEN),
    Case("a broken lesson.json", rewritten("lesson.json", b"{"), 2, BROKEN),
    Case("lesson.json of other bytes", rewritten("lesson.json", b"\xff\xfe\x00"), 2, BROKEN),
    Case("lesson.json nested without end", rewritten("lesson.json", b"[" * 100_000), 2, BROKEN),
    Case("a lesson without lesson.json", no_lesson_file, 2, r"this folder holds other things"),
    Case("an analysis with a field of a later version", found_with_more, 2, UNREADABLE, still_decided, "show {lesson}"),
    good("an analysis of a later version is made anew", found_with_more, holds_again),
    Case("a broken analysis", rewritten("work/found.json", b"{]"), 2, UNREADABLE, still_decided, "show {lesson}"),
    good("a broken analysis is made anew", rewritten("work/found.json", b"{]"), holds_again),
    good("a broken hearing is made anew", hearing_broken, holds_again),
    good("work is lost and made anew", work_lost, holds_again),
    good("analysis.json was written over by somebody", rewritten("analysis.json", b"mine"), holds_again),
    Case("decisions of a later version", decisions_of_later, 2, r"decisions\.jsonl", None, "show {lesson}"),
    Case(
        "decisions of other bytes",
        rewritten("decisions.jsonl", b"\xff\xfe\n{}\n"),
        2,
        r"decisions\.jsonl",
        None,
        "show {lesson}",
    ),
    Case(
        "a half-written decision is told",
        torn,
        0,
        r"Line 2 of decisions\.jsonl is only half there",
        still_decided,
        "show {lesson}",
    ),
    Case("broken pacing", rewritten("pacing.json", b"{}"), 0, r"", exported, EXPORT, "lesson"),
    good("what a killed run left is swept away", left_by_a_killed_run, holds_again),
    Case(
        "take changed since: show",
        take_changed,
        0,
        r"has been changed since it was analysed; analyze again",
        still_decided,
        "show {lesson}",
    ),
    Case(
        "take changed since: no film is cut from it",
        take_changed,
        2,
        r"has been changed since it was analysed; analyze again Try",
        still_decided,
        "export {lesson} --only lesson-sound",
        "lesson",
    ),
    Case(
        "take gone: show",
        take_gone,
        0,
        r"is no longer there; analyze again with its new place",
        still_decided,
        "show {lesson}",
    ),
    Case("take gone: captions are written all the same", take_gone, 0, r"captions-srt", exported, EXPORT, "lesson"),
    Case(
        "take gone: no film",
        take_gone,
        2,
        r"is no longer there.* Try: lessoncut analyze",
        still_decided,
        "export {lesson} --only lesson-sound",
        "lesson",
    ),
    good("take moved: the decision holds again", take_moved, holds_again),
    good("another take in the same folder: the decision is kept", of_another_take, still_decided),
    Case(
        "a lesson from elsewhere that reaches for other files",
        hostile_pick_up,
        2,
        r"adds a pick-up from outside the lesson folder \(.*secret\.wav\) Try: take it back",
    ),
)
