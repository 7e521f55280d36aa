"""Settings of the test run; the shared fixtures are in tests/fixtures.py."""

from __future__ import annotations

pytest_plugins = ["tests.fixtures"]
