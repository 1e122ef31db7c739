"""Senseless input for every form: no answer is a 500, and the database is left as it was.

    bad_input.check(client, reverse("role_give", args=["rusk"]), {"role": "welder", "valid_from": ""})

posts the form once for every field and every senseless value, each time with the other fields as given.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from urllib.parse import urlencode

from django.apps import apps
from django.db import connection, models
from django.test import Client

from shop.models import SignIn, SignInTry
from tests.factories import with_key

LONG_FIGURE = "-9" + "9" * 400
SENSELESS = (
    "",
    " ",
    "0",
    "-1",
    "nothing like it",
    "3,0652",
    "1,234.5",
    "12abc",
    "9" * 40,
    LONG_FIGURE,
    "1e309",
    "NaN",
    "Infinity",
    "x" * 5000,
    "\x00",
    "a\x00b",
    "😀",
    "\u202eevil\u200b",
    "\ud800",
    "'; DROP TABLE shop_person; --",
    "<script>alert(1)</script>",
    "{{ 7|add:7 }}",
    "../../etc/passwd",
    "~A:TBK-25-9999-X",
    "~Z:9",
    "[)>\x1e06\x1dSNOBODY\x1e\x04",
    "9999-12-31",
    "0001-01-01",
    "2025-02-30",
    "25:61",
)
FORM = "application/x-www-form-urlencoded"
#: Who signed in and which PINs were tried stand outside the record and may change.
NOT_COUNTED = (SignIn, SignInTry)


def check(client: Client, url: str, fields: Mapping[str, str], *, harmless: Collection[tuple[str, str]] = ()) -> int:
    """Post every senseless value in every field; `harmless` (field, value) pairs may be accepted."""
    posted, before = 0, everything()
    for name, value in cases(fields):
        if (name, value) in harmless:
            continue
        answer = client.post(url, body({**fields, name: value}), content_type=FORM)
        assert answer.status_code < 500, f"{url} broke on {name}={value[:40]!r}"
        assert everything() == before, f"{url} stored {name}={value[:40]!r} (answer {answer.status_code})"
        posted += 1
    return posted


def check_key(client: Client, url: str, fields: Mapping[str, str]) -> None:
    """Without its key, or with nonsense for one, a form changes nothing and says so."""
    for key in (None, "", "0", "nonsense", "\x00", "😀"):
        before = everything()
        answer = client.post(url, {**fields} if key is None else {**fields, "submission": key})
        assert answer.status_code in (400, 422)
        assert everything() == before


def cases(fields: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    for name in fields:
        for value in SENSELESS:
            if value != fields[name]:
                yield name, value


def tallies() -> dict[str, int]:
    """How many rows each table of ours has: cheap enough to be asked after every press."""
    tables = [
        model._meta.db_table
        for label in ("shop", "record", "measurements", "builds")
        for model in apps.get_app_config(label).get_models()
        if model not in NOT_COUNTED
    ]
    with connection.cursor() as cursor:
        cursor.execute(" UNION ALL ".join(f"SELECT '{name}', COUNT(*) FROM {name}" for name in tables))
        return dict(cursor.fetchall())


def body(fields: Mapping[str, str]) -> str:
    """Written by hand: the test client would not send what no browser can."""
    return urlencode(with_key(**fields), errors="surrogatepass")


def everything() -> dict[str, list[tuple[object, ...]]]:
    """Every row of every table of ours, so that nothing can change unseen."""
    return {
        model._meta.label: sorted(_rows(model), key=repr)
        for label in ("shop", "record", "measurements", "builds")
        for model in apps.get_app_config(label).get_models()
        if model not in NOT_COUNTED
    }


def _rows(model: type[models.Model]) -> list[tuple[object, ...]]:
    return [
        tuple(bytes(value) if isinstance(value, memoryview) else value for value in row)
        for row in model._base_manager.values_list()
    ]
