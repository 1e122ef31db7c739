"""Reading a contact pattern: drive and coast mark to one move, or to "not a shim matter".

Order of the rules (the first that speaks decides):
  1. a precondition not met: not to be read yet;
  2. a hard edge, a mark off an end, a double mark or one that differs around the gear: not a shim matter first;
  3. one flank high and the other low ("cross bearing"): not a shim matter, the pair is inspected or rejected
     (TM 10-3930-643-34 p. 16-30);
  4. a row of the chart for this cut;
  5. both flanks high: pinion in; both low: pinion out (found for every cut: TM 10-3930-660-34,
     TM 9-2320-266-34, TM 10-3930-638-24&P, a gear maker's summary) - backlash first and with the lead builder,
     for no chart shows the pair;
  6. anything else: backlash into limits first, read again, ask the lead builder.
Rule 4 stands before rule 5: on a face-hobbed set "high heel, high toe" is the ring gear although both are high.
Validity: spiral bevel and hypoid sets of the two named cuts in ordinary use. A gear maker's sheet that came with
the set always wins.
"""

from collections.abc import Iterable

from measurements.engineering.gears.pattern_charts import CHARTS, Pair
from measurements.engineering.gears.pattern_terms import (
    Basis,
    GearCut,
    Height,
    Mark,
    Move,
    PatternAdvice,
    Precondition,
)

CAUTION = (
    "Hands clear of the mesh: pinch points when turning. Support the carrier. Mind solvent fumes. "
    "Do not spin the set for long. The gear maker's sheet that came with the set always wins."
)
EVERY_CUT_SOURCE = "TM 10-3930-660-34, TM 9-2320-266-34, TM 10-3930-638-24&P; a gear maker's public shift summary"
PRACTICE = "common practice, no source"


def read_pattern(cut: GearCut, drive: Mark, coast: Mark, not_done: Iterable[Precondition] = ()) -> PatternAdvice:
    """The one next move for this cut, with reason and source."""
    missing = sorted(set(not_done), key=list(Precondition).index)
    if missing:
        return _not_ready(missing)
    faults = drive.faults | coast.faults
    if faults:
        return _not_shims(
            "a fault on the tooth, not its place",
            f"{' and '.join(sorted(fault.value for fault in faults))}: look for a burr, runout, bad seating or damage.",
            PRACTICE,
        )
    if {drive.height, coast.height} == {Height.HIGH, Height.LOW}:
        return _not_shims(
            "cross bearing",
            "One flank high and the other low: no shim mends that. Inspect the pair, reject it if it stays so.",
            "TM 10-3930-643-34 p. 16-30",
        )
    pair = (drive.place, coast.place)
    row = CHARTS[cut].get(pair)
    return row.advice() if row else _off_chart(cut, drive, coast, pair)


def _not_ready(missing: list[Precondition]) -> PatternAdvice:
    return PatternAdvice(
        Move.READ_AGAIN,
        "not ready",
        f"Before a pattern is read: {'; '.join(one.value for one in missing)}.",
        "TM 10-3930-638-24&P; public truck service pages",
        Basis.RULE,
    )


def _not_shims(means: str, reason: str, source: str) -> PatternAdvice:
    return PatternAdvice(Move.NOT_SHIMS, means, reason, source, Basis.RULE, ask_lead_builder=True)


def _off_chart(cut: GearCut, drive: Mark, coast: Mark, pair: Pair) -> PatternAdvice:
    hint = _other_cut_hint(cut, pair)
    if drive.height is coast.height is not Height.MIDDLE:
        high = drive.height is Height.HIGH
        return PatternAdvice(
            Move.PINION_IN if high else Move.PINION_OUT,
            f"by height alone: pinion too {'far out' if high else 'deep'}",
            f"No row of this cut shows this pair. Backlash into limits first; both flanks are {drive.height.value},"
            f" so a small move {'in' if high else 'out'}.{hint}",
            EVERY_CUT_SOURCE,
            Basis.RULE,
            f"backlash a little {'less' if high else 'more'}: check it again",
            ask_lead_builder=True,
        )
    return PatternAdvice(
        Move.BACKLASH_FIRST,
        "no row of this cut shows this pair",
        f"Bring the backlash into limits, read again and judge the height only.{hint}",
        PRACTICE,
        Basis.INFERENCE,
        ask_lead_builder=True,
    )


def _other_cut_hint(cut: GearCut, pair: Pair) -> str:
    other = next(one for one in GearCut if one is not cut)
    return f" It is a row of the {other.value} chart: check how this set is cut." if pair in CHARTS[other] else ""
