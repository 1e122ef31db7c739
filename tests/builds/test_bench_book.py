"""The bench book's pages: linkable answers; what cannot be taken stays typed."""

from __future__ import annotations

import pytest
from django.urls import reverse

from measurements.bench.entries import BOOK, ENTRIES
from shop.models import Role
from tests.builds.floor import person
from tests.builds.pages import Browser, text_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def welder() -> Browser:
    return Browser(person(Role.WELDER))


def test_every_entry_is_in_the_index_and_works_out_its_example(welder: Browser) -> None:
    index = welder.get(reverse("bench_book")).content.decode()
    for entry in ENTRIES:
        path = reverse("bench_entry", args=[entry.name])
        assert path in index
        page = text_of(welder.get(path, entry.example))
        assert "How it was worked out" in page
        assert "Source:" in page
        assert "Not known" not in page


def test_an_answer_has_an_address_and_its_figures_stay(welder: Browser) -> None:
    """30 ft-lb with 12 and 6 in is set to 20 (US TM 9-254)."""
    page = welder.get(
        reverse("bench_entry", args=["wrench_setting"]), {"target": "30", "wrench": "12", "extension": "6"}
    )
    assert "Set the wrench to 20 ft-lb" in text_of(page)
    assert 'value="12"' in page.content.decode()


def test_a_field_at_fault_says_so_and_nothing_typed_is_lost(welder: Browser) -> None:
    page = welder.get(
        reverse("bench_entry", args=["wrench_setting"]), {"target": "30", "wrench": "12,5", "extension": ""}
    )
    said = text_of(page)
    assert "has a comma" in said
    assert "Length of the extension: nothing was typed" in said
    assert 'value="12,5"' in page.content.decode()
    assert "Set the wrench" not in said


def test_what_is_not_in_the_book_is_not_here(welder: Browser) -> None:
    assert welder.get(reverse("bench_entry", args=["gold"])).status_code == 404


def test_figures_of_strangers_are_text(welder: Browser) -> None:
    page = welder.get(reverse("bench_entry", args=["units"]), {"value": "<b>3</b>", "from": "in", "to": "mm"})
    assert "<b>3</b>" not in page.content.decode()


def test_too_much_text_is_refused_and_not_cut(welder: Browser) -> None:
    """Cut at 400 characters the last figure would be another one."""
    typed = {"value": "1" * 401, "from": "in", "to": "mm"}
    page = welder.get(reverse("bench_entry", args=["units"]), typed)
    assert "at most 400 characters" in text_of(page)
    assert f'value="{"1" * 401}"' in page.content.decode()


def test_the_search_is_in_the_address_and_finds_by_subject(welder: Browser) -> None:
    page = welder.get(reverse("bench_book"), {"q": "torque lubricant"}).content.decode()
    assert reverse("bench_entry", args=["lubricant_change"]) in page
    assert reverse("bench_entry", args=["units"]) not in page
    assert 'value="torque lubricant"' in page


def test_a_search_without_a_find_says_so_and_shows_no_stranger_s_tag(welder: Browser) -> None:
    page = welder.get(reverse("bench_book"), {"q": "<b>gold</b>"})
    assert "The book has nothing under these words" in text_of(page)
    assert "<b>gold</b>" not in page.content.decode()


def test_what_is_picked_is_a_list_and_a_strange_word_stays_in_it(welder: Browser) -> None:
    path = reverse("bench_entry", args=["contact_pattern"])
    assert '<option value="face-milled"' in welder.get(path).content.decode()
    page = welder.get(path, {"cut": "filed"})
    assert "“filed” is none of face-milled, face-hobbed" in text_of(page)
    assert '<option value="filed" selected' in page.content.decode()


def test_a_bad_figure_of_a_list_is_told_by_its_number_on_the_page(welder: Browser) -> None:
    page = welder.get(reverse("bench_entry", args=["shim_pack"]), {"target": "0.88", "sizes": "0.08 0.13 0,25"})
    assert "figure 3: “0,25” has a comma" in text_of(page)
    assert 'value="0.08 0.13 0,25"' in page.content.decode()


@pytest.mark.parametrize(
    ("name", "titled"),
    [("tube_section", "Section"), ("joint_angle", "Over one turn"), ("tightening_order", "Tightening order"),
     ("backlash_round", "Backlash round"), ("contact_pattern", "Contact pattern")],
)  # fmt: skip
def test_an_answer_has_its_drawing(welder: Browser, name: str, titled: str) -> None:
    page = welder.get(reverse("bench_entry", args=[name]), BOOK[name].example).content.decode()
    assert '<svg xmlns="http://www.w3.org/2000/svg" class="drawing"' in page
    assert f'id="answer-title">{titled}' in page
