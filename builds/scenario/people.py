"""The invented shop's people, terminals, partners and shifts. Everything here is made up and for the demo only."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time

from shop.actions.partners import add_customer, add_supplier
from shop.actions.people import engage, give_role, issue_badge, set_password, set_pin
from shop.actions.skills import Qualification, give_skill
from shop.actions.stations import register_terminal, set_shift
from shop.models import Paper, Person, Role, Station, Terminal
from shop.record.who import SYSTEM

#: code, name, roles
PEOPLE: tuple[tuple[str, str, tuple[Role, ...]], ...] = (
    ("ingrith", "Ingrith Solvaag", (Role.LEAD_BUILDER, Role.QUALITY)),
    ("dovie", "Dovie Marchbank", (Role.MANAGER,)),
    ("wenzel", "Wenzel Orbach", (Role.ENGINEER, Role.INSPECTOR)),
    ("calla", "Calla Brightnell", (Role.INSPECTOR,)),
    ("jory", "Jory Quistmore", (Role.RECEIVER, Role.SHIPPER)),
    ("tam", "Tam Ferrowby", (Role.TUBE_PREP,)),
    ("isolde", "Isolde Krantzke", (Role.WELDER,)),
    ("bram", "Bram Ottelow", (Role.WELDER,)),
    ("pia", "Pia Venneker", (Role.PAINTER,)),
    ("rusk", "Rusk Adeholm", (Role.ASSEMBLER,)),
    ("noor", "Noor Estevane", (Role.HUB_BENCH, Role.ASSEMBLER)),
    ("mirelle", "Mirelle Tosk", (Role.OFFICE,)),
)
CUSTOMERS = (
    ("LRRC", "Lumen Ridge Rescue Cooperative", Paper.A4),
    ("HPTG", "Hollow Pine Trailer Guild", Paper.LETTER),
    ("VHEH", "Vetch & Harrow Expedition Hire", Paper.A4),
    ("SRA", "Saltmarsh Relief Ambulance", Paper.A4),
)
SUPPLIERS = (
    ("QTM", "Quernmoss Tube Mill"),
    ("AGF", "Ashgrommet Gear Foundry"),
    ("PB", "Pellanby Bearings"),
    ("WL", "Wexcombe Lacquer"),
    ("OW", "Orrinfold Wire"),
)
#: The demo's own log-ins: the same simple pattern for everybody, printed when the demo starts.
PASSWORD = "axle-demo-{code}-2025"
PIN_BASE = 246813


@dataclass(frozen=True)
class LogIn:
    """What the demo prints for one person."""

    code: str
    name: str
    roles: str
    badge: str
    pin: str
    password: str


def log_ins() -> list[LogIn]:
    return [
        LogIn(
            code,
            name,
            ", ".join(role.label for role in roles),
            badge_code(code),
            str(PIN_BASE + 1111 * place),
            PASSWORD.format(code=code),
        )
        for place, (code, name, roles) in enumerate(PEOPLE)
    ]


def badge_code(code: str) -> str:
    return f"TB-{code.upper()}-25"


def engage_all(now: datetime, first_day: date, *, secrets: bool = True) -> dict[str, Person]:
    """Everybody, with badge, PIN, password and roles from the first day on.

    Without `secrets` nobody gets a PIN or password: their hashes are slow on purpose.
    """
    people = {}
    for given, (code, name, roles) in zip(log_ins(), PEOPLE, strict=True):
        person = engage(code=code, name=name, by=SYSTEM, now=now)
        for role in roles:
            give_role(person=person, role=role, by=SYSTEM, valid_from=first_day, now=now)
        issue_badge(person=person, by=SYSTEM, code=given.badge, now=now)
        if secrets:
            set_pin(person=person, pin=given.pin, by=SYSTEM, now=now)
            set_password(person=person, password=given.password, by=SYSTEM, now=now)
        people[code] = person
    return people


def qualify(people: dict[str, Person], now: datetime, welded_since: date, bram_last: date) -> None:
    """Weld processes lapse after six months without use; looking at welds does not lapse."""
    for code, begin in (("isolde", welded_since), ("bram", bram_last)):
        skill = Qualification("gas_metal_arc", begin, None, 6, "welder's test paper (invented)")
        give_skill(person=people[code], skill=skill, by=SYSTEM, now=now)
    for code in ("calla", "wenzel"):
        skill = Qualification("visual_weld_look", welded_since, None, None, "weld inspector's course (invented)")
        give_skill(person=people[code], skill=skill, by=SYSTEM, now=now)


def partners(now: datetime) -> None:
    for code, name, paper in CUSTOMERS:
        add_customer(code=code, name=name, paper=paper, by=SYSTEM, now=now)
    for code, name in SUPPLIERS:
        add_supplier(code=code, name=name, by=SYSTEM, now=now)


def shifts(now: datetime) -> None:
    set_shift(name="early", starts=time(6, 0), ends=time(14, 0), by=SYSTEM, now=now)
    set_shift(name="late", starts=time(14, 0), ends=time(22, 0), by=SYSTEM, now=now)
    set_shift(name="night", starts=time(22, 0), ends=time(6, 0), by=SYSTEM, now=now)


def terminals(now: datetime) -> dict[str, Terminal]:
    """One terminal a station. Their keys are not printed: a browser is registered by a manager."""
    return {
        station.code: register_terminal(code=f"T-{station.code}", station=station, by=SYSTEM, now=now)[0]
        for station in Station.objects.all()
    }
