"""What a page hands over when a file is dropped on it."""

from __future__ import annotations

import base64

import pytest

from reef_calc.errors import InputError
from reef_calc.show.panels.drop_zone import DropZone


def test_a_dropped_file_is_handed_on_byte_for_byte_and_may_come_again() -> None:
    taken: list[tuple[str, bytes]] = []
    zone = DropZone(lambda name, content: taken.append((name, content)))
    data = "my log.csv\ndata:text/csv;base64," + base64.b64encode(b"\xff\xfed\x00,").decode()
    for _ in range(2):
        zone.dropped.value = data
        zone.take()
        assert zone.dropped.value == ""
    assert taken == [("my log.csv", b"\xff\xfed\x00,")] * 2
    zone.take()
    assert len(taken) == 2


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("big.csv\ntoo large 70000000", "70 MB.*Type its path"),
        ("half.csv\ndata:text/csv;base64,QUJ", "Drop it again"),
        ("half.csv\ndata:text/csv;base64,Q*==", "Drop it again"),
    ],
)
def test_what_did_not_arrive_is_said(text: str, said: str) -> None:
    zone = DropZone(lambda *_: pytest.fail("nothing arrived"))
    zone.dropped.value = text
    with pytest.raises(InputError, match=said):
        zone.take()


def test_an_empty_file_arrives_empty() -> None:
    taken: list[bytes] = []
    zone = DropZone(lambda _, content: taken.append(content))
    zone.dropped.value = "empty.csv\ndata:"
    zone.take()
    assert taken == [b""]
