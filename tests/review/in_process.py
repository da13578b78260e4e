"""The review in this process, on a thread of its own."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager

from lessoncut.review.desk import Desk
from lessoncut.review.open import listening, served


@contextmanager
def answering(desk: Desk) -> Iterator[str]:
    """Its address, for as long as it answers."""
    with listening(0) as listener:
        server, address = served(desk, listener)
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]})
        thread.start()
        try:
            yield address
        finally:
            server.should_exit = True
            thread.join()
