"""Square codes as drawings: black modules on white with the quiet zone their standards ask for."""

from __future__ import annotations

from typing import Any

import numpy as np
import zxingcpp

from shop.drawing import Drawing

TITLE = "square code for a scanner; the same stands beside it in words"


def qr(text: str) -> Drawing:
    """For a phone: an address."""
    return _drawn(zxingcpp.create_barcode(text, zxingcpp.BarcodeFormat.QRCode), 4)


def data_matrix(text: str) -> Drawing:
    """For the shop's scanners: a mark with its prefix. Square: the long form is read less surely on a curved tube."""
    return _drawn(zxingcpp.create_barcode(text, zxingcpp.BarcodeFormat.DataMatrix, force_square=True), 2)


def _drawn(barcode: Any, quiet: int) -> Drawing:
    """`quiet`: modules of white on each side. ISO/IEC 16022 asks for one around a Data Matrix (two are kinder to a
    scanner), ISO/IEC 18004 for four around a QR code (both from memory).

    One path for all dark modules, run by run, so that no renderer leaves hair lines between them."""
    image = barcode.to_image(scale=1, add_quiet_zones=False)
    rows = [[int(cell) for cell in row] for row in np.asarray(image)]
    height, width = len(rows), len(rows[0])
    body = [
        f"M{begin + quiet},{y + quiet}h{end - begin}v1h-{end - begin}z"
        for y, row in enumerate(rows)
        for begin, end in _dark(row)
    ]
    size_x, size_y = width + 2 * quiet, height + 2 * quiet
    return Drawing(
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {size_x} {size_y}" role="img" '
        f'width="{size_x * 4}" height="{size_y * 4}" shape-rendering="crispEdges"><title>{TITLE}</title>'
        f'<rect width="{size_x}" height="{size_y}" fill="#fff"/><path d="{"".join(body)}" fill="#000"/></svg>'
    )


def _dark(row: list[int]) -> list[tuple[int, int]]:
    """Begin and end of every run of dark modules."""
    edges = [x for x in range(len(row) + 1) if (x < len(row) and row[x] < 128) != (x > 0 and row[x - 1] < 128)]
    return list(zip(edges[::2], edges[1::2], strict=True))
