"""`import reef_calc` is cheap: the heavy libraries are loaded by the function that needs them."""

from __future__ import annotations

import subprocess
import sys

HEAVY = ["statsmodels", "matplotlib", "ipywidgets", "PyCO2SYS", "pint", "gsw", "periodictable"]


def test_importing_the_package_loads_nothing_heavy() -> None:
    code = f"import sys, reef_calc; print([name for name in {HEAVY} if name in sys.modules])"
    # -I: only what is installed counts, neither the current folder nor PYTHONPATH.
    run = subprocess.run(
        [sys.executable, "-I", "-W", "error", "-c", code],
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert (run.stdout.strip(), run.stderr) == ("[]", "")
