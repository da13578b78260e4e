"""Fuzz one target for some minutes, guided by coverage: ``python -m tests.robustness.fuzz script --minutes 10``.

Needs ``pip install atheris``. It begins with the committed corpus. What it finds is written to ``tests/robustness/
corpus/TARGET`` only with ``--keep``; a finding ends the run with its bytes in ``crash-*`` in the working folder.
"""

from __future__ import annotations

import argparse
import contextlib
import shutil
import sys
import tempfile
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["lessoncut"]):
    from tests.robustness import fuzzing

SLOWEST_S = 300
MOST_BYTES = 4096


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__.partition("\n")[0] if __doc__ else None)
    asked.add_argument("target", choices=fuzzing.TARGETS)
    asked.add_argument("--minutes", type=float, default=10)
    asked.add_argument("--keep", action="store_true", help="add what reached new code to the corpus")
    arguments = asked.parse_args()
    committed = fuzzing.CORPUS / arguments.target
    found = committed if arguments.keep else Path(tempfile.mkdtemp(prefix="lessoncut-fuzz-"))
    options = [f"-max_total_time={arguments.minutes * 60:.0f}", f"-timeout={SLOWEST_S}", f"-max_len={MOST_BYTES}"]
    atheris.Setup([sys.argv[0], *options, str(found), str(committed)], fuzzing.TARGETS[arguments.target])
    with contextlib.ExitStack() as leaving:
        leaving.callback(fuzzing.leave)
        if not arguments.keep:
            leaving.callback(shutil.rmtree, found, ignore_errors=True)
        fuzzing.TARGETS[arguments.target](fuzzing.corpus(arguments.target)[0])  # what is made once takes a while
        atheris.Fuzz()


if __name__ == "__main__":
    main()
