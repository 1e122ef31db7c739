"""The recalled heat, the returned seal and the robbed differential, through the pages of the loaded demo."""

from __future__ import annotations

import csv
import re
from collections import defaultdict
from html import unescape
from io import StringIO

from django.test import Client
from django.urls import reverse

from builds.actions.links import make_link
from builds.models import Axle, Notice, RedTag, Visit, VisitState
from shop.codes import running_number
from shop.models import Person
from shop.record.who import Who
from tests.builds.pages import Browser, text_of, text_of_pdf
from tests.builds.told import axle

HEAT = "~H:Q7731"
FOUND = "The mill says that this steel holds less molybdenum than its certificate states."
ASK = "Please do not work the axle and tell us where it is."


def seen_as(code: str) -> Browser:
    return Browser(Who(Person.objects.get(code=code)))


def listed(browser: Browser, **asked: str) -> dict[str, set[str]]:
    """The reach list's own CSV: for each place the axles by running number, or the marks where there is no axle."""
    answer = browser.get(reverse("reach"), asked | {"as": "csv"})
    found: dict[str, set[str]] = defaultdict(set)
    for row in csv.DictReader(StringIO(answer.content.decode().lstrip("\ufeff"))):
        found[row["place"]].add(running_number(row["axle"]) if row["axle"] else row["mark"])
    return found


def window(of: Axle) -> str:
    """The customer's page of this axle's order."""
    _, token = make_link(order=of.line.order, days=30, by=Who(Person.objects.get(code="mirelle")))
    client = Client()
    client.post(reverse("customer_enter"), {"token": token})
    return unescape(text_of(client.get(reverse("customer_order"))))


def story_e() -> None:
    """The recalled heat: what the page lists, what the notice stops, and who is written to."""
    ingrith = seen_as("ingrith")
    found = listed(ingrith, cause=HEAT)
    assert found["shipped"] == {"0132", "0133"}
    assert found["on the floor"] == {"0140"}
    assert found["formerly fitted"] == {"0138"}
    assert found["not determinable"] == {"RM-26"}
    assert "Q7731-R1" in found["bars and remnants"]
    assert "0138" not in set().union(*(held for place, held in found.items() if place != "formerly fitted"))
    at_work = Visit.objects.get(axle=axle("0140"), operation__number=180, state=VisitState.IN_HAND)
    before = set(RedTag.objects.values_list("pk", flat=True))
    answer = ingrith.send(f"{reverse('notice_new')}?cause={HEAT}", found=FOUND, ask=ASK)
    assert answer.status_code == 303, text_of(answer)
    notice = Notice.objects.get()
    page = text_of(ingrith.get(reverse("notice", args=[notice.number])))
    for number in ("0132", "0133", "0140"):
        assert axle(number).serial in page
    stopped = RedTag.objects.exclude(pk__in=before).select_related("axle__item", "item")
    marks = {running_number(tag.axle.serial) if tag.axle else tag.item.mark for tag in stopped}
    assert {"0140", "Q7731-R1", "RM-26"} <= marks
    assert not {"0132", "0133", "0138"} & marks
    _stands_still(at_work)
    _is_written_to(ingrith, notice)


def _stands_still(visit: Visit) -> None:
    """The worker who has the axle in hand is told by the page, and at the next press by whatever they press."""
    worker = Browser(Who(visit.claimed_by))
    station = text_of(worker.get(reverse("station", args=[axle("0140").serial, 180, "-"])))
    tag = RedTag.objects.get(axle=axle("0140"), disposition=None)
    assert f"Red tag {tag.number}" in station or f"red tag {tag.number}" in station
    answer = worker.send(reverse("station_finish", args=[axle("0140").serial, 180, "-"]), pin="246813", meaning="done")
    assert answer.status_code in (409, 422)
    assert f"red tag {tag.number}" in text_of(answer).lower()
    visit.refresh_from_db()
    assert visit.state == VisitState.IN_HAND


def _is_written_to(ingrith: Browser, notice: Notice) -> None:
    """One letter names both shipped axles of its consignee, and no page or letter another customer's."""
    lines = notice.revisions.get().lines.filter(is_axle=True, axle__in=[axle("0132"), axle("0133")])
    letter = text_of_pdf(ingrith.get(reverse("notice_letter", args=[notice.number, lines[0].pk])).content)
    assert {number for number in ("0131", "0132", "0133", "0134") if axle(number).serial in letter} == {"0132", "0133"}
    assert "Q7731" not in letter
    assert "Hollow Pine" not in letter
    own = window(axle("0132"))
    assert own.count(FOUND) == 2
    assert FOUND not in window(axle("0141"))


def story_m() -> None:
    """The leaking seal: who else has one of its lot, who from the same hands, and what the returns page says."""
    mirelle = seen_as("mirelle")
    shown = text_of(mirelle.get(reverse("returns_of", args=[axle("0131").serial])))
    assert "Return 1," in shown
    assert "PS-118" in shown
    assert listed(mirelle, cause="PS-118")["shipped"] == {"0131", "0132", "0134", "0136"}
    same = listed(mirelle, cause="PS-118", other="rusk", together="same")
    assert same["shipped"] == {"0131", "0132"}
    assert not {number for place, held in same.items() if place != "shipped" for number in held if number < "0200"}
    share = text_of(mirelle.get(reverse("returns_share")))
    assert "1 of 10 axles that left came back" in share
    assert "lot PS-118" in share
    assert "decides nothing" in share


def story_k() -> None:
    """The robbed differential: its donor's page names the operations that it made invalid, and no others."""
    browser, donor, taker = seen_as("calla"), axle("0148").serial, axle("0149").serial
    page = browser.get(reverse("axle", args=[donor])).content.decode()
    again = re.findall(r"<li>Operation (\d+), pass (\d+): (\w+)\.", page)
    assert sorted(again) == [(number, "1", "differential") for number in ("200", "210", "220", "230")]
    rows = dict(re.findall(r">(\d+) [^<]*</a>(?:, \w+)?</th><td data-label=\"State\">(.*?)</td>", page))
    for number in ("340", "350", "360"):
        assert "done" in rows[number]
    assert "done" not in rows["230"]
    _, _, formerly = text_of(browser.get(reverse("axle", args=[donor]))).partition("Formerly in it")
    assert "DF-2207" in formerly.partition("Welds")[0]
    assert "DF-2207" in text_of(browser.get(reverse("kit", args=[taker])))
    assert listed(browser, cause="DF-2207")["formerly fitted"] == {"0148"}
    closing = text_of(browser.get(reverse("closing", args=[donor])))
    assert "230" in closing
