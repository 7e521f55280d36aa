"""Writes everything a tank folder holds as a workbook, or its tables as CSV files.

python -m reef_calc.log.back_out TANK OUT.xlsx
python -m reef_calc.log.back_out TANK FOLDER [--decimal-comma]
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from reef_calc.errors import ReefError
from reef_calc.log.back_out.csv_files import export_csv
from reef_calc.log.back_out.workbook import export_workbook
from reef_calc.log.tables import COLUMNS
from reef_calc.log.tank import open_tank


def main(arguments: list[str] | None = None) -> int:
    """Write what was asked for.

    Parameters
    ----------
    arguments : list of str, optional
        Of the command line; those of the program when not given.

    Returns
    -------
    int
        0, or 1 where something was refused.

    Examples
    --------
    >>> main(["no such folder", "out.xlsx"])
    1
    """
    parser = argparse.ArgumentParser(prog="back_out", description="Write a tank folder out.")
    parser.add_argument("tank", type=Path, help="tank folder")
    parser.add_argument("out", type=Path, help="a new file .xlsx, or a folder for CSV files")
    parser.add_argument(
        "--decimal-comma", action="store_true", help="CSV with decimal comma and semicolons"
    )
    asked = parser.parse_args(arguments)
    decimal, separator = (",", ";") if asked.decimal_comma else (".", ",")
    try:
        tank = open_tank(asked.tank)
        if asked.out.suffix == ".xlsx":
            files = {asked.out: export_workbook(tank)}
        else:
            files = {
                asked.out / table: export_csv(tank, table, decimal=decimal, separator=separator)
                for table in COLUMNS
            }
        for path, content in files.items():
            path.parent.mkdir(parents=True, exist_ok=True)
            # Never over a file that is there: OUT may be the tank folder itself.
            with path.open("xb") as target:
                target.write(content)
            sys.stdout.write(f"{path}\n")
    except (ReefError, OSError) as err:
        sys.stderr.write(f"{err}\n")
        return 1
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
