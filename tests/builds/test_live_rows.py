"""After closing every live row is changed past every guard; an issue is made from the frozen bytes all the same.

And what somebody wrote into a name or a note is printed as text: a document fetches nothing for it.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from django.db import DatabaseError, connection, models, transaction

from builds.actions.closing import certify, close_axle
from builds.actions.deciding import Agreement, Decided, decide
from builds.certificates import pdf as pdf_module
from builds.certificates.record import full_record
from builds.jobs import render_issue
from builds.models import Axle, Certifying, Closing
from measurements.models import Reading
from shop.clock import shop_day
from shop.models import Customer
from shop.record import chain, triggers
from shop.record.models import Signature
from shop.record.replay import recorded_models
from tests.builds.bench import Bench, open_bench
from tests.builds.pages import text_of_pdf

pytestmark = pytest.mark.django_db
#: What the issue itself is made of: the frozen bytes with their fingerprint, and the signature under them.
ITS_OWN = (Closing, Certifying, Signature)
HOSTILE = '<img src="file:///etc/passwd"><link rel=stylesheet href="http://127.0.0.1:9/x">'


@pytest.fixture(scope="module")
def bench(once_per_module: None) -> Bench:
    bench = open_bench()
    Customer.objects.filter(code="CUST").update(name=HOSTILE, address="url(file:///etc/hostname)")
    return bench


@pytest.fixture(scope="module")
def closed(bench: Bench) -> Closing:
    """A closed axle with a concession, whose scope is hostile too."""
    axle = bench.axle()
    visit = bench.begin(axle, 10)
    bench.enter(visit, "10.1", "3.0636", position="A")
    (tag,) = bench.enter(visit, "10.1", "3.0638", position="B").reacted.tags
    scope, agreed = f"@import 'http://127.0.0.1:9/y.css'; {HOSTILE}", Agreement("A", shop_day(bench.now), "letter")
    by, now, grant = bench.people["eve"], bench.later(minutes=1), bench.grant("eve", "released")
    decide(tag=tag, decided=Decided("use_as_is", HOSTILE, scope, agreed), grant=grant, by=by, now=now)
    bench.sign(visit)
    visit = bench.begin(axle, 20)
    for position in "123":
        bench.enter(visit, "20.1", "105", position=position)
    bench.fit(visit)
    bench.held(bench.sign(visit))
    visit = bench.begin(axle, 30, "cy")
    bench.enter(visit, "30.1", "yes", "cy")
    bench.sign(visit, "cy")
    return close_axle(axle=Axle.objects.get(pk=axle.pk), by=bench.people["cy"], now=bench.later(minutes=1))


@pytest.fixture(scope="module")
def signed(bench: Bench, closed: Closing) -> Signature:
    by, now, grant = bench.people["quinn"], bench.later(minutes=1), bench.grant("quinn", "released")
    return certify(closing=closed, grant=grant, by=by, now=now).signature


@contextmanager
def privileged() -> Iterator[None]:
    """Past every guard. PostgreSQL lays a table's guards aside only when none of its checks is still to come."""
    connection.check_constraints()
    with triggers.lifted("default"):
        yield
        connection.check_constraints()


def issue(closed: Closing, signed: Signature) -> bytes:
    """As the job makes it: everything read anew."""
    row = Closing.objects.select_related("axle__item").get(pk=closed.pk)
    return render_issue(row, 1, "A4", Signature.objects.select_related("person").get(pk=signed.pk))


def change(model: type[models.Model], signer: int) -> int:
    """Change every column of every row that the database's own conditions let be changed; how many columns were."""
    changed = 0
    for field in model._meta.concrete_fields:
        new = _other(field)
        if new is None:
            continue
        but = f" WHERE {model._meta.pk.column} <> {signer}" if model._meta.label == "shop.Person" else ""
        try:
            with transaction.atomic(), connection.cursor() as cursor:
                cursor.execute(f'UPDATE "{model._meta.db_table}" SET "{field.column}" = {new}{but}')
                changed += cursor.rowcount > 0
        except DatabaseError:
            continue
    return changed


def _other(field: models.Field[Any, Any]) -> str | None:
    """Another value for the column, as SQL; keys are left, for nothing would hang together any more."""
    column = f'"{field.column}"'
    if field.primary_key or field.is_relation:
        return None
    if field.choices:
        return f"'{list(field.choices)[-1][0]}'" if isinstance(field, models.CharField) else None
    if isinstance(field, models.CharField | models.TextField):
        return f"{column} || '~'"
    if isinstance(field, models.BooleanField):
        return f"NOT {column}"
    if isinstance(field, models.IntegerField) or "Exact" in type(field).__name__:
        return f"{column} + 1"
    if isinstance(field, models.DateField):
        return "'2001-02-03 04:05:06'"
    if isinstance(field, models.JSONField):
        return "'{}'"
    return None


def test_every_live_row_is_changed_and_the_issue_stays_the_same(closed: Closing, signed: Signature) -> None:
    before = issue(closed, signed)
    untouched = []
    with privileged():
        for model in recorded_models():
            if model not in ITS_OWN and model.objects.exists() and not change(model, signed.person_id):  # type: ignore[attr-defined]
                untouched.append(model._meta.label)
    keys_only = ["builds.OperationCharacteristic", "builds.VisitSheet", "measurements.ReadingInput"]
    assert sorted(untouched) == keys_only
    assert Reading.objects.filter(typed__endswith="~").count() == Reading.objects.count() > 0
    assert issue(closed, signed) == before


def test_control_the_record_made_from_the_live_rows_would_be_another(closed: Closing) -> None:
    axle = Axle.objects.get(pk=closed.axle_id)
    before = chain.canonical(full_record(axle, closed.closed_at))
    with privileged():
        Reading.objects.filter(characteristic__code="20.1").update(typed="106~")
    assert chain.canonical(full_record(axle, closed.closed_at)) != before


def test_what_was_written_into_a_name_or_a_note_is_printed_and_not_fetched(
    closed: Closing, signed: Signature, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[str] = []
    real = pdf_module.ClosedFetcher.fetch

    def noted(self: Any, url: str, headers: Any = None) -> Any:
        asked.append(url)
        return real(self, url, headers)

    monkeypatch.setattr(pdf_module.ClosedFetcher, "fetch", noted)
    text = "".join(text_of_pdf(issue(closed, signed)).split())
    assert "".join(HOSTILE.split()) in text
    assert "@import'http://127.0.0.1:9/y.css'" in text
    assert "root:" not in text
    assert [url for url in asked if not url.startswith("axlebook:")] == []


def test_control_the_same_reference_unescaped_would_be_asked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[str] = []

    def noted(self: Any, url: str, headers: Any = None) -> Any:
        asked.append(url)
        raise pdf_module.Refused(url)

    monkeypatch.setattr(pdf_module.ClosedFetcher, "fetch", noted)
    pdf = pdf_module.render_pdf(f"<p>{HOSTILE}</p>")
    assert "file:///etc/passwd" in asked
    assert "root:" not in text_of_pdf(pdf)
