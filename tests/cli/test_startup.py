"""What is slow to import is not imported before it is needed."""

import json
import subprocess
import sys

SLOW = (
    "faster_whisper",
    "ctranslate2",
    "onnxruntime",
    "pocketsphinx",
    "scipy",
    "av",
    "huggingface_hub",
    "pysubs2",
    "distributed",
)


def test_the_commands_load_nothing_slow() -> None:
    code = f"import json, sys, lessoncut.cli; print(json.dumps([m for m in {SLOW!r} if m in sys.modules]))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert json.loads(done.stdout) == []
