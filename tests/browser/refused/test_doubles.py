"""One entry is one entry, whatever is pressed, lost or done at two terminals; each with the case that goes on."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Browser, expect

from builds.models import Axle
from tests.browser.refused.walk import (
    WRENCH,
    Walk,
    by_hand,
    enter,
    kill,
    plain,
    read,
)

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.timeout(300), pytest.mark.long(100)]

FIELDS = ("submission", "characteristic", "position", "try", "gauge", "ring")


def test_a_killed_browser_loses_nothing_and_a_second_terminal_goes_on(
    walk: Walk, gears: Axle, launch_browser: Callable[[], Browser]
) -> None:
    doomed = launch_browser()
    first = walk.new_bench(doomed, "GB", 9)
    page = walk.at_the_bolts(first, "rusk", gears)
    for number in range(1, 10):
        enter(first, str(100 + number))
    page.keyboard.type("10")
    kill(doomed)
    second = walk.bench("GB", 2)
    second.sign_in("noor", walk.at(gears, 220))
    page = second.page
    expect(page.locator("h2.place")).to_have_text("Bolt 10 of 12")
    expect(page.locator("#f-value")).to_have_value("")
    lines = read(page)
    assert len(lines) == 9
    assert all(str(100 + number) in lines[number - 1] and "Rusk" in lines[number - 1] for number in range(1, 10))
    second.scan(WRENCH)
    enter(second, "110")
    lines = read(page)
    assert (len(lines), "Rusk" in lines[8], "Noor" in lines[9]) == (10, True, True)


def test_the_second_of_two_terminals_sees_the_first_ones_entry_before_it_saves(walk: Walk, gears: Axle) -> None:
    first, second = walk.bench("GB"), walk.bench("GB", 2)
    walk.at_the_bolts(first, "rusk", gears)
    second.sign_in("noor", walk.at(gears, 220))
    second.scan(WRENCH)
    second.page.route("**/changes/**", lambda route: route.abort())
    enter(first, "105")
    enter(second, "106")
    expect(second.page.locator("body")).to_contain_text("was entered meanwhile by Rusk A.: 105 ft-lb")
    assert [("105" in line, "Rusk" in line) for line in read(second.page)] == [(True, True)]
    second.open(walk.at(gears, 220))
    enter(second, "106")
    assert [re.findall(r"10\d", line)[0] for line in read(second.page)] == ["105", "106"]
    second.page.unroute("**/changes/**")


def test_an_open_page_shows_the_others_entry_by_itself(walk: Walk, gears: Axle) -> None:
    first, second = walk.bench("GB"), walk.bench("GB", 2)
    walk.at_the_bolts(first, "rusk", gears)
    second.sign_in("noor", walk.at(gears, 220))
    expect(second.page.locator("h2.place")).to_have_text("Bolt 1 of 12")
    enter(first, "104")
    expect(second.page.locator("h2.place")).to_have_text("Bolt 2 of 12", timeout=9_000)


def test_a_double_press_makes_one_entry(walk: Walk, gears: Axle) -> None:
    bench = walk.bench("GB")
    page = walk.at_the_bolts(bench, "rusk", gears)
    page.keyboard.type("105")

    def twice() -> None:
        page.keyboard.press("Enter")
        page.keyboard.press("Enter")

    bench.sends(twice)
    expect(page.locator("h2.place")).to_have_text("Bolt 2 of 12")
    page.wait_for_timeout(300)
    assert len(read(page)) == 1
    enter(bench, "106")
    assert len(read(page)) == 2


def test_what_is_sent_again_gets_the_same_answer_and_with_another_figure_is_refused(walk: Walk, gears: Axle) -> None:
    bench = walk.bench("GB")
    page = walk.at_the_bolts(bench, "rusk", gears)
    form = {name: page.locator(f"form.put [name={name}]").input_value() for name in FIELDS}
    path = walk.at(gears, 220) + "reading/"
    answers = [by_hand(page, path, **form, value=value)["status"] for value in ("105", "105", "106")]
    assert answers == [200, 200, 422]
    bench.open(walk.at(gears, 220))
    assert [re.findall(r"10\d", line)[0] for line in read(page)] == ["105"]


@pytest.mark.parametrize("scripts", [True, False], ids=["with scripts", "without"])
def test_going_back_after_an_entry_makes_no_second_one(walk: Walk, gears: Axle, scripts: bool) -> None:
    bench = walk.bench("GB")
    page = walk.at_the_bolts(bench, "rusk", gears)
    if scripts:
        enter(bench, "105")
        page.go_back()
        page.go_forward()
    else:
        page = plain(bench, walk.at(gears, 220))
        page.locator("#f-value").fill("105")
        page.keyboard.press("Enter")
        expect(page.locator("h2.place")).to_have_text("Bolt 2 of 12")
        page.go_back()
        expect(page.locator("h2.place")).to_have_text("Bolt 2 of 12")
    assert len(read(page)) == 1
    if not scripts:
        page.locator("#f-value").fill("106")
        page.keyboard.press("Enter")
        expect(page.locator("h2.place")).to_have_text("Bolt 3 of 12")
        assert len(read(page)) == 2
        page.context.close()
