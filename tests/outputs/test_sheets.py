"""The gap sheet and the line times."""

from __future__ import annotations

import csv
import io

import pytest

from lessoncut.outputs.gap_sheet import gap_sheet
from lessoncut.outputs.line_times import line_times
from tests.outputs.programmes import harbour, programme, said


def rows(content: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(content.removeprefix("\ufeff"), newline="")))


def test_only_lines_with_a_learners_gap_are_in_the_sheet() -> None:
    read = rows(gap_sheet(harbour()))
    assert [(row["line"], row["part"]) for row in read] == [
        ("L004", ""),
        ("L005", "1 of 2"),
        ("L005", "2 of 2"),
        ("L006", ""),
    ]
    assert read[0] == {
        "line": "L004",
        "part": "",
        "text": "The ship was slow.",
        "starts": "00:00:31.961",
        "spoken_s": "1.360",
        "syllables": "4",
        "recorded_pause_s": "2.400",
        "wanted_gap_s": "2.900",
        "gap_s": "2.900",
        "total_s": "4.260",
        "note": "",
    }
    assert read[2]["recorded_pause_s"] == ""
    assert "most" in read[2]["note"]


def test_the_sheet_is_csv_as_rfc_4180_has_it() -> None:
    """RFC 4180: lines end in CR LF; a field with a comma or a quotation mark is quoted, the mark doubled."""
    content = gap_sheet(harbour())
    assert content.startswith("\ufeffline,")
    assert content.endswith("\r\n") and "\n" not in content.replace("\r\n", "")
    assert '"Dr. Whitcombe said, ""Keep 3.5 & <not> 4 sheep"' in content
    assert len({line.count(",") for line in content.splitlines() if '"' not in line}) == 1


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "＝", "＋", "－", "＠", "\t=", "\r=", "\n="])
def test_no_cell_begins_like_a_formula(start: str) -> None:
    """OWASP, "CSV Injection": cells that begin with one of these, a tab or a carriage return, or full-width forms."""
    text = f"{start}HYPERLINK(1) and more"
    one = said(0, text, 1000, 2000, line_id="L001", pass_kind="repeat", gap="repeat")
    (row,) = rows(gap_sheet(programme([one])))
    for cell in row.values():
        assert not cell.startswith(("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠"))
    assert row["text"] == "'" + " ".join(text.split())


def test_line_times_are_a_row_an_item_with_tabs_between() -> None:
    read = [line.split("\t") for line in line_times(harbour()).splitlines()]
    assert {len(row) for row in read} == {5}
    assert len(read) == 1 + len(harbour().said)
    assert read[9] == ["00:00:36.221", "00:00:39.281", "L005 (1 of 2)", "repeat", harbour().said[8].text]


def test_speech_that_nobody_could_read_is_listed_as_such() -> None:
    content = line_times(programme([said(0, "\x07", 1000, 500)]))
    assert content.splitlines()[1] == "00:00:01.000\t00:00:01.340\t-\t-\t(no words)"
