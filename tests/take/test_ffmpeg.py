from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import pytest

from lessoncut import ffmpeg
from lessoncut.errors import Cancelled, TakeError, ToolError
from tests.take.making import ffmpeg as unfenced

posix_only = pytest.mark.skipif(os.name != "posix", reason="stands in for ffmpeg with a shell script")

NEW = "libavutil      58. 29.100 / 58. 29.100"
WITH_H264 = "configuration: --enable-gpl --enable-libx264"


def stand_in(path: Path, body: str, *, about: str = f"{NEW}\n{WITH_H264}") -> Path:
    """A program that calls itself ffmpeg."""
    path.parent.mkdir(exist_ok=True)
    path.write_text(f'#!/bin/sh\nif [ "$1" = -version ]; then echo "{about}"; exit 0; fi\n{body}\n')
    path.chmod(0o755)
    return path


@pytest.fixture
def chosen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """Where to put a stand-in that will be run."""
    monkeypatch.setenv(ffmpeg.CHOICE, str(tmp_path / "ffmpeg"))
    yield tmp_path / "ffmpeg"


def pcm_job(path: Path) -> ffmpeg.Stream:
    return ffmpeg.target(ffmpeg.source(path)["a:0"], format="s16le", ar=16000, ac=1)


class TestExecutable:
    def test_the_packaged_one_when_path_has_none(self, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
        monkeypatch.delenv(ffmpeg.CHOICE, raising=False)
        monkeypatch.setenv("PATH", str(tmp_path))
        assert "imageio_ffmpeg" in ffmpeg.executable()

    @posix_only
    @pytest.mark.parametrize(
        ("about", "taken"),
        [
            (f"{NEW}\n{WITH_H264}", True),
            # FFmpeg 4.4's libavutil is 56.70, 5.0's is 57.17 (ffmpeg.org, "Old Releases"; from memory).
            (f"libavutil      57. 17.100 / 57. 17.100\n{WITH_H264}", True),
            (f"libavutil      56. 70.100 / 56. 70.100\n{WITH_H264}", False),
            (f"{NEW}\nconfiguration: --disable-gpl", False),
            ("something else", False),
        ],
    )
    def test_a_fit_one_on_path_is_taken(
        self, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, about: str, taken: bool
    ) -> None:
        on_path = stand_in(tmp_path / "bin" / "ffmpeg", "exit 1", about=about)
        monkeypatch.delenv(ffmpeg.CHOICE, raising=False)
        monkeypatch.setenv("PATH", str(on_path.parent))
        assert (ffmpeg.executable() == str(on_path)) is taken

    @posix_only
    def test_the_users_choice_comes_before_path(self, chosen: Path) -> None:
        stand_in(chosen, "exit 1", about=NEW)
        assert ffmpeg.executable() == str(chosen)

    @posix_only
    @pytest.mark.parametrize("about", ["libavutil      56. 31.100 / 56. 31.100", "no version", None])
    def test_the_users_choice_is_never_replaced(self, chosen: Path, about: str | None) -> None:
        if about is not None:
            stand_in(chosen, "exit 1", about=about)
        with pytest.raises(ToolError, match="does not run or is older") as caught:
            ffmpeg.executable()
        assert caught.value.exit_code == 3
        assert ffmpeg.CHOICE in str(caught.value)

    def test_none_at_all(self, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
        monkeypatch.delenv(ffmpeg.CHOICE, raising=False)
        monkeypatch.setenv("PATH", str(tmp_path))
        monkeypatch.setenv("IMAGEIO_FFMPEG_EXE", str(tmp_path / "nothing"))
        with pytest.raises(ToolError, match="no usable ffmpeg"):
            ffmpeg.executable()


class TestFences:
    @pytest.mark.parametrize(
        "name",
        ["take.mp4", "-i", "http://example.org/a.mp4", "concat:/a|/b", "file:take.mp4", "data:,x", "subfile:,,:/a",
         "pipe:0,x", "crypto:file:/a"],
    )  # fmt: skip
    def test_an_input_that_could_be_read_as_something_else_is_refused(self, name: str) -> None:
        with pytest.raises(ValueError, match="an input must be"):
            ffmpeg.run(["-i", name, "-f", "null", "pipe:1"])
        with pytest.raises(ValueError, match="an input must be"):
            ffmpeg.run(["-f", "mp4", "-i", name, "-f", "null", "pipe:1"])

    @pytest.mark.parametrize("name", ["out.mp4", "-y", "tcp://example.org:80", "/tmp/out.mp4"])
    def test_an_output_that_could_be_read_as_something_else_is_refused(self, name: str, mp4: Path) -> None:
        with pytest.raises(ValueError, match="an output must be"):
            ffmpeg.run(["-i", mp4, name])

    @posix_only
    def test_every_input_has_them(self, chosen: Path, tmp_path: Path, mp4: Path) -> None:
        stand_in(chosen, f'printf "%s\\n" "$@" > {tmp_path}/arguments')
        joined = ffmpeg.concatenated([ffmpeg.source(mp4), ffmpeg.generated("color=black:s=320x180")])
        ffmpeg.run(ffmpeg.target(joined, ffmpeg.piped(format="s16le"), to=tmp_path / "x.mp4"), stdin=[])
        arguments = (tmp_path / "arguments").read_text().splitlines()
        assert arguments[:4] == ["-nostdin", "-hide_banner", "-loglevel", "error"]
        inputs = [index for index, argument in enumerate(arguments) if argument == "-i"]
        assert sorted(arguments[index + 1] for index in inputs) == sorted(
            [f"file:{mp4}", "color=black:s=320x180", "pipe:0"]
        )
        for index in inputs:
            assert arguments[index - 4 : index : 2] == ["-protocol_whitelist", "-format_whitelist"]
            assert arguments[index - 3] == "file,pipe"
            allowed = arguments[index - 1].split(",")
            assert {"mov", "matroska", "wav", "mp3", "mpegts"} <= set(allowed)
            assert not {"hls", "dash", "concat", "sdp", "imf", "avisynth", "vapoursynth", "srt", "tty"} & set(allowed)
            assert ("lavfi" in allowed) == (arguments[index + 1].startswith("color"))

    @pytest.mark.parametrize(
        "name",
        ["-i.mp4", "a b'c\"d.mp4", "new\nline.mp4", "http:x.mp4", "100%d.mp4", "é中.mp4", "$(id);&|.mp4", "[0:a].mp4"],
    )
    def test_any_name_is_just_a_name(
        self, name: str, mp4: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.chdir(tmp_path)
        Path(tmp_path / name).write_bytes(mp4.read_bytes())
        assert sum(map(len, ffmpeg.read(pcm_job(Path(name))))) > 3.9 * 16000 * 2
        ffmpeg.run(ffmpeg.target(ffmpeg.source(Path(name))["a:0"], to=Path(f"{name}.out"), format="wav"))
        assert (tmp_path / f"{name}.out").stat().st_size > 4 * 48000 * 2

    @posix_only
    def test_a_name_that_is_not_utf8(self, mp4: Path, tmp_path: Path) -> None:
        path = tmp_path / os.fsdecode(b"caf\xe9.mp4")
        path.write_bytes(mp4.read_bytes())
        assert sum(map(len, ffmpeg.read(pcm_job(path)))) > 3.9 * 16000 * 2


class TestPlaylists:
    """A file that names others must not make them readable; the control shows that a bare ffmpeg does read them."""

    def lists(self, secret: str) -> dict[str, str]:
        return {
            "concat": f"ffconcat version 1.0\nfile {secret}\n",
            "hls": f"#EXTM3U\n#EXT-X-TARGETDURATION:5\n#EXTINF:4,\n{secret}\n#EXT-X-ENDLIST\n",
        }

    @pytest.mark.parametrize(("kind", "name"), [("concat", "list.mp4"), ("concat", "list.txt"), ("hls", "list.m3u8")])
    def test_refused(self, kind: str, name: str, mp4: Path, tmp_path: Path) -> None:
        unfenced("-i", mp4, "-c", "copy", tmp_path / "secret.ts")
        playlist = tmp_path / name
        playlist.write_text(self.lists("secret.ts")[kind])
        unfenced("-i", playlist, "-vn", tmp_path / "control.wav")
        assert (tmp_path / "control.wav").stat().st_size > 4 * 48000
        with pytest.raises(TakeError, match=r"[Ww]hitelist|Invalid argument"):
            list(ffmpeg.read(pcm_job(playlist), blame=str(playlist)))

    @pytest.mark.parametrize("kind", ["concat", "hls"])
    def test_no_address_is_opened(self, kind: str, tmp_path: Path) -> None:
        (tmp_path / "list.m3u8").write_text(self.lists("http://127.0.0.1:9/a.ts")[kind])
        with pytest.raises(TakeError, match=r"[Ww]hitelist|Invalid argument"):
            list(ffmpeg.read(pcm_job(tmp_path / "list.m3u8"), blame="list.m3u8"))

    def test_subtitles_and_pictures_are_no_recordings(self, tmp_path: Path) -> None:
        (tmp_path / "a.srt").write_text("1\n00:00:01,000 --> 00:00:02,000\nfile:///etc/passwd\n")
        job = ffmpeg.target(ffmpeg.source(tmp_path / "a.srt")["s:0"], format="srt")
        with pytest.raises(TakeError):
            list(ffmpeg.read(job, blame="a.srt"))


class TestRun:
    def test_progress_rises_to_one(self, mp4: Path, tmp_path: Path) -> None:
        said: list[float] = []
        picture = ffmpeg.source(mp4, readrate=8)["V:0"]
        ffmpeg.run(
            ffmpeg.target(picture, to=tmp_path / "a.mp4", vcodec="libx264"), length_ms=4000, progress=said.append
        )
        assert len(said) > 2
        assert all(before <= after for before, after in pairwise(said))
        assert 0 <= said[0] <= said[-1] == 1.0

    def test_a_file_that_is_there_is_overwritten(self, mp4: Path, tmp_path: Path) -> None:
        (tmp_path / "a.wav").write_text("old")
        ffmpeg.run(ffmpeg.target(ffmpeg.source(mp4)["a:0"], to=tmp_path / "a.wav"))
        assert (tmp_path / "a.wav").read_bytes()[:4] == b"RIFF"

    def test_what_ffmpeg_says_reaches_the_user_without_its_addresses(self, tmp_path: Path) -> None:
        (tmp_path / "noise.mp4").write_bytes(b"not media at all" * 100)
        with pytest.raises(TakeError) as caught:
            list(ffmpeg.read(pcm_job(tmp_path / "noise.mp4"), blame="noise.mp4"))
        assert caught.value.where == "noise.mp4"
        assert caught.value.exit_code == 2
        assert "Invalid data" in str(caught.value)
        assert " @ 0x" not in str(caught.value)

    def test_without_a_recording_to_blame_it_is_the_tool(self, mp4: Path, tmp_path: Path) -> None:
        with pytest.raises(ToolError, match=r"ffmpeg failed: .*[Ee]ncoder"):
            ffmpeg.run(ffmpeg.target(ffmpeg.source(mp4), to=tmp_path / "a.mp4", vcodec="nonesuch"))

    @posix_only
    @pytest.mark.parametrize(
        ("body", "message"),
        [
            ("printf abcd; echo 'boom' >&2; exit 1", "ffmpeg failed: boom"),
            ("printf abcd; exit 7", "ffmpeg failed: exit code 7"),
            ("printf abcd; kill -9 $$", "ffmpeg was stopped by signal 9"),
            ("echo 'av_interleaved_write_frame(): No space left on device' >&2; exit 1", "the disk is full"),
        ],
    )
    def test_exiting_midway(self, chosen: Path, mp4: Path, body: str, message: str) -> None:
        stand_in(chosen, body)
        with pytest.raises(ToolError, match=message):
            list(ffmpeg.read(pcm_job(mp4)))

    @posix_only
    def test_endless_complaints_do_not_fill_the_memory_or_block(self, chosen: Path, mp4: Path) -> None:
        stand_in(chosen, "yes 'bad frame' | head -c 3000000 >&2; echo the last >&2; exit 1")
        with pytest.raises(ToolError, match="ffmpeg failed: bad frame; the last"):
            list(ffmpeg.read(pcm_job(mp4)))

    def test_fed_and_read_at_once(self) -> None:
        """More than any pipe holds goes through, in step."""
        block = bytes(range(256)) * 256
        job = ffmpeg.target(ffmpeg.piped(format="u8", ar=8000, ac=1), format="u8")
        chunks = list(ffmpeg.read(job, chunk_bytes=100_000, stdin=(block for _ in range(64))))
        assert b"".join(chunks) == block * 64
        assert {len(chunk) for chunk in chunks[:-1]} == {100_000}

    def test_a_reader_that_has_enough_is_no_error(self) -> None:
        job = ffmpeg.target(ffmpeg.piped(format="u8", ar=8000, ac=1), format="u8", t=1)
        assert len(b"".join(ffmpeg.read(job, stdin=(bytes(65536) for _ in range(500))))) == 8000

    def test_a_failing_feed_is_the_error(self) -> None:
        def feed() -> Iterator[bytes]:
            yield bytes(1000)
            raise TakeError("the feed broke")

        with pytest.raises(TakeError, match="the feed broke"):
            list(ffmpeg.read(ffmpeg.target(ffmpeg.piped(format="u8", ar=8000, ac=1), format="u8"), stdin=feed()))


def is_running(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    return True


@posix_only
class TestStopping:
    """However the work is left, ffmpeg is gone."""

    @pytest.fixture
    def endless(self, chosen: Path, tmp_path: Path) -> Path:
        stand_in(chosen, f"echo $$ > {tmp_path}/pid; while :; do echo progress=continue; sleep 0.02; done")
        return tmp_path / "pid"

    @pytest.mark.parametrize("reason", [Cancelled, KeyboardInterrupt])
    def test_from_the_progress(self, endless: Path, mp4: Path, tmp_path: Path, reason: type[BaseException]) -> None:
        def stop(_: float) -> None:
            raise reason("enough")

        with pytest.raises(reason):
            ffmpeg.run(ffmpeg.target(ffmpeg.source(mp4), to=tmp_path / "a.mp4"), progress=stop)
        assert not is_running(int(endless.read_text()))

    def test_by_closing_what_is_read(self, endless: Path, mp4: Path) -> None:
        chunks = ffmpeg.read(pcm_job(mp4), chunk_bytes=10)
        assert next(chunks) == b"progress=c"
        pid = int(endless.read_text())
        assert is_running(pid)
        chunks.close()
        assert not is_running(pid)

    def test_two_in_a_row(self, endless: Path, mp4: Path) -> None:
        """Closing the second ends the first, which feeds it."""
        first = ffmpeg.read(pcm_job(mp4), chunk_bytes=10)
        second = ffmpeg.read(ffmpeg.target(ffmpeg.piped(format="u8"), format="u8"), chunk_bytes=10, stdin=first)
        next(second)
        time.sleep(0.2)
        second.close()
        with pytest.raises(StopIteration):
            next(first)
        assert not is_running(int(endless.read_text()))


class TestStrayTestModule:
    """CVE-2025-50817: ``future``, which ffmpeg-python needs, can import a ``test.py`` from the working folder.

    Two of its modules do: ``future.standard_library`` (on Python 2) and ``future.moves.test`` (always).
    """

    def bitten(self, folder: Path, code: str, *, check: bool = True) -> bool:
        (folder / "test.py").write_text("import pathlib; pathlib.Path('bitten').touch()")
        root = str(Path(ffmpeg.__file__).parents[1])
        environment = os.environ | {"PYTHONPATH": root}
        subprocess.run(
            [sys.executable, "-c", code], cwd=folder, env=environment, stderr=subprocess.PIPE, check=check, timeout=60
        )
        return (folder / "bitten").exists()

    def test_the_hole_is_there(self, tmp_path: Path) -> None:
        """The control: without it the next test could not fail."""
        assert self.bitten(tmp_path, "import future.moves.test.support", check=False)

    def test_it_cannot_bite_here(self, tmp_path: Path) -> None:
        code = """
import sys
from pathlib import Path
from lessoncut import ffmpeg
picture = ffmpeg.source(Path("a.mp4"), ss=1)["V:0"].filter("scale", 2, 2)
sound = ffmpeg.generated("anullsrc").audio
joined = ffmpeg.concatenated([picture, ffmpeg.generated("color=black")])
ffmpeg._arguments(ffmpeg.target(joined, sound, to=Path("b.mp4"), acodec="aac"))
ffmpeg.executable()
assert not {"test", "future.standard_library", "future.moves"} & set(sys.modules)
"""
        assert not self.bitten(tmp_path, code)
