"""A place to drop a file on: the page hands it to the kernel as text, no widget of its own needed."""

from __future__ import annotations

import base64
import binascii
from collections.abc import Callable

import ipywidgets as widgets

from reef_calc.errors import InputError

# What one message from the page to the kernel holds safely.
LARGEST_DROP = 6_000_000
_TOO_LARGE = "too large"
# The file is put as a data address into a hidden text field, which the page's own machinery syncs.
_TAKE = (
    "event.preventDefault();event.stopPropagation();this.classList.remove('rc-over');"
    "const b=this.closest('.rc-drop-box').querySelector('.rc-dropped textarea'),"
    "f=event.dataTransfer.files[0],"
    "tell=t=>{b.value=t;for(const e of ['input','change'])"
    "b.dispatchEvent(new Event(e,{bubbles:true}))};"
    "if(f&&f.size>" + str(LARGEST_DROP) + "){tell(f.name+'\\n" + _TOO_LARGE + " '+f.size)}"
    "else if(f){const r=new FileReader();r.onload=()=>tell(f.name+'\\n'+r.result);"
    "r.readAsDataURL(f)}"
)
_OVER = "event.preventDefault();event.stopPropagation();this.classList.add('rc-over')"
_ZONE = (
    f'<div class="rc rc-drop" ondragenter="{_OVER}" ondragover="{_OVER}" '
    f'ondragleave="this.classList.remove(\'rc-over\')" ondrop="{_TAKE}">'
    "Drop a file here: CSV, TSV, TXT, XLSX or ODS</div>"
)
STYLE = """
.rc.rc-drop{border:2px dashed var(--rc-line);border-radius:6px;text-align:center;padding:18px 14px;
 color:var(--rc-muted);max-width:44em}
.rc.rc-drop.rc-over{border-color:var(--rc-kitA);color:var(--rc-ink);background:var(--rc-band)}
"""
"""Rules of the zone."""


class DropZone:
    """A zone that takes a dropped file.

    Parameters
    ----------
    on_file : callable
        Takes the name and the content.

    Attributes
    ----------
    box : ipywidgets.Widget
        The zone.
    dropped : ipywidgets.Textarea
        What the page handed over; hidden, empty again once it is taken.
    """

    def __init__(self, on_file: Callable[[str, bytes], None]) -> None:
        self._on_file = on_file
        self.dropped = widgets.Textarea(
            tooltip="A dropped file", continuous_update=False,
            layout=widgets.Layout(display="none"),
        )  # fmt: skip
        self.dropped.add_class("rc-dropped")
        self.box = widgets.VBox([widgets.HTML(f"<style>{STYLE}</style>{_ZONE}"), self.dropped])
        self.box.add_class("rc-drop-box")

    def take(self) -> None:
        """Hand on what was dropped.

        Raises
        ------
        InputError
            If the file is too large to be dropped, or did not arrive whole.
        """
        text = self.dropped.value
        if not text:
            return
        self.dropped.value = ""
        name, _, address = text.partition("\n")
        if address.startswith(_TOO_LARGE):
            size = int(address.removeprefix(_TOO_LARGE)) / 1e6
            raise InputError(
                f"a dropped file of {LARGEST_DROP // 1_000_000} MB or less", f"{size:.0f} MB",
                "Type its path instead.", name,
            )  # fmt: skip
        try:
            content = base64.b64decode(address.partition(",")[2], validate=True)
        except (binascii.Error, ValueError) as err:
            raise InputError(
                "a file that arrives whole", name, "Drop it again, or type its path.", name
            ) from err
        self._on_file(name, content)
