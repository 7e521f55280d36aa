"""Numbers of a published row that stand beside its first one."""

from __future__ import annotations

import pytest

from tests.trust import published_checks, record_check


def also(
    id: str, what: str, expected: tuple[float, ...], got: tuple[float, ...], tol: float
) -> None:
    """Check and record further numbers of the row of that id; the tolerance is absolute."""
    row = published_checks()[id]
    record_check(f"{id} {what}", f"{row.topic}: {what}", expected, got, row.source, row.status)
    assert got == pytest.approx(expected, rel=0, abs=tol)
