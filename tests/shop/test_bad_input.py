"""Every form of the shop's own pages against senseless input."""

from __future__ import annotations

from itertools import product

import pytest
from django.test import Client
from django.urls import reverse

from shop.actions import partners, people, skills
from shop.actions.skills import Qualification
from shop.models import Role, RoleHeld, SignIn
from shop.record.who import SYSTEM
from tests import bad_input, factories

pytestmark = pytest.mark.django_db

# Values that a field may well take: they are someone's business, not nonsense.
TEXTS = tuple(
    value
    for value in bad_input.SENSELESS
    if value.strip() and len(value) <= 40 and value.isprintable() and "\ud800" not in value
)
DAYS_LEFT_EMPTY = ("", " ")


def harmless(fields: dict[str, tuple[str, ...]]) -> list[tuple[str, str]]:
    return [pair for name, values in fields.items() for pair in product([name], values)]


FORMS = {
    "people": ([], {"code": "noor", "name": "Noor"}, {"name": TEXTS}),
    "role_give": (
        ["rusk"],
        {"role": "welder", "valid_from": "2025-01-10", "valid_until": "2025-02-10"},
        {"valid_from": DAYS_LEFT_EMPTY, "valid_until": DAYS_LEFT_EMPTY},
    ),
    "skill_give": (
        ["rusk"],
        {
            "process": "arc",
            "valid_from": "2025-01-10",
            "valid_until": "2025-02-10",
            "continuity_months": "6",
            "source": "test",
        },
        {
            "process": TEXTS,
            "valid_until": DAYS_LEFT_EMPTY,
            "continuity_months": DAYS_LEFT_EMPTY,
            "source": (*TEXTS, *DAYS_LEFT_EMPTY),
        },
    ),
    "pin_set": (["rusk"], {"new_pin": "314159", "again": "314159"}, {}),
    "password_set": (["rusk"], {"new_password": "nine copper rivets", "again": "nine copper rivets"}, {}),
    "badge_revoke": (["rusk"], {"reason": "lost"}, {"reason": TEXTS}),
    "station_add": ([], {"code": "WASH", "name": "Wash", "order": "4"}, {"name": TEXTS, "order": ("0",)}),
    "terminal_register": ([], {"code": "T-7", "station": "1"}, {}),
    "terminal_revoke": (["T-1"], {"reason": "sold"}, {"reason": TEXTS}),
    "shift_set": ([], {"name": "early", "starts": "06:00", "ends": "14:00"}, {"name": TEXTS}),
    "customer_add": (
        [],
        {"code": "LRR", "name": "Lumen Ridge", "address": "1 Ridge", "paper": "A4"},
        {"name": TEXTS, "address": (*TEXTS, *DAYS_LEFT_EMPTY, bad_input.LONG_FIGURE)},
    ),
    "customer": (
        ["VH"],
        {"name": "Vetch", "address": "1 Ridge", "paper": "A4"},
        {"name": TEXTS, "address": (*TEXTS, *DAYS_LEFT_EMPTY, bad_input.LONG_FIGURE)},
    ),
    "supplier_add": ([], {"code": "PB", "name": "Pellanby"}, {"name": TEXTS}),
    "my_pin": ([], {"pin": factories.PIN, "new_pin": "314159", "again": "314159"}, {}),
}
#: A code of one letter or digit is short, not senseless.
SHORT_CODES = {"station_add", "terminal_register", "customer_add", "supplier_add"}


@pytest.fixture
def client() -> Client:
    dovie = factories.person("dovie", Role.MANAGER)
    rusk = factories.person("rusk", badge="RUSKBADGE22")
    factories.terminal("T-1")
    partners.add_customer(code="VH", name="Vetch & Harrow", by=SYSTEM)
    assert dovie.pk != rusk.pk
    return factories.signed_in_client(dovie)


@pytest.mark.parametrize("name", FORMS)
def test_senseless_input_changes_nothing_and_breaks_nothing(client: Client, name: str) -> None:
    args, fields, may = FORMS[name]
    allowed = harmless(may)  # type: ignore[arg-type]
    if name == "people":
        allowed += [("code", "NaN"), ("code", "Infinity")]
    if name in SHORT_CODES:
        allowed += [
            ("code", value)
            for value in ("0", "12abc", "NaN", "Infinity", "1e309", "9999-12-31", "0001-01-01", "2025-02-30")
        ]
    posted = bad_input.check(client, reverse(name, args=args), fields, harmless=allowed)  # type: ignore[arg-type]
    assert posted >= 8


@pytest.mark.parametrize("name", FORMS)
def test_a_form_without_its_key_changes_nothing(client: Client, name: str) -> None:
    args, fields, _ = FORMS[name]
    bad_input.check_key(client, reverse(name, args=args), fields)  # type: ignore[arg-type]


@pytest.mark.parametrize("name", FORMS)
def test_control_the_same_form_filled_in_right_is_taken(client: Client, name: str) -> None:
    args, fields, _ = FORMS[name]
    if name == "terminal_register":
        fields = fields | {"station": str(factories.station().pk)}  # type: ignore[operator]
    answer = client.post(reverse(name, args=args), factories.with_key(**fields))  # type: ignore[arg-type]
    assert answer.status_code == 303


def test_forms_without_fields_need_their_key_as_well(client: Client) -> None:
    rusk = people.Person.objects.get(code="rusk")
    people.give_role(person=rusk, role=Role.WELDER, by=SYSTEM)
    skill = skills.give_skill(person=rusk, skill=Qualification("arc", factories.LONG_AGO), by=SYSTEM)
    held = RoleHeld.objects.get(person=rusk)
    bad_input.check_key(client, reverse("role_end", args=["rusk", held.pk]), {})
    bad_input.check_key(client, reverse("skill_end", args=["rusk", skill.pk]), {"reason": "x"})
    bad_input.check_key(client, reverse("badge_issue", args=["rusk"]), {})
    bad_input.check_key(client, reverse("retire", args=["rusk"]), {})


@pytest.mark.parametrize(
    ("name", "fields"),
    [
        ("sign_in", {"scan": "X"}),
        ("sign_in_pin", {"held": "X", "pin": "1"}),
        ("office_sign_in", {"code": "rusk", "password": "X", "next": "/", "draft": ""}),
        ("theme", {"theme": "light", "next": "/"}),
    ],
)
def test_senseless_sign_ins_open_nothing(client: Client, name: str, fields: dict[str, str]) -> None:
    stranger = factories.terminal_client(factories.terminal("T-2"))
    before = SignIn.objects.count()
    bad_input.check(stranger, reverse(name), fields)
    assert SignIn.objects.count() == before
