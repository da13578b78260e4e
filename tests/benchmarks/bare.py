"""The bare recogniser, for comparison: faster-whisper with its default settings hears a file.

python -m tests.benchmarks.bare FILE MODEL
"""

from __future__ import annotations

import sys

from faster_whisper import WhisperModel


def main(file: str, model: str) -> None:
    segments, _ = WhisperModel(model).transcribe(file)
    for segment in segments:  # it works while it is read
        print(segment.text)


if __name__ == "__main__":
    main(*sys.argv[1:])
