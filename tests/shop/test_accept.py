"""A form sent once, twice, changed, without its key, and refused: one entry or none, and never a 500."""

from __future__ import annotations

import uuid
from typing import Any

import pytest
from django.db import IntegrityError, OperationalError, connection
from django.forms import Form
from django.http import HttpResponse
from django.test import Client, RequestFactory
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from shop.errors import Conflict, Refusal
from shop.http import Asked, Done, accept
from shop.http.seat import Seat
from shop.models import Person, Role, Supplier
from shop.record import submission
from shop.record.act import act
from shop.record.models import Event, Submission
from shop.record.who import Who
from tests import factories

pytestmark = pytest.mark.django_db
URL = "/partners/suppliers/"


@pytest.fixture
def jory() -> Person:
    return factories.person("jory", Role.RECEIVER)


@pytest.fixture
def client(jory: Person) -> Client:
    return factories.signed_in_client(jory)


def post(client: Client, **fields: Any) -> HttpResponse:
    answer: HttpResponse = client.post(URL, fields)
    return answer


def test_an_accepted_form_is_kept_with_its_result(client: Client, jory: Person) -> None:
    key = str(uuid.uuid4())
    answer = post(client, submission=key, code="PB", name="Pellanby Bearings")
    assert (answer.status_code, answer["Location"]) == (303, reverse("partners"))
    row = Submission.objects.get(pk=key)
    assert row.person == jory
    assert row.result == {"url": reverse("partners"), "said": "The supplier is added."}


def test_a_double_press_makes_one_entry_and_the_same_answer(client: Client) -> None:
    fields = factories.with_key(code="PB", name="Pellanby Bearings")
    first, second = post(client, **fields), post(client, **fields)
    assert (first.status_code, first["Location"]) == (second.status_code, second["Location"])
    assert Supplier.objects.count() == 1
    assert Event.objects.filter(subject="supplier:PB").count() == 1


def test_two_forms_with_keys_of_their_own_are_two_entries(client: Client) -> None:
    """Control of the test above: only the key makes the second press the same."""
    fields = {"code": "PB", "name": "Pellanby Bearings"}
    assert post(client, **factories.with_key(**fields)).status_code == 303
    answer = post(client, **factories.with_key(**fields))
    assert answer.status_code == 422
    assert "another supplier" in answer.content.decode()


def test_the_same_key_with_another_body_is_refused(client: Client) -> None:
    fields = factories.with_key(code="PB", name="Pellanby Bearings")
    post(client, **fields)
    answer = post(client, **fields | {"name": "Wexcombe Lacquer"})
    assert answer.status_code == 422
    assert "already sent with other entries" in answer.content.decode()
    assert [one.name for one in Supplier.objects.all()] == ["Pellanby Bearings"]


def test_another_person_cannot_repeat_it(client: Client) -> None:
    fields = factories.with_key(code="PB", name="Pellanby Bearings")
    post(client, **fields)
    other = factories.signed_in_client(factories.person("mirelle", Role.OFFICE))
    assert post(other, **fields).status_code == 422


@pytest.mark.parametrize("key", [None, "", "nonsense", "1234"])
def test_without_its_key_a_form_is_not_taken(client: Client, key: str | None) -> None:
    fields = {"code": "PB", "name": "Pellanby Bearings"} | ({} if key is None else {"submission": key})
    answer = post(client, **fields)
    assert answer.status_code == 400
    assert "came without its key" in answer.content.decode()
    assert not Supplier.objects.exists()


def test_a_refused_form_comes_back_filled_in_and_its_key_is_free(client: Client) -> None:
    fields = factories.with_key(code="P/B", name="Pellanby Bearings")
    answer = post(client, **fields)
    shown = answer.content.decode()
    assert answer.status_code == 422
    assert 'value="P/B"' in shown
    assert 'value="Pellanby Bearings"' in shown
    assert 'id="supplier-code_error"' in shown
    assert "letters A to Z" in shown
    assert not Submission.objects.exists()
    assert post(client, **fields | {"code": "PB"}).status_code == 303


def test_a_script_is_sent_on_to_the_page(client: Client) -> None:
    fields = factories.with_key(code="PB", name="Pellanby Bearings")
    answer = client.post(URL, fields, headers={"HX-Request": "true"})
    assert (answer.status_code, answer["HX-Redirect"]) == (200, reverse("partners"))


# The way itself, without a page around it


def asked(jory: Person, **fields: Any) -> Asked:
    request = RequestFactory().post("/try/", fields)
    request.__class__ = Asked
    assert isinstance(request, Asked)
    request.seat = Seat(person=jory)
    request.htmx = False  # type: ignore[assignment]
    return request


def draw(refusal: Refusal | None) -> HttpResponse:
    return HttpResponse(refusal.text if refusal else "")


def sent(request: Asked, do: Any, **more: Any) -> HttpResponse:
    return accept(request, do, then=lambda _made: Done("/there/"), draw=draw, **more)


def add(jory: Person, name: str) -> Supplier:
    return Supplier.objects.create(code=name[:3], name=name)


def test_a_refusal_after_writing_takes_everything_back(jory: Person) -> None:
    def do() -> None:
        add(jory, "Half done")
        raise Refusal("No, after all.")

    answer = sent(asked(jory, **factories.with_key()), do)
    assert (answer.status_code, answer.content) == (422, b"No, after all.")
    assert not Supplier.objects.exists()
    assert not Submission.objects.exists()


@pytest.mark.parametrize(("look_first", "savepoints"), [(True, 2), (False, 1)])
def test_an_act_done_all_day_needs_no_savepoint_of_its_own(jory: Person, look_first: bool, savepoints: int) -> None:
    """One is the form's own, which in a test stands inside the test's transaction."""
    with CaptureQueriesContext(connection) as caught:
        assert (
            sent(
                asked(jory, **factories.with_key()), lambda: new_supplier("PB", jory), look_first=look_first
            ).status_code
            == 303
        )
    assert sum(query["sql"].startswith("SAVEPOINT") for query in caught.captured_queries) == savepoints
    assert Event.objects.filter(subject="supplier:PB").count() == 1


@pytest.mark.parametrize("look_first", [True, False])
def test_a_refused_act_leaves_nothing_and_the_next_one_goes_on(jory: Person, look_first: bool) -> None:
    def refused() -> None:
        with act("supplier.added", subject="supplier:PB", by=Who(jory)) as a:
            a.create(Supplier, code="PB", name="Half done")
            raise Refusal("No, after all.")

    answer = sent(asked(jory, **factories.with_key()), refused, look_first=look_first)
    assert (answer.status_code, answer.content) == (422, b"No, after all.")
    assert not Supplier.objects.exists()
    assert not Event.objects.filter(subject="supplier:PB").exists()
    assert not Submission.objects.exists()
    assert (
        sent(asked(jory, **factories.with_key()), lambda: new_supplier("PB", jory), look_first=look_first).status_code
        == 303
    )


@pytest.mark.parametrize("look_first", [True, False])
def test_who_held_the_subject_is_told_once_the_transaction_is_over(jory: Person, look_first: bool) -> None:
    new_supplier("PB", jory)

    def held() -> None:
        with act("supplier.changed", subject="supplier:PB", by=Who(jory)):
            raise OperationalError("database is locked")

    answer = sent(asked(jory, **factories.with_key()), held, look_first=look_first)
    assert answer.status_code == 409
    assert f"The last entry there is by {jory.name}".encode() in answer.content


def new_supplier(code: str, by: Person) -> None:
    with act("supplier.added", subject=f"supplier:{code}", by=Who(by)) as a:
        a.create(Supplier, code=code, name="Pellanby Bearings")


def test_a_conflict_answers_409(jory: Person) -> None:
    def do() -> None:
        raise Conflict("Somebody else is at work there.")

    assert sent(asked(jory, **factories.with_key()), do).status_code == 409


class TwinIsFaster(Form):
    """A form whose check takes so long that the twin of this very press is saved meanwhile."""

    request: Asked

    def is_valid(self) -> bool:
        request = self.request
        mark = submission.fingerprint("POST", "/try/", request.POST.lists(), by=request.who)
        submission.keep(uuid.UUID(request.POST["submission"]), mark, {"url": "/first/", "said": ""}, by=request.who)
        return True


@pytest.mark.parametrize("refused", [True, False])
def test_the_later_twin_of_a_press_gets_the_first_ones_answer(jory: Person, refused: bool) -> None:
    """Whether the rules refuse the second ("there already") or only its key does: one entry, one answer."""
    form = TwinIsFaster()
    form.request = request = asked(jory, **factories.with_key(code="PB"))

    def do() -> None:
        add(jory, "The second time")
        if refused:
            raise Refusal("There already.")

    answer = sent(request, do, form=form)
    assert (answer.status_code, answer["Location"]) == (303, "/first/")
    assert not Supplier.objects.exists()


def test_a_fault_of_the_database_is_not_taken_for_a_twin(jory: Person) -> None:
    def do() -> None:
        add(jory, "Twice")
        add(jory, "Twice")

    with pytest.raises(IntegrityError):
        sent(asked(jory, **factories.with_key()), do)


def test_a_pin_is_asked_for_where_a_signature_is_meant(jory: Person) -> None:
    seen = []

    def sign(request: Asked) -> None:
        seen.append((request.grant.person, request.grant.meaning))

    wrong = asked(jory, **factories.with_key(pin="000001"))
    answer = sent(wrong, lambda: sign(wrong), meaning="did")
    assert answer.status_code == 422
    assert b"not the PIN" in answer.content
    right = asked(jory, **factories.with_key(pin=factories.PIN))
    assert sent(right, lambda: sign(right), meaning="did").status_code == 303
    assert seen == [(jory, "did")]


def test_no_secret_enters_the_fingerprint(jory: Person) -> None:
    """Bodies that differ in the PIN only leave the same mark: it cannot be searched for a PIN."""
    marks = [
        submission.fingerprint("POST", "/try/", asked(jory, code="x", pin=pin).POST.lists(), by=asked(jory).who)
        for pin in ("271828", "314159")
    ]
    assert marks[0] == marks[1]
    other = submission.fingerprint("POST", "/try/", asked(jory, code="y").POST.lists(), by=asked(jory).who)
    assert other != marks[0]
