"""A key claimed once: the same press again gets the same answer, another body is refused."""

from __future__ import annotations

import uuid
from datetime import UTC, datetime
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from shop.record.models import Submission
from shop.record.submission import OtherBody, earlier, fingerprint, keep, new_key, read_key
from shop.record.who import Who

KEY = uuid.UUID("8b1f4a52-6a0e-4d0c-9a55-0a2f5d1f3c77")
NOW = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)
BODY = {"value": ["4.127"], "gauge": ["G-014"]}


def mark(who: Who, path: str = "/readings/", **changed: str) -> bytes:
    body = BODY | {name: [value] for name, value in changed.items()}
    return fingerprint("POST", path, body.items(), by=who)


def press(who: Who, made: bytes) -> object:
    before = earlier(KEY, made)
    if before is not None:
        return before.result
    with transaction.atomic():
        keep(KEY, made, {"reading": 7}, by=who, now=NOW)
    return "entered"


def test_the_second_press_gets_the_first_ones_answer(who: Who) -> None:
    assert press(who, mark(who)) == "entered"
    assert press(who, mark(who)) == {"reading": 7}
    assert Submission.objects.count() == 1


def test_the_same_key_with_another_body_is_refused_with_422(who: Who) -> None:
    press(who, mark(who))
    with pytest.raises(OtherBody, match="already sent") as refused:
        press(who, mark(who, value="4.128"))
    assert refused.value.status == 422


def press_and_fail(who: Who) -> None:
    with transaction.atomic():
        keep(KEY, mark(who), {"reading": 7}, by=who, now=NOW)
        raise ZeroDivisionError


def test_a_refused_act_leaves_the_key_free(who: Who) -> None:
    with pytest.raises(ZeroDivisionError):
        press_and_fail(who)
    assert earlier(KEY, mark(who)) is None
    assert press(who, mark(who)) == "entered"


@pytest.mark.parametrize("name", ["csrfmiddlewaretoken", "submission", "pin", "password"])
def test_tokens_and_secrets_are_no_part_of_the_fingerprint(who: Who, name: str) -> None:
    assert mark(who, **{name: "123456"}) == mark(who) == mark(who, **{name: "654321"})


@pytest.mark.parametrize("name", ["new_pin", "new_password"])
def test_a_new_secret_counts_by_a_keyed_digest_of_its_own_form(who: Who, settings: Any, name: str) -> None:
    """Under another key of the shop, or in another form, the same secret leaves another mark."""
    one = mark(who, submission="a", **{name: "314159"})
    assert one == mark(who, submission="a", **{name: "314159"})
    assert one != mark(who, submission="a", **{name: "161803"})
    assert one != mark(who, submission="b", **{name: "314159"})
    settings.SECRET_KEY = "another shop's"
    assert one != mark(who, submission="a", **{name: "314159"})


def test_everything_else_is_part_of_it(who: Who) -> None:
    other = Who(None)
    assert len({mark(who), mark(who, value="4.1270"), mark(who, extra=""), mark(who, "/other/"), mark(other)}) == 5


def test_files_count_by_their_digests(who: Who) -> None:
    one = fingerprint("POST", "/f/", BODY.items(), by=who, files=[("certificate", ["aa"])])
    two = fingerprint("POST", "/f/", BODY.items(), by=who, files=[("certificate", ["ab"])])
    assert one != two


def test_the_order_of_fields_and_the_form_of_letters_do_not_matter(who: Who) -> None:
    turned = fingerprint("POST", "/readings/", reversed(BODY.items()), by=who)
    assert turned == mark(who)
    assert mark(who, note="e\u0301") == mark(who, note="\u00e9")


def test_a_key_is_kept_once(who: Who) -> None:
    press(who, mark(who))
    with pytest.raises(IntegrityError), transaction.atomic():
        keep(KEY, mark(who), {"reading": 8}, by=who, now=NOW)
    before = earlier(KEY, mark(who))
    assert before is not None
    assert before.result == {"reading": 7}


def test_keys_are_new_each_time_and_read_strictly() -> None:
    assert new_key() != new_key()
    assert read_key(str(KEY)) == KEY
    assert read_key("") is None
    assert read_key("not a key") is None
