"""Labels as PDF: words a person can read, and a code a scanner can. Heavy to import through the PDF; workers and the
label view only."""

from __future__ import annotations

from dataclasses import dataclass

from django.template.loader import render_to_string

from builds.certificates.symbols import data_matrix
from shop.codes import LETTER_OF, ScanKind
from shop.drawing import Drawing

#: Signs of a mark that stand on one line beside the code.
FITS = 14


@dataclass(frozen=True)
class Label:
    """What stands on one label: a heading, the mark, lines under it, and what a scan of it says."""

    heading: str
    mark: str
    lines: tuple[str, ...]
    scan: str
    wide: bool = False
    #: An order to whoever holds the thing, in large letters.
    loud: str = ""

    @property
    def long(self) -> bool:
        """Whether the mark does not fit on one line in the large type."""
        return len(self.mark) > FITS

    @property
    def code(self) -> Drawing:
        return data_matrix(self.scan)


def scan_text(kind: ScanKind, mark: str) -> str:
    """Our printable prefix, the kind's letter, the mark: a wedge types it safely."""
    return f"~{LETTER_OF[kind]}:{mark}"


def label_html(label: Label) -> str:
    return render_to_string("builds/label.html", {"label": label})
