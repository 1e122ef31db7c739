"""A press force on a scale: the card's window, the band of the pair in hand, and the logged peak."""

from __future__ import annotations

from shop import drawing
from shop.drawing import Drawing, Frame, element, line, number, words

WIDE, TALL, LEFT, RIGHT, BASE = 520.0, 190.0, 30.0, 490.0, 110.0


def _three(band: tuple[float, float]) -> str:
    """Both ends to three significant figures, without an exponent."""
    return " to ".join(f"{float(f'{value:.3g}'):.0f}" for value in band)


def press_band(
    band: tuple[float, float], window: tuple[float, float] | None, peak: float | None, *, key: str
) -> Drawing:
    """All in lbf. `window` is the card's, `band` this pair's; `key` is an id."""
    ends: list[float] = [*band, *(window or ()), *(() if peak is None else (peak,))]
    low, high = min([0.0, *ends]), max(ends) * 1.06

    def at(value: float) -> float:
        return LEFT + (value - low) / (high - low) * (RIGHT - LEFT)

    body = line(LEFT, BASE, RIGHT, BASE, stroke_width=2)
    if window is not None:
        x1, x2 = map(at, window)
        d = f"M{number(x1)},{number(BASE + 12)} v8 H{number(x2)} v-8"
        body += element("path", d=d, kind="d-thin", fill="none", stroke=drawing.FAINT, stroke_width=1.6)
        said = f"the card: {window[0]:g} to {window[1]:g}"
        body += words((x1 + x2) / 2, BASE + 40, said, 15, anchor="middle", **drawing.QUIET)
    x1, x2 = map(at, band)
    body += element("rect", x=x1, y=BASE - 26, width=x2 - x1, height=26, kind="d-window", fill=drawing.DONE)
    for x in (x1, x2):
        body += line(x, BASE - 34, x, BASE + 6, stroke_width=2.6)
    said = f"this pair: {_three(band)} lbf"
    body += words(WIDE / 2, TALL - 14, said, 19, anchor="middle", heavy=True)
    if peak is not None:
        inside = band[0] <= peak <= band[1]
        look = {} if inside else {"kind": "d-stopline", "stroke": drawing.STOP}
        body += line(at(peak), BASE - 62, at(peak), BASE, stroke_width=4, **look)
        ink = {} if inside else drawing.RUST
        body += words(at(peak), BASE - 70, f"peak {peak:.0f}", 18, anchor="middle", heavy=True, **ink)
    said = f"This pair: {band[0]:.0f} to {band[1]:.0f} lbf." + ("" if peak is None else f" Peak {peak:.0f} lbf.")
    return Frame(key, 0, 0, WIDE, TALL, "Press force of this pair", said).holding(body)
