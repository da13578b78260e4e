"""``python -m lessoncut``."""

from lessoncut.cli import main

main()
