from __future__ import annotations

from lessoncut.progress import forward, part


def test_work_that_begins_anew_does_not_go_back() -> None:
    told: list[float] = []
    whole = forward(told.append)
    part(whole, 0.0, 0.9)(0.5)
    again = part(whole, 0.3, 1.0)
    again(0.0)
    again(1.0)
    assert told == [0.45, 0.45, 1.0]
