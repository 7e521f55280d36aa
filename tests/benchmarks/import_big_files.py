"""Time and memory of reading big foreign files, each in a process of its own; run on demand.

``python -m tests.benchmarks.import_big_files`` prints a line for each file.
"""

from __future__ import annotations

import datetime as dt
import io
import random
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

MEGABYTE = 1024**2


def text_of_size(size: int, quoted: bool) -> bytes:
    """A log of five columns, as long as asked for, the values all over the place."""
    draw = random.Random(7)
    lines = ["date;time;KH;Ca;note"]
    length = 0
    while length < size:
        day = f"{draw.randint(1, 28):02d}.{draw.randint(1, 12):02d}.{draw.randint(2015, 2026)}"
        note = f'"fed, {draw.randint(0, 10**6)}"' if quoted else f"fed {draw.randint(0, 10**6)}"
        clock = f"{draw.randint(0, 23):02d}:{draw.randint(0, 59):02d}"
        alkalinity = f"{draw.gauss(8, 0.4):.2f}".replace(".", ",")
        line = (
            f"{day};{clock};{alkalinity};{draw.gauss(420, 9):.1f};{note}; from the log of the tank"
        )
        lines.append(line)
        length += len(line) + 1
    return "\n".join(lines).encode()


def workbook_of_rows(rows: int) -> bytes:
    """A workbook of five columns."""
    import openpyxl

    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet("log")
    sheet.append(["date", "KH", "Ca", "Mg", "note"])
    for row in range(rows):
        sheet.append(
            [40000 + row / 4, 8 + row % 10 / 10, 420 + row % 7, 1300.0, f"note {row % 50}"]
        )
    target = io.BytesIO()
    book.save(target)
    return target.getvalue()


def log_of_rows(rows: int) -> bytes:
    """A log of four elements over years, several rows a day."""
    draw = random.Random(7)
    first = dt.date(1995, 1, 1)
    lines = ["date;time;KH;Ca;Mg;NO3;note"]
    for row in range(rows):
        day = first + dt.timedelta(days=row // 9)
        levels = (
            f"{draw.gauss(8, 0.3):.2f};{draw.gauss(420, 9):.0f};{draw.gauss(1320, 20):.0f};"
            f"{abs(draw.gauss(5, 1)):.1f}"
        )
        clock = f"{row % 9 + 8:02d}:{draw.randint(0, 59):02d}"
        lines.append(f"{day:%d.%m.%Y};{clock};{levels};fed {draw.randint(0, 50)}")
    return "\n".join(lines).encode()


def bring_in(rows: int) -> None:
    """Understand a log and add it to a new tank; print what each took."""
    from reef_calc.log.folder import start_tank
    from reef_calc.log.foreign.add import add_entries
    from reef_calc.log.foreign.understand import understand
    from reef_calc.log.tank import open_tank

    content = log_of_rows(rows)
    with tempfile.TemporaryDirectory() as folder:
        place = start_tank(Path(folder) / "reef", "Reef", 300.0, "Europe/Berlin")
        tank = open_tank(place)
        start, worked = time.perf_counter(), time.process_time()
        found = understand("log.csv", content, tank)
        between, half = time.perf_counter(), time.process_time()
        added = add_entries(
            place, file="log.csv", content=content, entries=found.entries, name="log"
        )
        end, done = time.perf_counter(), time.process_time()
    print(  # noqa: T201
        f"{rows:,} rows of four elements: understood in {between - start:.2f} s, "
        f"{sum(added.tables.values()):,} readings added in {end - between:.2f} s "
        f"(of the processor {half - worked:.2f} s and {done - half:.2f} s); "
        f"memory {peak_megabytes():.0f} MB at most"
    )


FILES = {
    "text of 50 MB": lambda: text_of_size(50 * MEGABYTE, False),
    "text of 50 MB, notes in quotes": lambda: text_of_size(50 * MEGABYTE, True),
    "text of 100,000 rows": lambda: text_of_size(6_900_000, True),
    "workbook of 100,000 rows": lambda: workbook_of_rows(100_000),
}


def peak_megabytes() -> float:
    """Largest memory of this process so far."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def measure(name: str) -> None:
    """Read one of the files and print what it took."""
    from reef_calc.log.foreign.reader import read_grid

    content = FILES[name]()
    before = peak_megabytes()
    start = time.perf_counter()
    grid = read_grid("big", content)
    seconds = time.perf_counter() - start
    print(  # noqa: T201
        f"{name}: {len(content) / MEGABYTE:.0f} MB, {len(grid.rows):,} rows in {seconds:.2f} s; "
        f"memory {peak_megabytes():.0f} MB at most, {before:.0f} MB before"
    )


_BROUGHT_IN = "brought in"

if __name__ == "__main__":
    if sys.argv[1:] == [_BROUGHT_IN]:
        bring_in(100_000)
    elif len(sys.argv) > 1:
        measure(sys.argv[1])
    else:
        for one in (*FILES, _BROUGHT_IN):
            command = [sys.executable, "-m", "tests.benchmarks.import_big_files", one]
            subprocess.run(command, check=True)
