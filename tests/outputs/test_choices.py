"""What the teacher chooses of the outputs that teach, and which outputs need a study at all."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lessoncut.errors import ChoiceError
from lessoncut.outputs import Kind, NotPossible, Output, all_outputs
from lessoncut.outputs.base import Parts
from lessoncut.outputs.choices import Choices
from tests.outputs.lessons import studied

IN_MEMORY = [kind for kind in all_outputs() if isinstance(kind, Output | Parts)]


def _made(kind: Output | Parts, *, with_study: bool) -> object:
    programme, _ = studied()
    try:
        return kind.make(programme if with_study else replace(programme, study=None))
    except NotPossible as error:
        return str(error)


@pytest.mark.parametrize("kind", IN_MEMORY, ids=lambda kind: kind.name)
def test_an_output_says_whether_it_is_made_of_the_study(kind: Kind) -> None:
    assert isinstance(kind, Output | Parts)
    assert (_made(kind, with_study=True) != _made(kind, with_study=False)) == kind.of_study


@pytest.mark.parametrize("url", ["https://example.org/a?b=1#t", "http://example.org:8000/übung"])
def test_addresses_of_pages(url: str) -> None:
    assert Choices(url=url).url == url


@pytest.mark.parametrize(
    "url", ["javascript:alert(1)", "example.org", "https://", "file:///etc/hosts", "https://a b.org", "http://[::1", ""]
)
def test_what_no_browser_would_open_is_refused(url: str) -> None:
    """RFC 3986 for the syntax; only http and https lead to a page that learners can open."""
    with pytest.raises(ChoiceError):
        Choices(url=url)
