"""What the database refuses in this package: measurements and what they were judged by are append-only."""

from __future__ import annotations

from shop.record import guards


def declare() -> None:
    for model in ("Sheet", "Reading", "ReadingInput", "Voiding", "Advised", "Calibration", "Characteristic"):
        guards.append_only(f"measurements.{model}")
