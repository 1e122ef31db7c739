"""What the database refuses in this package: measurements and what they were judged by are append-only."""

from __future__ import annotations

from shop.record import guards

APPEND_ONLY = (
    "Sheet", "Reading", "ReadingInput", "Voiding", "Advised", "Characteristic",
    "Calibration", "GaugeUse", "GaugeRecall",
)  # fmt: skip


def declare() -> None:
    for model in APPEND_ONLY:
        guards.append_only(f"measurements.{model}")
