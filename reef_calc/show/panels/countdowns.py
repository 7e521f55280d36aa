"""Several countdowns at once, ticking beside whatever else the kernel does."""

from __future__ import annotations

import base64
import io
import logging
import math
import re
import struct
import threading
import wave
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import ipywidgets as widgets

from reef_calc.bench.waits import WaitState, steady_seconds, wait_state
from reef_calc.show.panels.common import message_html
from reef_calc.show.wording import escape

TICK_S = 0.25
_LOG = logging.getLogger(__name__)
STYLE = """
.rc.rc-wait{padding:4px 14px 6px;border-left:4px solid var(--rc-line)}
.rc.rc-wait[data-code="ready"]{border-left:8px double var(--rc-ink);padding-left:10px}
.rc.rc-wait[data-code="late"]{border-left:12px solid var(--rc-ink);padding-left:6px}
.rc .rc-wait-name{display:block;font-size:15px;color:var(--rc-muted)}
.rc .rc-wait-words{display:block;font-size:22px;line-height:1.2;font-weight:650}
.rc .rc-digits{font-size:44px;font-variant-numeric:tabular-nums;white-space:nowrap}
"""
_RATE = 8000  # samples a second: enough for a plain tone, small enough to send
_TONES = ((880.0, 0.16), (0.0, 0.06), (1175.0, 0.28))  # hertz (0: silence) and seconds
# The sound stays on the page for as long as it lasts, or a reloaded page would play it again.
_SOUND_S = 2.0
_SIGNS = {"waiting": "", "ready": "▶ ", "late": "! "}


@cache
def beep_url() -> str:
    """Return a short two-tone sound as an address that holds the sound itself.

    Returns
    -------
    str
        ``data:audio/wav;base64,…``, half a second, one channel, 16 bits.

    Examples
    --------
    >>> beep_url()[:22]
    'data:audio/wav;base64,'
    """
    samples: list[int] = []
    for hertz, seconds in _TONES:
        n = round(seconds * _RATE)
        # Faded at both ends, or each tone would begin and end with a crack.
        samples += [
            round(9000 * math.sin(2 * math.pi * hertz * i / _RATE) * min(1, i / 80, (n - i) / 80))
            for i in range(n)
        ]
    file = io.BytesIO()
    with wave.open(file, "wb") as sound:
        sound.setnchannels(1)
        sound.setsampwidth(2)
        sound.setframerate(_RATE)
        sound.writeframes(struct.pack(f"<{len(samples)}h", *samples))
    return "data:audio/wav;base64," + base64.b64encode(file.getvalue()).decode("ascii")


def wait_html(name: str, state: WaitState) -> str:
    """Return one countdown with its name; its digits are big and are not read out each second.

    Parameters
    ----------
    name : str
        What is waited for.
    state : WaitState
        Where the wait stands.

    Returns
    -------
    str
        HTML.

    Examples
    --------
    >>> 'class="rc-digits">4:32</span> to go' in wait_html("kit B", wait_state(28, 300))
    True
    """
    digits = r'<span class="rc-digits">\g<0></span>'
    words = re.sub(r"\d+(:\d\d)+", digits, _SIGNS[state.code] + escape(state.sentence))
    return (
        f'<div class="rc rc-wait" data-code="{state.code}">'
        f'<span class="rc-wait-name">{escape(name)}</span>'
        f'<span class="rc-wait-words" role="timer" aria-live="off">{words}</span></div>'
    )


@dataclass
class _Countdown:
    name: str
    begun: float
    shortest_s: float
    longest_s: float | None
    code: str
    words: widgets.HTML
    row: widgets.HBox


class Countdowns:
    """Countdowns that run at once and lose no second however busy the kernel is.

    Parameters
    ----------
    on_change : callable, optional
        Called with the name and the new code (``ready`` or ``late``) when a wait is over or has
        become too long; from the ticking thread.
    clock : callable, optional
        Seconds of a clock that never goes back.

    Attributes
    ----------
    box : ipywidgets.VBox
        What is shown.
    sound : ipywidgets.Checkbox
        Whether a short sound is played when a wait is over or has become too long.
    """

    def __init__(
        self,
        on_change: Callable[[str, str], None] | None = None,
        clock: Callable[[], float] = steady_seconds,
    ) -> None:
        self._on_change, self._clock = on_change, clock
        self._lock = threading.RLock()
        self._waits: dict[str, _Countdown] = {}
        self._thread: threading.Thread | None = None
        self._wake = threading.Event()
        self._played, self._silent_at = 0, math.inf
        self.sound = widgets.Checkbox(
            value=True,
            description="Sound",
            tooltip="Play a short sound when a wait is over, and when it has become too long",
            indent=False,
            layout=widgets.Layout(height="44px", width="auto"),
        )
        self._rows = widgets.VBox()
        self._announced = widgets.HTML(layout=widgets.Layout(margin="0"))
        self._audio = widgets.HTML(layout=widgets.Layout(height="0", margin="0"))
        self.box = widgets.VBox(
            [
                widgets.HTML(
                    f"<style>{STYLE}</style>", layout=widgets.Layout(height="0", margin="0")
                ),
                self._rows,
                self.sound,
                self._announced,
                self._audio,
            ]
        )
        self.sound.observe(self._sound_changed, names="value")
        self.sound.layout.display = "none"

    @property
    def running(self) -> tuple[str, ...]:
        """The names of all countdowns not yet stopped, in the order of their start."""
        with self._lock:
            return tuple(self._waits)

    def start(self, name: str, shortest_s: float, longest_s: float | None = None) -> None:
        """Start a countdown.

        Parameters
        ----------
        name : str
            What is waited for. One that is running goes on as it is, which is said: a finger that
            slips must not set back a wait.
        shortest_s : float
            Shortest wait (seconds).
        longest_s : float, optional
            Longest wait (seconds); None when it has no end.

        Raises
        ------
        InputError
            If the waits are not 0 ≤ shortest ≤ longest.
        """
        state = wait_state(0.0, shortest_s, longest_s)
        with self._lock:
            if name in self._waits:
                words = f"“{name}” is running already. Stop it first to begin it anew."
                self._announced.value = message_html(words)
                return
            self._announced.value = ""
            words = widgets.HTML(wait_html(name, state), layout=widgets.Layout(flex="1 1 auto"))
            stop = widgets.Button(
                description="Stop",
                tooltip=f"Stop waiting: {name}",
                layout=widgets.Layout(height="44px", width="6em", flex="0 0 auto"),
            )
            stop.on_click(lambda _button: self.stop(name))
            row = widgets.HBox([words, stop], layout=widgets.Layout(align_items="center"))
            code = "waiting"  # so that a wait of no length at all is announced by the first tick
            one = _Countdown(name, self._clock(), shortest_s, longest_s, code, words, row)
            self._waits[name] = one
            self._lay_out()
            if self._thread is None or not self._thread.is_alive():
                self._thread = threading.Thread(target=self._run, name="countdowns", daemon=True)
                self._thread.start()

    def stop(self, name: str) -> None:
        """Stop a countdown and take it off the page; one that is not running is passed over.

        Parameters
        ----------
        name : str
            Its name.
        """
        with self._lock:
            if self._waits.pop(name, None) is not None:
                self._lay_out()
                if not self._waits:
                    self._audio.value = self._announced.value = ""
                    self._wake.set()

    def close(self) -> None:
        """Stop all countdowns and take the whole panel off the page."""
        for name in self.running:
            self.stop(name)
        self.box.close()

    def tick(self) -> None:
        """Bring every text up to date; the ticking thread calls it, and changes only are sent."""
        changed: list[tuple[str, WaitState]] = []
        with self._lock:
            now = self._clock()
            for one in self._waits.values():
                state = wait_state(now - one.begun, one.shortest_s, one.longest_s)
                one.words.value = wait_html(one.name, state)
                if state.code != one.code:
                    one.code = state.code
                    changed.append((one.name, state))
            if changed:
                self._announce(changed)
                if self.sound.value:
                    self._play(now)
            elif now >= self._silent_at:
                self._audio.value, self._silent_at = "", math.inf
        # Outside the lock: what is called may wait for a thread that waits for the lock.
        for name, state in changed:
            if self._on_change is not None:
                try:
                    self._on_change(name, state.code)
                except Exception:
                    # Whatever fails there, the other waits still have to be told in time.
                    _LOG.exception("A change of a countdown could not be passed on.")

    def _run(self) -> None:
        while True:
            with self._lock:
                # A closed box has lost its line to the page: nobody sees it any more.
                if not self._waits or self.box.comm is None:
                    self._thread = None
                    return
            self.tick()
            self._wake.wait(TICK_S)
            self._wake.clear()

    def _lay_out(self) -> None:
        self._rows.children = [one.row for one in self._waits.values()]
        self.sound.layout.display = "" if self._waits else "none"

    def _announce(self, changed: list[tuple[str, WaitState]]) -> None:
        said = {
            "ready": "the wait is over.",
            "late": "too late, what is read now may mislead.",
        }
        role = "alert" if any(state.code == "late" for _, state in changed) else "status"
        words = " ".join(f"{escape(name)}: {said[state.code]}" for name, state in changed)
        self._announced.value = f'<div class="rc rc-hidden" role="{role}">{words}</div>'

    def _play(self, now: float) -> None:
        self._played += 1
        self._silent_at = now + _SOUND_S
        # The number makes each a new sound; the same text again would not be played.
        self._audio.value = f'<audio autoplay data-n="{self._played}" src="{beep_url()}"></audio>'

    def _sound_changed(self, change: dict[str, object]) -> None:
        with self._lock:
            if change["new"]:
                # Heard at once: how loud it is, and that the browser lets it through.
                self._play(self._clock())
            else:
                self._audio.value = ""
