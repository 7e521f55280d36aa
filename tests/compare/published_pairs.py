"""Small published data sets of two methods on the same things, as pairs."""

from __future__ import annotations

from collections.abc import Sequence

from reef_calc.compare.pairs import Pairs, Water


def pairs_from(
    a: Sequence[float | Sequence[float]],
    b: Sequence[float | Sequence[float]],
    resolution: float = 0.0,
    unit: str = "dKH",
) -> Pairs:
    """Pairs of plain numbers, or of repeats."""
    as_tuple = lambda one: (one,) if isinstance(one, int | float) else tuple(one)  # noqa: E731
    waters = tuple(
        Water(str(place), as_tuple(on_a), as_tuple(on_b))
        for place, (on_a, on_b) in enumerate(zip(a, b, strict=True), start=1)
    )
    return Pairs("alkalinity", unit, "A", "B", resolution, resolution, waters)


# Peak expiratory flow, two meters, two readings each: Bland & Altman (1986), Lancet i, 307, table 1.
# PUBLISHED.
LARGE_METER = list(zip(
    (494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427),
    (490, 397, 512, 401, 470, 611, 415, 431, 638, 429, 420, 633, 275, 492, 165, 372, 421),
    strict=True,
))  # fmt: skip
SMALL_METER = list(zip(
    (512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451),
    (525, 415, 508, 444, 500, 625, 460, 390, 642, 432, 420, 605, 227, 467, 268, 370, 443),
    strict=True,
))  # fmt: skip

# Thirty pairs: Giavarina (2015), Biochem. Med. 25, 141. From memory; the fourth and the last value of
# the second method were settled by mean, SD and percent limits of the whole set.
THIRTY_A = [1, 5, 10, 20, 50, 40, 50, 60, 70, 80, 90, 100, 150, 200, 250, 300, 350, 400, 450, 500,
            550, 600, 650, 700, 750, 800, 850, 900, 950, 1000]  # fmt: skip
THIRTY_B = [8, 16, 30, 24, 39, 54, 40, 68, 72, 62, 122, 80, 181, 259, 275, 380, 320, 434, 479, 587,
            626, 648, 738, 766, 793, 851, 871, 957, 1001, 960]  # fmt: skip

# Glucose in serum, eight laboratories, three readings each: ASTM E691. From memory; it gives the
# means and both standard deviations that are printed there.
GLUCOSE = {
    "A": [(41.03, 41.45, 41.37), (41.17, 42.00, 41.15), (41.01, 40.68, 42.66),
          (39.37, 42.37, 42.63), (41.88, 41.19, 41.32), (43.28, 40.50, 42.28),
          (41.08, 41.27, 39.02), (43.36, 42.65, 41.72)],
    "D": [(193.71, 193.59, 193.65), (190.88, 200.14, 194.30), (192.71, 193.28, 190.28),
          (195.85, 196.36, 199.43), (192.59, 191.44, 195.12), (195.34, 198.26, 198.13),
          (194.66, 191.99, 187.13), (197.56, 195.99, 200.82)],
    "E": [(292.78, 294.09, 292.89), (292.27, 309.40, 295.08), (295.53, 290.14, 292.34),
          (295.19, 295.44, 296.83), (293.93, 292.48, 294.28), (297.74, 296.80, 290.33),
          (287.29, 293.76, 289.36), (298.46, 295.28, 296.12)],
}  # fmt: skip
