"""Screenshots of a notebook after Run All: python -m tests.browser.look NOTEBOOK --out DIR."""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path

from tests.browser.lab import (
    chromium,
    copy_notebooks,
    running_lab,
    take_picture,
)


def main() -> None:
    """Run one notebook in a copy and write what the browser shows, in each theme and width asked for."""
    parser = argparse.ArgumentParser(prog="python -m tests.browser.look", description=__doc__)
    parser.add_argument("notebook", type=Path)
    parser.add_argument("--out", type=Path, default=Path("tests/output"))
    parser.add_argument("--theme", nargs="+", choices=("light", "dark"), default=["light"])
    parser.add_argument("--width", nargs="+", type=int, default=[1280])
    parser.add_argument("--window", action="store_true", help="one window, not the whole notebook")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        root = copy_notebooks(Path(folder), only=asked.notebook)
        with running_lab(root) as lab, chromium() as browser:
            for theme in asked.theme:
                for width in asked.width:
                    page = lab.open_and_run(
                        browser, asked.notebook.name, width=width, dark=theme == "dark"
                    )
                    name = f"{asked.notebook.stem}_{theme}_{width}.png"
                    written = take_picture(page, asked.out / name, full=not asked.window)
                    sys.stdout.write(f"{written}\n")
                    page.close()


if __name__ == "__main__":
    main()
