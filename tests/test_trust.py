"""The page of published checks: digits, groups, and the same text from the same record."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests import trust


def test_digits_reached() -> None:
    assert trust.digits_reached(2.80385, 2.80385) == 12
    assert trust.digits_reached(100.0, 100.1) == 3
    assert trust.digits_reached((1.0, 100.0), (1.0, 101.0)) == 2
    assert trust.digits_reached(0.0, 0.5) == 0


def test_several_numbers_in_a_row() -> None:
    assert trust.published_checks()["S24"].numbers == (424.24, 424.87)
    assert trust.published_checks()["C12"].numbers == (2304.27, 2.35806, 6.6116)


def test_page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(trust, "PAGE", tmp_path / "TRUST.md")
    monkeypatch.setattr(trust, "_records", {})
    trust.record_check("B2", "density: a|b", (1.0, 2.0), (1.0, 2.1), "a table", "PUBLISHED")
    trust.record_check("B1", "units: 1 in", 25.4, 25.4, "definition", "PUBLISHED")
    trust.write_page()
    page = (tmp_path / "TRUST.md").read_text(encoding="utf-8")
    assert page.index("## Density") < page.index("## Units")
    assert "| B2 | a/b | 1 / 2 | 1 / 2.1 | 1 | PUBLISHED | a table |" in page
    with pytest.raises(ValueError, match="2 numbers expected"):
        trust.record_check("B3", "units: x", (1.0, 2.0), 1.0, "", "")
