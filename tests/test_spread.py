"""How tests are shared out: a module whole, a group whole, the longest first."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest
from xdist.scheduler import LoadGroupScheduling

from tests.spread import WholeModules, longest_first, unit

SHOP = [f"tests/test_shop.py::test_{name}" for name in ("bore", "press", "weld", "leak")]
BENCH = [f"tests/test_bench.py::test_torque[{place}]" for place in range(3)]
APART = [f"tests/test_axle.py::test_whole[{model}]@axle {model}" for model in ("sorrel", "teasel")]


class Process:
    """A parallel process that notes what it is given."""

    shutting_down = False

    def __init__(self) -> None:
        self.given: list[int] = []
        self.gateway = SimpleNamespace(id=str(id(self)))

    def send_runtest_some(self, places: list[int]) -> None:
        self.given += places

    def shutdown(self) -> None:
        self.shutting_down = True


def shared_out(scheduler: type[LoadGroupScheduling], tests: list[str]) -> list[list[str]]:
    """What each of two processes runs, one test after another."""
    config: Any = SimpleNamespace(
        option=SimpleNamespace(loadscopereorder=True), getvalue=lambda name: ["2*popen"] if name == "tx" else None
    )
    made, processes = scheduler(config), [Process(), Process()]
    for process in processes:
        made.add_node(process)
        made.add_node_collection(process, tests)
    made.schedule()
    done: list[list[str]] = [[], []]
    while any(len(done[at]) < len(process.given) for at, process in enumerate(processes)):
        for at, process in enumerate(processes):
            if len(done[at]) < len(process.given):
                place = process.given[len(done[at])]
                done[at].append(tests[place])
                made.mark_test_complete(process, place)
    assert sorted(done[0] + done[1]) == sorted(tests)
    return done


def homes(done: list[list[str]], tests: list[str]) -> set[int]:
    return {at for at, each in enumerate(done) for test in each if test in tests}


def test_a_module_stays_in_one_process() -> None:
    done = shared_out(WholeModules, SHOP + BENCH)
    assert len(homes(done, SHOP)) == len(homes(done, BENCH)) == 1
    assert homes(done, SHOP) != homes(done, BENCH)


def test_control_the_plain_scheduler_tears_it_apart() -> None:
    assert len(homes(shared_out(LoadGroupScheduling, SHOP + BENCH), SHOP)) == 2


def test_a_group_leaves_its_module() -> None:
    done = shared_out(WholeModules, APART)
    assert homes(done, APART[:1]) != homes(done, APART[1:])
    assert [unit(test, test.rpartition("@")[2]) for test in APART] == ["axle sorrel", "axle teasel"]
    assert unit(SHOP[0], SHOP[0]) == "tests/test_shop.py"


def test_the_modules_begin_in_the_order_collected_however_many_tests_they_have() -> None:
    done = shared_out(WholeModules, [*BENCH[:1], *SHOP, *(f"tests/test_many.py::test_{each}" for each in range(9))])
    assert {each[0] for each in done} == {BENCH[0], SHOP[0]}


def test_the_longest_is_put_first() -> None:
    def item(name: str, seconds: float | None) -> Any:
        marker = None if seconds is None else pytest.mark.long(seconds).mark
        return SimpleNamespace(name=name, get_closest_marker={"long": marker}.get)

    items = [item("a", None), item("b", 40), item("c", None), item("d", 90)]
    longest_first(items)
    assert [each.name for each in items] == ["d", "b", "a", "c"]
