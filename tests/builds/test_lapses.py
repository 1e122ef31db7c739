"""A look-back over a lapsed skill: exactly the work of the days without it, marked where it came from paper."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse

from builds.actions.claiming import OnPaper, take_up
from builds.actions.deciding import Agreement, Decided, decide
from builds.actions.lapsing import look_back_over_lapse, settle_lapse
from builds.actions.settling import Settled
from builds.errors import MovedOn, NotYours
from builds.models import Axle, Disposition, LapsedAxle, LapsedVisit, LapseLookBack, RedTag, Visit
from builds.reports.lapses import SINCE, lapsed_work
from builds.reports.running_out import running_out
from shop.actions.people import give_role, issue_badge
from shop.actions.signing import Grant
from shop.actions.skills import Qualification, give_skill
from shop.clock import shop_zone
from shop.errors import Refusal
from shop.models import Person, Role
from shop.record import replay
from tests.builds.bench import Bench, open_bench
from tests.builds.bench_cards import MEASURING_CARD
from tests.factories import signed_in_client, with_key

pytestmark = pytest.mark.django_db
ARC = "gas_metal_arc"
#: Qualified on 31 August and never used: six months later is the last day of February, the day clamped.
QUALIFIED, LAST_GOOD, LAPSED = date(2029, 8, 31), date(2030, 2, 27), date(2030, 2, 28)


def local(day: date, hour: int, minute: int = 0) -> datetime:
    return datetime(day.year, day.month, day.day, hour, minute, tzinfo=shop_zone()).astimezone(UTC)


@pytest.fixture(scope="module")
def bench(once_per_module: None) -> Bench:
    made = open_bench(MEASURING_CARD)
    made.now = local(date(2030, 4, 1), 9)
    skill = Qualification(ARC, QUALIFIED, None, 6, "test piece")
    give_skill(person=of(made, "wim"), skill=skill, by=made.people["mo"], now=made.now)
    return made


def of(bench: Bench, code: str) -> Person:
    found = bench.people[code].person
    assert found is not None
    return found


def welded(bench: Bench, at: datetime, axle: Axle | None = None) -> Visit:
    """Operation 14 of an axle, done by Wim at that moment and entered from paper now."""
    paper = OnPaper(of(bench, "wim"), at)
    wim = bench.people["wim"]
    return take_up(bench=axle or bench.axle(), key="14/", by=wim, now=bench.later(minutes=1), paper=paper)


def look(bench: Bench, who: str = "cy") -> LapseLookBack:
    return look_back_over_lapse(person=of(bench, "wim"), process=ARC, by=bench.people[who], now=bench.later(minutes=1))


def test_the_day_of_the_work_counts_and_the_last_good_one_is_good(bench: Bench) -> None:
    """One minute before the shop's midnight the skill was valid; at midnight it had lapsed."""
    good, bad = welded(bench, local(LAST_GOOD, 23, 59)), welded(bench, local(LAPSED, 0))
    (row,) = lapsed_work(of(bench, "wim"), ARC)
    assert (row.visit, row.on, row.late, row.what) == (bad, LAPSED, True, "did the work")
    assert row.why == "Wim Testwell's skill gas-metal-arc welding lapsed on 28 Feb 2030."
    assert good.pk != bad.pk


def test_what_nobody_was_ever_qualified_for_is_found_too(bench: Bench) -> None:
    visit = welded(bench, local(QUALIFIED - timedelta(days=1), 12))
    (row,) = lapsed_work(of(bench, "wim"), ARC)
    assert row.visit == visit
    assert row.why == "Wim Testwell is not qualified for gas-metal-arc welding."


def test_a_valid_skill_leaves_nothing_to_look_back_at(bench: Bench) -> None:
    welded(bench, local(LAST_GOOD, 12))
    assert lapsed_work(of(bench, "wim"), ARC) == []
    with pytest.raises(MovedOn, match="on record already"):
        look(bench)


def test_work_of_another_person_or_by_another_process_is_not_in_it(bench: Bench) -> None:
    welded(bench, local(LAPSED, 9))
    assert lapsed_work(of(bench, "ada"), ARC) == []
    assert lapsed_work(of(bench, "wim"), "gas_tungsten_arc") == []
    assert len(lapsed_work(of(bench, "wim"), ARC)) == 1


def test_on_record_it_stops_the_axle_and_what_comes_later_needs_another(bench: Bench) -> None:
    first = welded(bench, local(LAPSED, 9))
    made = look(bench)
    (tag,) = RedTag.objects.filter(axle=first.axle)
    assert (tag.stops_axle, tag.operation_id) == (True, first.operation_id)
    assert tag.cause == (
        "Wim Testwell's skill gas-metal-arc welding lapsed on 28 Feb 2030. Operation 14 Weld it: Wim Testwell did the"
        " work on 28 Feb 2030, entered late from paper."
    )
    with pytest.raises(MovedOn):
        look(bench)
    second = welded(bench, local(LAPSED, 10))
    again = look(bench)
    kept = LapsedVisit.objects.order_by("pk").values_list("look_back_id", "visit_id", "late")
    assert list(kept) == [(made.pk, first.pk, True), (again.pk, second.pk, True)]
    assert [row.axle for row in LapsedAxle.objects.order_by("pk")] == [first.axle, second.axle]
    assert replay.check()[1] == []
    with pytest.raises(IntegrityError), transaction.atomic():
        LapsedVisit.objects.update(late=False)


def test_a_qualification_written_down_later_is_told_and_takes_nothing_off_the_record(bench: Bench) -> None:
    welded(bench, local(LAPSED, 9))
    look(bench)
    other = welded(bench, local(LAPSED, 10))
    found = Qualification(ARC, LAPSED, None, 6, "test paper found")
    give_skill(person=of(bench, "wim"), skill=found, by=bench.people["mo"], now=bench.later(minutes=1))
    (row,) = lapsed_work(of(bench, "wim"), ARC)
    assert row.why == SINCE
    assert row.visit != other


def test_an_axle_that_is_here_is_decided_by_its_tag(bench: Bench) -> None:
    welded(bench, local(LAPSED, 9))
    row = look(bench).axles.get()
    grant = Grant(of(bench, "eve"), None, "released", bench.now + timedelta(minutes=2))
    with pytest.raises(Refusal, match="Decide there"):
        settle_lapse(row=row, settled=Settled("as_is", "sound"), grant=grant, by=bench.people["eve"], now=bench.now)


def test_nobody_decides_about_his_own_work(bench: Bench) -> None:
    """By person: the engineer's roles, given to the welder, do not make him a judge of his own weld."""
    welded(bench, local(LAPSED, 9))
    give_role(person=of(bench, "wim"), role=Role.ENGINEER, by=bench.people["mo"], valid_from=LAPSED)
    look(bench)
    tag, as_is = RedTag.objects.get(), Decided("use_as_is", "sound", agreement=Agreement("A. Buyer", LAPSED, "letter"))

    def sign(code: str) -> Disposition:
        at = bench.later(minutes=1)
        grant = Grant(of(bench, code), None, "released", at + timedelta(minutes=1))
        return decide(tag=tag, decided=as_is, grant=grant, by=bench.people[code], now=at)

    with pytest.raises(NotYours, match="lies on work of Wim Testwell"):
        sign("wim")
    assert sign("eve").decision == "use_as_is"


def test_only_who_looks_at_the_record_may(bench: Bench) -> None:
    welded(bench, local(LAPSED, 9))
    with pytest.raises(Refusal, match="does not hold it today"):
        look(bench, "wim")
    assert not LapseLookBack.objects.exists()
    assert look(bench, "quinn").by == of(bench, "quinn")


def test_it_is_the_person_whatever_badge(bench: Bench) -> None:
    """A new badge ends the old one and stays the same person, whose work is found and who may not sign it himself."""
    welded(bench, local(LAPSED, 9))
    for _ in range(2):
        issue_badge(person=of(bench, "wim"), by=bench.people["mo"])
        assert len(lapsed_work(of(bench, "wim"), ARC)) == 1
    assert of(bench, "wim").badges.filter(revoked_at=None).count() == 1


@pytest.mark.parametrize(("ahead", "told"), [(30, True), (31, False), (0, True), (-5, True)])
def test_what_runs_out_is_told_thirty_days_ahead(bench: Bench, ahead: int, told: bool) -> None:
    at = local(LAPSED - timedelta(days=ahead), 12)
    assert [line.person for line in running_out(at).skills] == ([of(bench, "wim")] if told else [])


@pytest.fixture
def inspector(bench: Bench) -> Client:
    return signed_in_client(of(bench, "cy"))


def test_the_page_lists_it_marks_it_and_puts_it_on_record_once(bench: Bench, inspector: Client) -> None:
    visit = welded(bench, local(LAPSED, 9))
    assert visit.axle is not None
    path = reverse("lapse", args=["wim", ARC])
    page = inspector.get(path).content.decode()
    assert "1 operation done without a valid skill" in page
    assert "entered late from paper" in page
    assert "not on record yet" in page
    assert f"{visit.axle.serial}," in inspector.get(path, {"as": "csv"}).content.decode()
    form = with_key()
    assert [inspector.post(path, form).status_code for _ in range(2)] == [303, 303]
    assert LapseLookBack.objects.count() == 1
    page = inspector.get(path).content.decode()
    assert f"Red tag {RedTag.objects.get().number}" in page
    assert "Put the look-back on record" not in page
    assert inspector.post(path, with_key()).status_code == 409
    row = LapsedAxle.objects.get()
    assert "It is decided there" in inspector.get(reverse("lapsed_axle", args=[row.pk])).content.decode()
    said = inspector.get(reverse("axle", args=[visit.axle.serial])).content.decode()
    assert "gas-metal-arc welding while lapsed" in said


@pytest.mark.parametrize(("code", "process"), [("nobody", ARC), ("wim", "magic"), ("wim", "x" * 300)])
def test_a_person_or_process_that_is_not_there_is_a_404(inspector: Client, code: str, process: str) -> None:
    assert inspector.get(reverse("lapse", args=["wim", ARC])).status_code == 200
    assert inspector.get(reverse("lapse", args=[code, process])).status_code == 404
