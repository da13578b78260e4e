"""The page of costs is the one that the figures make, and the takes are what they are said to be."""

import json
import resource
from pathlib import Path
from xml.etree import ElementTree

import pytest

from tests.benchmarks import length
from tests.benchmarks.__main__ import FIGURES, PAGE, PLOT, SORTS, written_page
from tests.benchmarks.measuring import cost_of
from tests.benchmarks.takes import LINES_A_MINUTE, lines_of


def test_the_page_is_fresh() -> None:
    figures = json.loads(FIGURES.read_text(encoding="utf-8"))
    assert figures.keys() <= SORTS.keys()
    stale = "stale; run: python -m tests.benchmarks --only NAME"
    assert PAGE.read_text(encoding="utf-8") == written_page(figures), stale
    assert PLOT.read_text(encoding="utf-8") == length.plot(figures["length"]["found"]), stale


def test_the_points_of_the_plot_lie_where_the_figures_say() -> None:
    found = [{"minutes": 10.0, "cpu_s": 20.0}, {"minutes": 60.0, "cpu_s": 120.0}, {"minutes": 180.0, "cpu_s": 540.0}]
    drawn = ElementTree.fromstring(length.plot(found))
    places = [
        (float(one.get("cx", "")), float(one.get("cy", ""))) for one in drawn.iter() if one.tag.endswith("circle")
    ]
    across, down = length.WIDTH - 2 * length.MARGIN, length.HEIGHT - 2 * length.MARGIN
    floor = length.HEIGHT - length.MARGIN
    for (x, y), one in zip(places, found, strict=True):
        assert x == pytest.approx(length.MARGIN + across * one["minutes"] / 180, abs=0.1)
        assert y == pytest.approx(floor - down * one["cpu_s"] / 540, abs=0.1)


def test_three_hours_have_500_different_lines() -> None:
    lines = lines_of(round(180 * LINES_A_MINUTE))
    assert len(lines) == len(set(lines)) == 500


def test_the_cost_of_a_process(tmp_path: Path) -> None:
    """Work that takes a known time, memory of a known size, and a child that works as well."""
    busy = "from time import process_time as used; b = b'x' * 200_000_000\nwhile used() < 0.3: pass"
    own_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    alone = cost_of(["-c", busy])
    parent = f"import subprocess, sys; subprocess.run([sys.executable, '-c', {busy!r}]); print('done')"
    with_child = cost_of(["-c", parent], into=tmp_path / "said.txt")
    for cost in (alone, with_child):
        assert cost.cpu_s >= 0.3
        # A process begins with the memory of the one that began it (Linux counts it so).
        assert 190 <= cost.peak_mb < max(400, 1.1 * own_mb)
    assert (tmp_path / "said.txt").read_text() == "done\n"
