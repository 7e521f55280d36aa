"""What was learned of a file, kept for next month's."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reef_calc.errors import InputError
from reef_calc.log.folder import start_tank
from reef_calc.log.foreign.profiles import Profile, matching_profile, profile_name, write_profile
from reef_calc.log.foreign.undo_list import list_file

ODD = Profile(
    "club log",
    ("Datum", "KH [°dKH]", "a = \"b\" 'c' #"),
    "readings",
    {"unit/KH [°dKH]": "dKH", "meaning/a = \"b\" 'c' #": "not used", "row:leave out": "3, 7-9"},
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return start_tank(tmp_path / "reef", "Reef", 300.0, "Europe/Berlin")


def test_what_is_written_comes_back_in_any_order(folder: Path) -> None:
    write_profile(folder, ODD)
    found = matching_profile(folder, list(reversed(ODD.headings)))
    assert found is not None
    assert (found.name, found.kind) == ("club log", "readings")
    assert found.answers == {k: v for k, v in ODD.answers.items() if not k.startswith("row:")}


def test_nearly_the_same_is_not_the_same(folder: Path) -> None:
    write_profile(folder, ODD)
    assert matching_profile(folder, [*ODD.headings, "Ca"]) is None
    assert matching_profile(folder, ["datum", *ODD.headings[1:]]) is None
    assert matching_profile(folder, ["", " "]) is None


def test_comments_and_the_list_of_what_was_added_stay(folder: Path) -> None:
    (folder / "imports").mkdir()
    path = folder / "imports" / "club log.toml"
    path.write_text('# mine\n[[added]]\nwhen = "2026-03-01T10:00:00Z" # then\n', encoding="utf-8")
    write_profile(folder, ODD)
    write_profile(folder, ODD)
    text = path.read_text(encoding="utf-8")
    assert "# mine" in text and "# then" in text and text.count("[[added]]") == 1
    assert matching_profile(folder, ODD.headings) is not None
    write_profile(folder, Profile("club log", ODD.headings, "logger", {}))
    found = matching_profile(folder, ODD.headings)
    assert found is not None and (found.kind, found.answers) == ("logger", {})


def test_a_broken_profile_is_named_and_does_not_hide_the_others(folder: Path) -> None:
    (folder / "imports").mkdir()
    (folder / "imports" / "a.toml").write_text("headings = [", encoding="utf-8")
    with pytest.raises(InputError, match=r"imports/a\.toml"):
        matching_profile(folder, ODD.headings)
    write_profile(folder, ODD)
    assert matching_profile(folder, ODD.headings) is not None
    with pytest.raises(InputError, match=r"imports/a\.toml"):
        write_profile(folder, Profile("a", ("X",)))
    (folder / "imports" / "a.toml").write_text("headings = 3", encoding="utf-8")
    with pytest.raises(InputError, match="a list of headings"):
        matching_profile(folder, ["X"])


@given(st.text(max_size=120))
@settings(max_examples=50, deadline=None)
def test_any_text_gives_a_name_for_a_file(text: str) -> None:
    name = profile_name(text)
    assert list_file(name) == f"imports/{name}.toml"
    assert profile_name(name) == name


@pytest.mark.parametrize(
    "text", ["CON", "con.csv", "a/b\\c.csv", "..", "nul.txt", "x" * 200, "aux.v2"]
)
def test_names_that_systems_keep_for_themselves(text: str) -> None:
    assert list_file(profile_name(text)).startswith("imports/")
