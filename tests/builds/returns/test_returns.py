"""Returns: what is taken on record and what is refused, the pages, and what the returned share."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from builds.actions.fitting import take_out
from builds.actions.returning import Said, note_finding, take_return
from builds.errors import NotReady
from builds.models import Axle, Finding, Fitted, Returned, ReturnPhoto
from builds.reports.reach.cause import CauseKind
from builds.reports.returns.beside import as_built
from builds.reports.returns.exposure import Exposed, Value
from builds.reports.returns.shared import returns_that_count, shared, shared_list
from builds.reports.returns.then_and_now import then_and_now
from shop.clock import shop_day
from shop.codes import build_serial
from shop.errors import Refusal
from shop.models import Role
from shop.record.who import Who
from tests import bad_input, factories
from tests.builds.bench import Bench, open_bench
from tests.builds.test_photos import picture
from tests.factories import signed_in_client, with_key

pytestmark = pytest.mark.django_db


@dataclass
class Gone:
    """Three axles that left; somebody who may do everything; an axle that is still here."""

    bench: Bench
    omni: Who
    axles: list[Axle]
    here: Axle

    @property
    def today(self) -> date:
        return shop_day(self.bench.now)

    def back(self, axle: Axle, role: str = "", words: str = "It leaks.") -> Returned:
        said = Said(words, self.today, role)
        return take_return(axle=axle, said=said, by=self.omni, now=self.bench.later(minutes=1))


@pytest.fixture(scope="module")
def gone(once_per_module: None) -> Gone:
    bench = open_bench(begin=timezone.now() - timedelta(days=1))
    bench.people["omni"] = omni = Who(factories.person("omni", *Role))
    axles = [bench.sent(omni) for _ in range(3)]
    return Gone(bench, omni, axles, bench.axle())


@pytest.fixture
def client(gone: Gone) -> Client:
    assert gone.omni.person is not None
    return signed_in_client(gone.omni.person)


def page(client: Client, name: str, *args: object, **typed: str) -> str:
    answer = client.get(reverse(name, args=args), typed, follow=True)
    assert answer.status_code == 200
    return str(answer.content.decode())


def test_returns_are_numbered_and_kept(gone: Gone) -> None:
    one, two = gone.back(gone.axles[0], "shaft"), gone.back(gone.axles[1])
    assert (two.number - one.number, one.role, two.role, one.came_on) == (1, "shaft", "", gone.today)
    with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
        Returned.objects.filter(pk=one.pk).update(words="Nothing.")


@pytest.mark.parametrize(
    ("words", "days", "role", "said"),
    [
        ("", 0, "", "report is empty"),
        ("x" * 401, 0, "", "at most 400 fit"),
        ("It leaks.", 1, "", "lies ahead"),
        ("It leaks.", -9, "", "cannot have come back"),
        ("It leaks.", 0, "steering wheel", "Nothing was fitted"),
    ],
)
def test_what_cannot_be_is_refused(gone: Gone, words: str, days: int, role: str, said: str) -> None:
    count = Returned.objects.count()
    told = Said(words, gone.today + timedelta(days=days), role)
    with pytest.raises(Refusal, match=said):
        take_return(axle=gone.axles[0], said=told, by=gone.omni, now=gone.bench.later(minutes=1))
    assert Returned.objects.count() == count


def test_an_axle_that_is_here_does_not_come_back(gone: Gone) -> None:
    with pytest.raises(NotReady, match="has not left the shop"):
        gone.back(gone.here)


def test_who_builds_takes_no_returns(gone: Gone) -> None:
    said = Said("It leaks.", gone.today)
    with pytest.raises(Refusal, match="needs the role"):
        take_return(axle=gone.axles[0], said=said, by=gone.bench.people["ada"], now=gone.bench.later(minutes=1))


def test_what_was_found_counts_by_its_newest_word(gone: Gone) -> None:
    returned = gone.back(gone.axles[2], "shaft")
    assert returned in returns_that_count("shaft")[0]
    note_finding(returned=returned, says="other", words="Driven without oil.", by=gone.omni,
                 now=gone.bench.later(minutes=1))  # fmt: skip
    assert returned not in returns_that_count("shaft")[0]
    assert returns_that_count("shaft")[1] == 1
    note_finding(returned=returned, says="fault", words="Cracked.", by=gone.omni, now=gone.bench.later(minutes=1))
    assert returned in returns_that_count("shaft")[0]
    assert Finding.objects.filter(returned=returned).count() == 2
    with pytest.raises(Refusal, match="Say what was found"):
        note_finding(returned=returned, says="dunno", words="x", by=gone.omni)


def test_fitted_then_and_now(gone: Gone) -> None:
    axle = gone.axles[0]
    before = then_and_now(axle)
    assert before.places
    assert not any(place.changed for place in before.places)
    row = Fitted.objects.get(axle=axle, role="shaft")
    take_out(fitted=row, reason="worn", to="scrap", by=gone.bench.people["omni"], now=gone.bench.later(minutes=1))
    after = then_and_now(axle)
    (changed,) = (place for place in after.places if place.changed)
    assert (changed.role, changed.then, changed.now) == ("shaft", row, None)
    assert [place.then for place in after.places] == [place.then for place in before.places]


def test_what_the_returned_share_is_ranked_and_counts_each_axle_once(gone: Gone) -> None:
    for _ in range(2):
        gone.back(gone.axles[0])
    gone.back(gone.axles[1])
    found = shared()
    assert (found.built, found.failed) == (3, 2)
    assert found.rows
    assert found.looked_at >= sum(len(row.values) for row in found.rows)
    everybody = next(row for row in found.rows if row.suspect.counts.exposed == 3)
    assert (everybody.suspect.p, everybody.suspect.risk, everybody.too_few) == (1.0, None, True)
    lines = shared_list(found).text().splitlines()
    assert len(lines) == 1 + sum(len(row.values) for row in found.rows)
    assert all(row.suspect.counts.both == len(row.serials) for row in found.rows)


@pytest.fixture
def told(gone: Gone, monkeypatch: pytest.MonkeyPatch) -> list[Value]:
    """Two of three axles came back, and the three have: a heat all, a lot the first, a person the first and second."""
    gone.back(gone.axles[0])
    gone.back(gone.axles[1])
    first, second, third = (axle.pk for axle in gone.axles)
    values = [Value(CauseKind.ITEM, "heat H-1", "H-1"), Value(CauseKind.ITEM, "lot L-1", "L-1"),
              Value(CauseKind.PERSON, "person Ada", "ada")]  # fmt: skip
    sets = ({first, second, third}, {first}, {first, second})
    have: Exposed = {value: frozenset(those) for value, those in zip(values, sets, strict=True)}
    for module in ("reports.returns.shared", "actions.exposing"):
        monkeypatch.setattr(f"builds.{module}.exposure", lambda axles: have)
    return values


def test_what_comes_with_another_suspect_is_compared_within_it(told: list[Value]) -> None:
    heat, lot, person = told
    assert {row.beside for row in shared().rows} == {None}
    found = shared(alike=person.key)
    beside = {value: row.beside for row in found.rows for value in row.values}
    assert found.alike == "person Ada"
    assert beside[person] is None
    # All have the heat. Of the two with the person both came back, of the one without it none: no stratum can tell.
    assert [(one.telling, one.p) for one in (beside[heat], beside[lot]) if one] == [(0, 1.0), (0, 1.0)]
    # Within the lot's axle nothing can differ; of the two without it one came back, and it is the person's: 1/2.
    other = {value: row.beside for row in shared(alike=lot.key).rows for value in row.values}[person]
    assert other is not None
    assert (other.telling, other.p) == (1, 0.5)
    assert [row.suspect for row in found.rows] == [row.suspect for row in shared().rows]
    assert shared(alike="item|no such thing||").alike == ""
    assert ",lot L-1,0.5," in shared_list(shared(alike=lot.key)).text()


def test_the_page_compares_within_a_suspect(told: list[Value], client: Client) -> None:
    shown = page(client, "returns_share", alike=told[1].key)
    assert "Among axles alike in lot L-1" in shown
    assert "the thing itself" in shown
    assert "always with or always without it" in shown
    assert "p 0.5000" in shown
    assert "Among axles alike in" not in page(client, "returns_share", alike="<b>|x")


def test_nothing_returned_ranks_nothing(gone: Gone) -> None:
    assert (shared().rows, shared().failed) == ([], 0)


def test_the_pages(gone: Gone, client: Client) -> None:
    assert "Nothing has come back." in page(client, "returns")
    serial = gone.axles[0].serial
    assert "Put a return on record" in page(client, "returns", serial=f"~A:{serial}")
    assert "has not left the shop" in page(client, "returns", serial=gone.here.serial)
    typed = {"words": "Oil at the <pinion>.", "came_on": str(gone.today), "role": "shaft", "use": "300 h"}
    answer = client.post(reverse("returns_of", args=[serial]), with_key(**typed), follow=True)
    shown = answer.content.decode()
    assert "Oil at the &lt;pinion&gt;." in shown
    number = Returned.objects.get().number
    form = with_key(says="fault", words="Cut lip.")
    shown = client.post(reverse("return_finding", args=[number]), form, follow=True).content.decode()
    assert "A fault of the axle." in shown
    shared_page = page(client, "returns_share")
    assert "1 of 3 axles that left came back" in shared_page
    assert "decides nothing" in shared_page
    assert "too few to tell" in shared_page
    assert page(client, "returns_share", **{"as": "csv"}).startswith("value,kind,returned with it")
    assert "No axle has come back that counts" in page(client, "returns_share", role="nothing")


@pytest.mark.parametrize(
    ("typed", "said"),
    [("", "required"), ("TBK-25-0143-X", "check character"), ("banana", "is not an axle serial"),
     (build_serial("TBK", 2025, 9999), "No axle")],
)  # fmt: skip
def test_a_serial_that_cannot_be_is_said_plainly(client: Client, typed: str, said: str) -> None:
    assert said in page(client, "returns", serial=typed)


def test_senseless_input_is_refused_and_changes_nothing(gone: Gone, client: Client) -> None:
    fields = {"words": "It leaks.", "came_on": "", "role": "no such part", "use": ""}  # words may be any words
    assert bad_input.check(client, reverse("returns_of", args=[gone.axles[0].serial]), fields) > 50
    returned = gone.back(gone.axles[0])
    form = {"says": "", "words": "x"}
    assert bad_input.check(client, reverse("return_finding", args=[returned.number]), form) > 30


def test_one_press_twice_is_one_return(gone: Gone, client: Client) -> None:
    form = with_key(words="It leaks.", came_on=str(gone.today), role="", use="")
    for _ in range(2):
        client.post(reverse("returns_of", args=[gone.axles[0].serial]), form)
    assert Returned.objects.count() == 1


def test_photos_stand_side_by_side_and_what_was_read_where_the_part_went_in(gone: Gone, client: Client) -> None:
    axle = gone.axles[0]
    returned = gone.back(axle, "shaft")
    went_in = Fitted.objects.filter(axle=axle, role="shaft").values_list("visit__operation__number", flat=True)
    built = as_built(axle, [returned])[returned.pk]
    assert built.operations == tuple(sorted(set(went_in)))
    assert built.readings
    assert {row["operation"] for row in built.readings} <= set(built.operations)
    form = with_key(name="The <lip>, cut", photo=SimpleUploadedFile("p.jpg", picture(40, 30)))
    shown = client.post(reverse("return_photo", args=[returned.number]), form, follow=True).content.decode()
    assert "The &lt;lip&gt;, cut" in shown
    row = ReturnPhoto.objects.get()
    answer = client.get(reverse("return_picture", args=[row.pk]))
    assert answer["Content-Type"].startswith("image/")
    assert client.get(reverse("return_picture", args=[row.pk]) + "?small")["Content-Type"] == "image/jpeg"
    assert client.get(reverse("return_picture", args=[row.pk + 1])).status_code == 404
    with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
        ReturnPhoto.objects.filter(pk=row.pk).delete()


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("", b"as below", "What it shows"),
        ("The lip", None, "No photo was taken"),
        ("The lip", b"no", "cannot be opened as"),
    ],
)
def test_a_photo_that_cannot_be_kept_leaves_what_was_typed(
    gone: Gone, client: Client, name: str, content: bytes | None, said: str
) -> None:
    returned = gone.back(gone.axles[0])
    form = with_key(name=name)
    if content is not None:
        form["photo"] = SimpleUploadedFile("p.png", content, content_type="image/png")  # type: ignore[assignment]
    answer = client.post(reverse("return_photo", args=[returned.number]), form)
    shown = answer.content.decode()
    assert answer.status_code == 422
    assert said in shown
    assert f'value="{name}"' in shown or not name
    assert not ReturnPhoto.objects.exists()
