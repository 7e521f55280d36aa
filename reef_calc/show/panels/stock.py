"""The stock view of the bench: what is left, what to buy, and the count that it starts from."""

from __future__ import annotations

import datetime as dt
from typing import Any

import ipywidgets as widgets

from reef_calc.bench.stock import AHEAD_DAYS
from reef_calc.chem.numbers import parse_typed_number
from reef_calc.errors import CannotTellError, InputError
from reef_calc.log.kit_counts import save_count
from reef_calc.show.bench_stock import STYLE, date_words, shopping_csv, stock_html
from reef_calc.show.panels.bench_view import Bench
from reef_calc.show.panels.common import WIDE_LABEL, download_html, guarded
from reef_calc.show.shelf import shelf_of

_TALL = {"width": "min(100%, 28em)", "height": "46px", "margin": "4px 2px"}


class StockView:
    """See what to buy next, save the shopping list, and write down what was counted.

    Attributes
    ----------
    box : ipywidgets.Widget
        What is shown.
    """

    def __init__(self) -> None:
        self._bench: Bench | None = None
        self._filling = False
        self._offered = ""
        self.shown, self.list = widgets.HTML(), widgets.HTML()
        self.ahead = widgets.Text(
            value=f"{AHEAD_DAYS}",
            description="Days for buying",
            tooltip="Days from ordering until it stands on the shelf",
            continuous_update=False,
            style=WIDE_LABEL,
            layout=widgets.Layout(**_TALL),
        )
        self.kit = widgets.Dropdown(
            description="Kit",
            tooltip="The kit that was counted",
            style=WIDE_LABEL,
            layout=widgets.Layout(**_TALL),
        )
        self.left = widgets.Text(
            description="Tests left",
            tooltip="How many tests are left now, unopened packs too; a whole number",
            style=WIDE_LABEL,
            layout=widgets.Layout(**_TALL),
        )
        self.counted = widgets.Text(
            description="Counted on",
            tooltip="Day of the count, such as 2026-02-13",
            style=WIDE_LABEL,
            layout=widgets.Layout(**_TALL),
        )
        self.save = widgets.Button(
            description="Save the count",
            tooltip="Write number and day into kits.toml; nothing else there changes",
            button_style="primary",
            layout=widgets.Layout(width="min(100%, 20em)", height="46px", margin="4px 2px"),
        )
        for control in (self.ahead, self.kit, self.left, self.counted, self.save):
            control.add_class("rc-tall")
        self.box = widgets.VBox(
            [
                widgets.HTML(f"<style>{STYLE}</style>", layout=widgets.Layout(height="0")),
                self.shown,
                self.list,
                self.ahead,
                widgets.HTML(_framed("<h2>Count a kit</h2>")),
                self.kit,
                self.left,
                self.counted,
                self.save,
            ]
        )
        draw = guarded(self._say, self._draw)
        self.ahead.observe(lambda _: draw(), names="value")
        self.save.on_click(self._clicked)

    def _say(self, text: str, kind: str = "told") -> None:
        if self._bench is not None:
            self._bench.say(text, kind)

    def show(self, bench: Bench) -> None:
        """Show the kits of a tank.

        Parameters
        ----------
        bench : Bench
            The tank and the person.
        """
        self._bench = bench
        before, names = self.kit.value, list(bench.tank.kits)
        if self.kit.options != tuple(names):
            self.kit.options = names
            self.kit.value = before if before in names else next(iter(names), None)
        today = bench.now().date().isoformat()
        if self.counted.value.strip() in ("", self._offered):
            self.counted.value = today
        self._offered = today
        self.save.disabled = not names
        guarded(self._say, self._draw)()

    def _draw(self) -> None:
        if self._bench is None:
            return
        self.shown.value = self.list.value = ""
        ahead = parse_typed_number(self.ahead.value, self.ahead.description)
        shelf = shelf_of(self._bench.tank, self._bench.now().date(), ahead)
        self.shown.value = _framed(stock_html(shelf))
        link = download_html(
            f"shopping_list_{shelf.today}.csv",
            shopping_csv(shelf.stocks),
            "Save the shopping list (CSV)",
            "text/csv",
        )
        self.list.value = _framed(link)

    def _clicked(self, _button: Any) -> None:
        self.save.disabled = True
        try:
            guarded(self._say, self._save)()
        finally:
            self.save.disabled = not self.kit.options

    def _save(self) -> None:
        bench = self._bench
        if bench is None or self.kit.value is None:
            raise CannotTellError("Choose a kit first.")
        tests = parse_typed_number(self.left.value, self.left.description)
        day = _day(self.counted.value, bench.now().date(), self.counted.description)
        name = self.kit.value
        save_count(bench.tank.folder, name, tests, day)
        self.left.value = ""
        bench.reload()
        self._say(f"Kept in kits.toml: {tests:g} tests of {name} left on {date_words(day)}.")


def _day(text: str, today: dt.date, where: str) -> dt.date:
    try:
        day = dt.date.fromisoformat(text.strip()) if len(text.strip()) == 10 else None
    except ValueError:
        day = None
    if day is None:
        raise InputError("a day", text, f"Write it as {today.isoformat()}.", where)
    if day > today:
        raise InputError("a day that is not in the future", text, "Correct the day.", where)
    return day


def _framed(inner: str) -> str:
    return f'<div class="rc rc-stock" data-view="Stock">{inner}</div>'
