"""Two at once: chains without a fork, one lock at a time, one entry for one key, one worker for one job.

Each has a control in which the protection is taken away and the fault must show.
"""

from __future__ import annotations

import threading
import uuid
from collections.abc import Iterator
from datetime import datetime
from typing import Any

import pytest
from django.db import connection, transaction
from django.urls import reverse
from django.utils import timezone

from shop.errors import Conflict
from shop.models import Badge, Customer, Item, Person, Role, Supplier
from shop.record import act as act_module
from shop.record import checkpoint, guards, jobs, keys, triggers
from shop.record.act import act
from shop.record.heads import Held
from shop.record.models import Checkpoint, Event, Head, Job, Submission
from shop.record.verify import verify
from shop.record.who import SYSTEM, Who
from tests import factories
from tests.concurrency.threads import LIMIT_S, impatient, together

pytestmark = pytest.mark.django_db(transaction=True)
AXLE = "axle:1"


def enter(count: int, subject: str = AXLE, also: tuple[str, ...] = ()) -> None:
    for _ in range(count):
        with act("reading.entered", subject=subject, by=SYSTEM, also=also) as a:
            a.create(Item, kind="part", mark=uuid.uuid4().hex)


class TestChain:
    def test_many_writers_of_one_subject_leave_one_whole_chain(self) -> None:
        assert together(*[lambda: enter(15)] * 4) == [None] * 4
        assert Head.objects.get().sequence == Event.objects.count() == 60
        assert verify().findings == []

    @pytest.mark.postgresql
    def test_control_without_the_lock_the_chain_would_fork(self, monkeypatch: pytest.MonkeyPatch) -> None:
        enter(1)
        both = threading.Barrier(2)

        def unlocked(subjects: Any) -> dict[str, Held]:
            found = Head.objects.filter(subject__in=list(subjects))
            held = {head.subject: Held(head.subject, head.sequence, bytes(head.hash), head.at) for head in found}
            both.wait(LIMIT_S)
            return held

        monkeypatch.setattr(act_module, "lock_heads", unlocked)
        outcomes = together(lambda: enter(1), lambda: enter(1))
        # The unique key on subject and sequence is the second wall: one of the two is thrown out.
        assert sorted(type(outcome).__name__ for outcome in outcomes) == ["IntegrityError", "NoneType"]

    def test_two_first_writers_of_a_subject_share_its_head(self) -> None:
        for number in range(10):
            assert together(*[lambda name=f"axle:{number}": enter(1, name)] * 2) == [None, None]
        assert verify().findings == []
        assert list(Head.objects.values_list("sequence", flat=True)) == [2] * 10

    def test_subjects_named_in_any_order_never_lock_each_other_out(self) -> None:
        outcomes = together(
            lambda: enter(20, "axle:A", ("axle:B",)),
            lambda: enter(20, "axle:B", ("axle:A",)),
        )
        assert outcomes == [None, None]

    @pytest.mark.postgresql
    def test_a_deadlock_of_inner_acts_is_told_as_a_conflict(self) -> None:
        both = threading.Barrier(2)

        def cross(first: str, second: str) -> None:
            with act("outer", subject=first, by=SYSTEM):
                both.wait(LIMIT_S)
                with act("inner", subject=second, by=SYSTEM):
                    pass

        outcomes = together(lambda: cross("axle:A", "axle:B"), lambda: cross("axle:B", "axle:A"))
        assert sorted(type(outcome).__name__ for outcome in outcomes) == ["Conflict", "NoneType"]
        assert verify().findings == []


class TestLock:
    def hold(self, inside: threading.Event, leave: threading.Event) -> None:
        person = Person.objects.get(code="cal")
        with act("operation.claimed", subject=AXLE, by=Who(person)):
            inside.set()
            leave.wait(LIMIT_S)

    def test_who_waits_too_long_is_told_who_was_there_last(self) -> None:
        with act("person.added", subject="person:cal", by=SYSTEM) as a:
            person = a.create(Person, code="cal", name="Cal Tester")
        with act("operation.claimed", subject=AXLE, by=Who(person)):
            pass
        inside, leave = threading.Event(), threading.Event()

        def wait() -> None:
            inside.wait(LIMIT_S)
            impatient()
            try:
                enter(1)
            finally:
                leave.set()

        _, refused = together(lambda: self.hold(inside, leave), wait)
        assert isinstance(refused, Conflict)
        assert refused.status == 409
        assert "at work on axle:1" in refused.text
        assert "by Cal Tester, " in refused.text
        assert Item.objects.count() == 0

    @pytest.mark.postgresql
    def test_control_another_subject_is_not_kept_waiting(self) -> None:
        with act("person.added", subject="person:cal", by=SYSTEM) as a:
            a.create(Person, code="cal", name="Cal Tester")
        inside, leave = threading.Event(), threading.Event()

        def go_on() -> None:
            inside.wait(LIMIT_S)
            impatient()
            enter(1, "axle:2")
            leave.set()

        assert together(lambda: self.hold(inside, leave), go_on) == [None, None]


class TestSubmission:
    """A manager presses "Issue a new badge" twice in the same instant, through the view and `accept`."""

    def press(self, *keys: str) -> list[int]:
        manager = factories.person("dovie", Role.MANAGER)
        clients = [factories.signed_in_client(manager) for _ in keys]
        url = reverse("badge_issue", args=["dovie"])
        outcomes = together(
            *[
                lambda client=client, key=key: client.post(url, {"submission": key}).status_code
                for client, key in zip(clients, keys, strict=True)
            ]
        )
        return sorted(outcomes)

    def test_a_double_press_makes_one_entry_and_both_are_answered(self) -> None:
        key = str(uuid.uuid4())
        # 200 shows the new badge's code; the other answer leads to the person's page.
        assert self.press(key, key) == [200, 303]
        assert Badge.objects.count() == Event.objects.filter(kind="badge.issued").count() == 1
        assert Submission.objects.get().pk == uuid.UUID(key)

    def test_control_with_keys_of_their_own_there_are_two(self) -> None:
        self.press(str(uuid.uuid4()), str(uuid.uuid4()))
        assert Badge.objects.count() == Event.objects.filter(kind="badge.issued").count() == 2


@pytest.mark.postgresql
class TestClosing:
    """Suppliers stand for the rows of an axle; the customer of the same code is the axle, closed when its
    address says so. The guard's condition reads the customer; its lock holds the customer."""

    CLOSED = "EXISTS (SELECT 1 FROM shop_customer c WHERE c.code = {row}.code AND c.address = 'closed')"
    LOCK = "SELECT 1 FROM shop_customer c WHERE c.code = {row}.code FOR SHARE"

    @pytest.fixture
    def guarded(self, request: pytest.FixtureRequest) -> Iterator[None]:
        guard = guards.Guard(
            "shop.Supplier",
            name="test_closing",
            says="it is closed",
            insert=self.CLOSED.replace("{row}", "NEW"),
            lock=request.param,
        )
        (trigger,) = triggers.wanted(connection, [guard]).values()
        with connection.cursor() as cursor:
            for text in trigger.make:
                cursor.execute(text)
        yield
        triggers.install("default")  # not declared, so it is taken away

    def race(self) -> Any:
        Customer.objects.create(code="A", name="a")
        closing, waiting = threading.Event(), threading.Event()

        def close() -> None:
            with transaction.atomic():
                Customer.objects.filter(code="A").update(address="closed")
                closing.set()
                waiting.wait(1)

        def add() -> None:
            closing.wait(LIMIT_S)
            Supplier.objects.create(code="A", name="late")
            waiting.set()

        return together(close, add)[1]

    @pytest.mark.parametrize("guarded", [LOCK], indirect=True)
    def test_what_is_added_during_a_closing_waits_and_is_refused(self, guarded: None) -> None:
        assert "it is closed" in str(self.race())
        assert Supplier.objects.count() == 0

    @pytest.mark.parametrize("guarded", [""], indirect=True)
    def test_control_without_the_shared_lock_it_slips_in(self, guarded: None) -> None:
        assert self.race() is None
        assert Supplier.objects.count() == 1


class TestJobs:
    @pytest.fixture(autouse=True)
    def ran(self, monkeypatch: pytest.MonkeyPatch) -> list[int]:
        seen: list[int] = []
        monkeypatch.setattr(jobs, "_handlers", {"test": lambda work: seen.append(work.job_id)})
        return seen

    def test_two_workers_with_one_job_run_it_once(self, ran: list[int]) -> None:
        now = timezone.now()
        for number in range(15):
            jobs.ask("test", key=str(number), argument={}, now=now)
        ids = list(Job.objects.values_list("pk", flat=True))

        def work() -> list[str]:
            return [jobs.run_job(job_id) for job_id in ids]

        one, two = together(work, work)
        assert sorted(ran) == sorted(ids)
        assert [sorted(pair) for pair in zip(one, two, strict=True)] == [["done", "not ours"]] * 15

    def test_control_reading_before_claiming_runs_it_twice(self, ran: list[int]) -> None:
        jobs.ask("test", key="k", argument={}, now=timezone.now())
        both = threading.Barrier(2)

        def naive() -> None:
            job = Job.objects.get()
            both.wait(LIMIT_S)
            if job.state == Job.State.WAITING:
                ran.append(job.pk)

        together(naive, naive)
        assert len(ran) == 2


class TestCheckpoint:
    def test_two_at_once_sign_one_tree(self, settings: Any, tmp_path: Any) -> None:
        settings.KEYS_DIR = tmp_path
        keys.make_key("ledger", by=SYSTEM)
        enter(5)
        outcomes = together(checkpoint.sign_checkpoint, checkpoint.sign_checkpoint, lambda: enter(5))
        assert not [outcome for outcome in outcomes if isinstance(outcome, Exception)]
        checkpoint.sign_checkpoint()
        assert Checkpoint.objects.latest("size").size == Event.objects.count() == 12
        assert verify().findings == []


def test_time_never_runs_backwards_in_a_chain() -> None:
    together(*[lambda: enter(15)] * 3)
    times: list[datetime] = list(Event.objects.order_by("sequence").values_list("at", flat=True))
    assert times == sorted(times)
