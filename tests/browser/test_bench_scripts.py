"""Keypad, scanner, idle warning and theme in a real browser, on the station page."""

from __future__ import annotations

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from builds.views.gallery_station import KINDS
from tests.browser.bench import HOST, Bench

SERIAL = "~A:TBK-26-0148-8"
FIGURE = "#f-value"


@pytest.fixture
def bench(page: Page) -> Bench:
    page.set_viewport_size({"width": 1280, "height": 800})
    return Bench(page)


def test_keys_fill_the_figure_and_enter_sends_it(bench: Bench) -> None:
    page = bench.open().page
    page.get_by_label("rub out the last digit").click()
    page.get_by_role("button", name="0", exact=True).first.click()
    page.get_by_role("button", name="5", exact=True).first.click()
    with page.expect_response("**/reading"):
        page.get_by_role("button", name="Enter").click()
    assert [fields["value"] for fields in bench.posted("/reading")] == ["105"]


def test_the_keyboard_does_the_same_without_a_mouse(bench: Bench) -> None:
    bench.open().page.keyboard.type("5")
    with bench.page.expect_response("**/reading"):
        bench.page.keyboard.press("Enter")
    assert [fields["value"] for fields in bench.posted("/reading")] == ["105"]


def test_the_fixed_part_is_set_and_the_open_digits_are_shown(bench: Bench) -> None:
    bench.kind = "bore"
    page = bench.open().page
    expect(page.locator(FIGURE)).to_have_value("3.06")
    expect(page.locator(".left-to-type")).to_have_text("__")
    page.keyboard.type("31")
    expect(page.locator(FIGURE)).to_have_value("3.0631")
    expect(page.locator(".left-to-type")).to_have_text("")


def test_a_whole_figure_typed_over_a_fixed_part_replaces_it(bench: Bench) -> None:
    bench.kind = "bore"
    bench.open().page.keyboard.type("3.0642")
    expect(bench.page.locator(FIGURE)).to_have_value("3.0642")


def test_letters_do_not_enter_a_figure(bench: Bench) -> None:
    bench.open().page.keyboard.type("x5", delay=200)
    expect(bench.page.locator(FIGURE)).to_have_value("105")


def scanned(bench: Bench, text: str, *, focus: str = "") -> None:
    if focus == "nothing":
        bench.page.evaluate("document.activeElement.blur()")
    elif focus:
        bench.page.locator(focus).focus()
    bench.page.keyboard.type(text)
    bench.page.keyboard.press("Enter")
    for _ in range(20):
        bench.page.wait_for_timeout(100)
        if bench.sent:
            return


@pytest.mark.parametrize("focus", ["", "nothing", "#f-scan", "button.enter"])
@pytest.mark.parametrize("text", [SERIAL, "~G:G-042", "[)>06S123"])
def test_a_scan_is_known_by_what_it_says_wherever_the_focus_is(bench: Bench, text: str, focus: str) -> None:
    scanned(bench.open(), text, focus=focus)
    assert [fields["scan"] for fields in bench.posted("/scan")] == [text]
    assert bench.posted("/reading") == []


def test_a_bare_mark_in_a_figure_field_is_a_scan(bench: Bench) -> None:
    scanned(bench.open(), "TBK-26-0148-8")
    assert [fields["scan"] for fields in bench.posted("/scan")] == ["TBK-26-0148-8"]


def test_a_bare_figure_in_a_figure_field_is_a_reading(bench: Bench) -> None:
    scanned(bench.open(), "4")
    assert bench.posted("/scan") == []
    assert [fields["value"] for fields in bench.posted("/reading")] == ["104"]


def test_a_scan_leaves_the_figure_as_it_was(bench: Bench) -> None:
    bench.open().page.route("**/scan", lambda route: route.abort())
    scanned(bench, "~G:G-042")
    expect(bench.page.locator(FIGURE)).to_have_value("10")


def test_a_scan_right_after_typed_digits_is_not_mixed_with_them(bench: Bench) -> None:
    scanned(bench.open(), "5~G:G-042")
    assert [fields["scan"] for fields in bench.posted("/scan")] == ["~G:G-042"]


@pytest.mark.parametrize("answer", ["refused", "no answer"])
def test_a_label_scanned_after_a_refused_mark_stands_alone(bench: Bench, answer: str) -> None:
    """What was refused stays in the field to be read; the next label is not put behind it."""
    bench.open()
    if answer == "no answer":
        bench.page.route("**/scan", lambda route: route.abort())
        scanned(bench, "~P:NOWHERE-77", focus="#f-scan")
        bench.page.unroute("**/scan")
    else:
        bench.page.locator("#f-scan").fill("~P:NOWHERE-77")
    scanned(bench, "~G:G-042", focus="#f-scan")
    assert [fields["scan"] for fields in bench.posted("/scan")][-1] == "~G:G-042"


def test_text_typed_by_hand_into_a_text_field_is_no_scan(bench: Bench) -> None:
    bench.kind = "text"
    bench.open().page.locator("#f-text").fill("")
    bench.page.keyboard.type("blue to straw", delay=120)
    bench.page.keyboard.press("Enter")
    bench.page.wait_for_timeout(100)
    assert bench.posted("/scan") == []


def test_a_digit_goes_to_the_end_though_the_field_got_its_focus_late(bench: Bench) -> None:
    """The browser gives the focus when it draws, and sets the caret where it last was: in a new field at the start."""
    page = bench.open().page
    page.locator(FIGURE).evaluate("field => { field.blur(); field.setSelectionRange(0, 0); field.focus(); }")
    page.keyboard.type("5")
    expect(page.locator(FIGURE)).to_have_value("105")


def test_no_answer_is_said_and_what_was_typed_stays(bench: Bench) -> None:
    bench.open().page.route("**/reading", lambda route: route.abort())
    bench.page.keyboard.type("5")
    bench.page.keyboard.press("Enter")
    expect(bench.page.get_by_text("Not saved: the server gives no answer")).to_be_visible()
    expect(bench.page.locator(FIGURE)).to_have_value("105")


def test_digits_typed_ahead_go_to_the_next_place(bench: Bench) -> None:
    bench.kind = "bore"
    page = bench.open().page
    page.keyboard.type("31")
    page.keyboard.press("Enter")
    page.locator("input[data-place]").evaluate("(field) => { field.value += '42'; }")
    page.wait_for_function("document.querySelector('#f-value').value === '3.0642'")
    assert [fields["value"] for fields in bench.posted("/reading")] == ["3.0631"]


IDLE = {"seconds": 90, "extend_url": "/extend", "leave_url": "/who/"}


def at_rest(bench: Bench, seconds: int) -> None:
    bench.page.clock.run_for(seconds * 1000)


def test_the_idle_warning_comes_before_the_lock_and_a_key_extends(bench: Bench) -> None:
    bench.more["idle"] = IDLE
    bench.page.clock.install()
    bench.open()
    warning = bench.page.locator("[data-idle-warning]")
    at_rest(bench, 70)
    expect(warning).to_be_hidden()
    at_rest(bench, 8)
    expect(warning).to_be_visible()
    bench.page.keyboard.press("5")
    expect(warning).to_be_hidden()
    assert len(bench.posted("/extend")) == 1


def test_after_90_seconds_it_asks_who_is_there_and_keeps_the_draft(bench: Bench) -> None:
    bench.more["idle"] = IDLE
    bench.page.clock.install()
    bench.open().page.keyboard.type("7")
    at_rest(bench, 92)
    bench.page.wait_for_url(f"{HOST}/who/")
    bench.page.goto(f"{HOST}/bench/")
    expect(bench.page.locator(FIGURE)).to_have_value("107")


def test_a_pin_is_never_kept(bench: Bench) -> None:
    bench.kind, bench.more["idle"] = "sign", IDLE
    bench.page.clock.install()
    bench.open().page.locator("#f-pin").fill("123456")
    at_rest(bench, 92)
    bench.page.wait_for_url(f"{HOST}/who/")
    assert "123456" not in str(bench.page.evaluate("Object.values(sessionStorage)"))


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_fits_the_screen_and_keeps_the_policy(bench: Bench, kind: str) -> None:
    bench.kind = kind
    page = bench.open().page
    high, wide = page.evaluate("[document.documentElement.scrollHeight, document.documentElement.scrollWidth]")
    assert (high, wide) == (800, 1280)
    assert [c for c in bench.complaints if "AudioContext" not in c] == []
    assert bench.hosts == {"bench.test"}


@pytest.mark.parametrize("width", [1280, 390])
def test_keys_are_large_enough_for_gloves(bench: Bench, width: int) -> None:
    bench.page.set_viewport_size({"width": width, "height": 844})
    keys = bench.open().page.locator(".keys button, .enter, .bar button, .bar summary").all()
    small = [key.inner_text() for key in keys if (key.bounding_box() or {"height": 0})["height"] < 57]
    assert len(keys) > 14
    assert small == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("kind", ["bolts", "choice", "tooth", "refused", "sign", "stopped"])
def test_no_finding_for_people_who_see_hear_or_move_differently(bench: Bench, kind: str, scheme: str) -> None:
    bench.kind = kind
    bench.page.emulate_media(color_scheme="dark" if scheme == "dark" else "light")
    found = Axe().run(bench.open().page).response["violations"]
    assert [(one["id"], one["nodes"][0]["target"]) for one in found] == []


@pytest.mark.parametrize("width", [1280, 390])
def test_every_place_on_the_tooth_is_large_enough_for_gloves(bench: Bench, width: int) -> None:
    bench.kind = "tooth"
    bench.page.set_viewport_size({"width": width, "height": 844})
    keys = bench.open().page.locator(".tooth button").all()
    sizes = [key.bounding_box() or {"height": 0, "width": 0} for key in keys]
    assert len(keys) == 11
    assert [size for size in sizes if size["height"] < 57 or size["width"] < 57] == []


def test_the_mark_is_pressed_where_it_lies(bench: Bench) -> None:
    """A press in the upper left of the tooth is high at the toe, one in the lower right low at the heel."""
    bench.kind = "tooth"
    page = bench.open().page
    face = page.locator(".tooth-face").bounding_box()
    assert face is not None
    for across, down in ((0.15, 0.12), (0.85, 0.88)):
        with page.expect_response("**/reading"):
            page.mouse.click(face["x"] + across * face["width"], face["y"] + down * face["height"])
    assert [fields["value"] for fields in bench.posted("/reading")] == ["high toe", "low heel"]


def test_the_mark_is_chosen_by_keyboard_and_without_scripts(bench: Bench) -> None:
    bench.kind = "tooth"
    bench.open().page.get_by_role("button", name="high heel").focus()
    with bench.page.expect_response("**/reading"):
        bench.page.keyboard.press("Enter")
    bench.page.get_by_role("button", name="centre slanted").focus()
    with bench.page.expect_response("**/reading"):
        bench.page.keyboard.press("Space")
    assert [fields["value"] for fields in bench.posted("/reading")] == ["high heel", "centre slanted"]
    plain = bench.page.context.browser
    assert plain is not None
    context = plain.new_context(java_script_enabled=False)
    quiet = Bench(context.new_page(), kind="tooth").open()
    quiet.page.get_by_role("button", name="edge line or double mark").click()
    assert [fields["value"] for fields in quiet.posted("/reading")] == ["edge line or double mark"]
    context.close()


def test_the_same_check_finds_a_picture_without_a_name(bench: Bench) -> None:
    page = bench.open().page
    page.evaluate("document.querySelector('svg.drawing').removeAttribute('aria-labelledby')")
    page.evaluate("document.querySelectorAll('svg.drawing title').forEach((t) => t.remove())")
    page.evaluate("document.querySelector('svg.drawing').setAttribute('role', 'img')")
    assert "svg-img-alt" in [one["id"] for one in Axe().run(page).response["violations"]]


@pytest.mark.parametrize("theme", ["", "dark"])
def test_paper_is_black_on_white_for_who_reads_in_the_dark(bench: Bench, theme: str) -> None:
    page = bench.open().page
    if theme:
        page.evaluate("(name) => document.documentElement.setAttribute('data-theme', name)", theme)
    ink = "getComputedStyle(document.documentElement).getPropertyValue('--ink').trim()"
    page.emulate_media(media="screen", color_scheme="dark")
    on_screen = page.evaluate(ink)
    page.emulate_media(media="print", color_scheme="dark")
    assert on_screen not in ("#000", "#000000")
    assert page.evaluate(ink) == "#000"


def test_a_first_view_is_small(bench: Bench) -> None:
    bench.open().page.wait_for_load_state("networkidle")
    assert 40_000 < bench.bytes_first < 100_000


def test_without_scripts_every_form_is_a_plain_form(browser: object, bench: Bench) -> None:
    plain = bench.page.context.browser
    assert plain is not None
    context = plain.new_context(java_script_enabled=False)
    quiet = Bench(context.new_page()).open()
    quiet.page.locator(FIGURE).fill("104")
    quiet.page.get_by_role("button", name="Enter").click()
    assert [fields["value"] for fields in quiet.posted("/reading")] == ["104"]
    expect(quiet.page.locator(".keys").first).to_be_hidden()
    quiet.page.get_by_text("Something is wrong").click()
    quiet.page.get_by_label("What is wrong").fill("burr")
    quiet.page.get_by_role("button", name=re.compile("Stop and tag")).click()
    assert [fields["what"] for fields in quiet.posted("/wrong")] == ["burr"]
    context.close()
