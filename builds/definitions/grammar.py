"""The little sentences of a definition file: when, sample, reaction and positions, read and written back."""

import re
from decimal import Decimal

from builds.definitions.characteristic import Positions, PositionSet, Reaction, Sample
from builds.definitions.options import ALWAYS, Clause, When
from builds.definitions.table import MISSING, Table, shown
from builds.definitions.words import SIDES, ReactionKind, SampleKind

ROUNDS = 3  # house rule: three rounds of going back, then a red tag

REACTIONS = '"repeat 1", "wait", "back to 40", "back to 40, 3 rounds", "tag" or "stop"'
SAMPLES = '"every", "first and every 5", "each heat", "batch" or "first piece"'

_REPEAT = re.compile(r"repeat ([1-9]\d?)")
_BACK = re.compile(r"back to (\d+)(?:, ([1-9]\d?) rounds?)?")
_FIRST_AND_EVERY = re.compile(r"first and every ([2-9]|[1-9]\d+)")
_PLAIN_REACTIONS = {kind.value: kind for kind in (ReactionKind.WAIT, ReactionKind.TAG, ReactionKind.STOP)}
_PLAIN_SAMPLES = {
    "every": SampleKind.EVERY,
    "each heat": SampleKind.EACH_HEAT,
    "batch": SampleKind.BATCH,
    "first piece": SampleKind.FIRST_PIECE,
}


def read_reaction(table: Table, key: str) -> Reaction | None:
    """ "repeat 1", "back to 40, 3 rounds", "wait", "tag", "stop"; absent is None."""
    if not table.has(key):
        return None
    said = table.text(key)
    if said in _PLAIN_REACTIONS:
        return Reaction(_PLAIN_REACTIONS[said])
    if found := _REPEAT.fullmatch(said):
        return Reaction(ReactionKind.REPEAT, times=int(found.group(1)))
    if found := _BACK.fullmatch(said):
        return Reaction(ReactionKind.BACK, to=int(found.group(1)), rounds=int(found.group(2) or ROUNDS))
    table.fault(key, f"expected {REACTIONS}, found {shown(said)}")
    return None


def write_reaction(reaction: Reaction) -> str:
    """The sentence `read_reaction` understands."""
    if reaction.kind is ReactionKind.REPEAT:
        return f"repeat {reaction.times}"
    if reaction.kind is ReactionKind.BACK:
        return f"back to {reaction.to}, {reaction.rounds} rounds"
    return reaction.kind.value


def read_sample(table: Table) -> Sample:
    """ "every" when nothing is said."""
    said = table.text("sample", "every")
    if said in _PLAIN_SAMPLES:
        return Sample(_PLAIN_SAMPLES[said])
    if found := _FIRST_AND_EVERY.fullmatch(said):
        return Sample(SampleKind.FIRST_AND_EVERY, int(found.group(1)))
    table.fault("sample", f"expected {SAMPLES}, found {shown(said)}")
    return Sample()


def write_sample(sample: Sample) -> str:
    """The sentence `read_sample` understands."""
    if sample.kind is SampleKind.FIRST_AND_EVERY:
        return f"first and every {sample.every}"
    return {kind: said for said, kind in _PLAIN_SAMPLES.items()}[sample.kind]


def read_when(table: Table) -> When:
    """{ axis = "value" }, { axis = ["a", "b"] } or { axis = { not = ["a"] } }; absent is always."""
    inner = table.table("when")
    if inner is None:
        return ALWAYS
    clauses = []
    for axis, said in inner.data.items():
        inner.asked.add(axis)
        negated = isinstance(said, dict)
        if isinstance(said, dict):
            said = said["not"] if set(said) == {"not"} else MISSING
        values = [said] if isinstance(said, str) else said
        if not isinstance(values, list) or not values or not all(isinstance(one, str) for one in values):
            inner.fault(axis, f'expected "value", ["a", "b"] or {{ not = ["a"] }}, found {shown(said)}')
            continue
        clauses.append(Clause(axis, tuple(values), negated))
    return When(tuple(clauses))


def read_positions(table: Table) -> Positions:
    """12, ["A", "B"], { sides, ordinals }, { prefix, minimum }, or a list of such tables with `when`."""
    said = table.raw("positions")
    if said is MISSING:
        return Positions()
    if isinstance(said, list) and said and all(isinstance(one, dict) for one in said):
        return Positions(tuple(_position_set(one) for one in table.tables("positions")))
    if not isinstance(said, dict):
        return Positions((PositionSet(ordinals=_ordinals(table, "positions", said)),))
    inner = table.table("positions")
    assert inner is not None  # a dict was just seen
    if inner.has("prefix"):
        found = Positions(prefix=inner.text("prefix"), minimum=inner.integer("minimum", 0))
        inner.done()
        return found
    return Positions((_position_set(inner),))


def _position_set(table: Table) -> PositionSet:
    when = read_when(table)
    sides = table.texts("sides", SIDES)
    ordinals = _ordinals(table, "ordinals", table.raw("ordinals")) if table.has("ordinals") else ()
    table.done()
    return PositionSet(when, sides, ordinals)


def _ordinals(table: Table, key: str, said: object) -> tuple[str, ...]:
    if type(said) is int and 1 <= said <= 200:
        return tuple(str(number) for number in range(1, said + 1))
    if isinstance(said, list) and said:
        return table.texts(key)
    table.fault(key, f'expected a count from 1 to 200 or a list such as ["A", "B"], found {shown(said)}')
    return ()


def as_count(ordinals: tuple[str, ...]) -> int | None:
    """n when the ordinals are exactly "1" to "n"."""
    counted = tuple(str(number) for number in range(1, len(ordinals) + 1))
    return len(ordinals) if ordinals and ordinals == counted else None


def read_limits(table: Table) -> tuple[Decimal | None, Decimal | None]:
    """Limits from low and high, or from target with tolerance (never both)."""
    low, high = table.decimal("low"), table.decimal("high")
    target, tolerance = table.decimal("target"), table.decimal("tolerance")
    if target is None and tolerance is None:
        return low, high
    if low is not None or high is not None:
        table.fault("target", "expected either low/high or target/tolerance, found both")
    if target is None or tolerance is None or tolerance < 0:
        table.fault("target", "expected target together with a tolerance of 0 or more")
        return low, high
    return target - tolerance, target + tolerance
