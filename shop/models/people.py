"""People, their badges, the roles they hold and the processes they are qualified for.

Nobody is deleted and no code is used twice: a reading from years ago must still name its person.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.db.models import Q

from shop.models.calendar import months_later
from shop.models.prepared import Blank


class Role(models.TextChoices):
    RECEIVER = "receiver", "receiving and kits"
    TUBE_PREP = "tube_prep", "tube prep"
    WELDER = "welder", "welder"
    PAINTER = "painter", "wash and paint"
    ASSEMBLER = "assembler", "assembler"
    HUB_BENCH = "hub_bench", "hub bench"
    INSPECTOR = "inspector", "inspector"
    LEAD_BUILDER = "lead_builder", "lead builder"
    ENGINEER = "engineer", "engineer"
    MANAGER = "manager", "manager"
    OFFICE = "office", "office and warranty"
    SHIPPER = "shipper", "shipper"
    QUALITY = "quality", "quality"


class PersonQuerySet(models.QuerySet["Person"]):
    def working(self) -> PersonQuerySet:
        return self.filter(retired_at=None)


class PersonManager(BaseUserManager["Person"]):
    def get_queryset(self) -> PersonQuerySet:
        return PersonQuerySet(self.model, using=self._db)

    def working(self) -> PersonQuerySet:
        return self.get_queryset().working()


class Person(AbstractBaseUser):
    """The user model. `password` is for office log-in, `pin_hash` for signatures at a terminal."""

    code = models.CharField(max_length=20, unique=True)
    name = models.CharField(max_length=80)
    retired_at = models.DateTimeField(null=True, blank=True)
    pin_hash = models.CharField(max_length=200, blank=True, default="")

    USERNAME_FIELD = "code"
    REQUIRED_FIELDS: ClassVar[list[str]] = ["name"]
    unrecorded = ("password", "last_login", "pin_hash")

    objects = PersonManager()

    class Meta:
        ordering: ClassVar[list[str]] = ["code"]

    def __str__(self) -> str:
        return self.name

    @property
    def is_active(self) -> bool:  # type: ignore[override]
        return self.retired_at is None

    @property
    def short_name(self) -> str:
        """What stands beside a reading on a page."""
        return short_name(self.name)


def short_name(name: str) -> str:
    """Rusk A."""
    first, _, last = name.partition(" ")
    return f"{first} {last[0]}." if last else first


class Badge(models.Model):
    """What is scanned to say who is there. Only a keyed hash of its code is kept."""

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="badges")
    code_hash = models.CharField(max_length=64, unique=True)
    issued_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["person"], condition=Q(revoked_at=None), name="badge_one_open_per_person")
        ]


class HeldQuerySet(models.QuerySet["RoleHeld"]):
    def on(self, day: date | Blank) -> HeldQuerySet:
        return self.filter(Q(valid_until=None) | Q(valid_until__gt=day), valid_from__lte=day)


class RoleHeld(models.Model):
    """A person holds a role from a day up to, not including, another."""

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="roles", db_index=False)
    role = models.CharField(max_length=20, choices=Role)
    valid_from = models.DateField()
    valid_until = models.DateField(null=True, blank=True)

    objects = HeldQuerySet.as_manager()

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["person", "role", "valid_from"], name="role_held_once_from_a_day"),
            models.CheckConstraint(
                condition=Q(valid_until=None) | Q(valid_until__gt=models.F("valid_from")),
                name="role_held_until_after_from",
            ),
        ]


class SkillQuerySet(models.QuerySet["Skill"]):
    def on(self, day: date) -> SkillQuerySet:
        return self.filter(Q(valid_until=None) | Q(valid_until__gt=day), valid_from__lte=day)


class Skill(models.Model):
    """A qualification for a process (a weld process, second inspector ...), with continuity where it lapses.

    `continuity_months`: the skill is valid up to, not including, the last use plus so many calendar months
    (house rule on the safe side of "exceeding six months"); empty: it does not lapse by disuse.
    """

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="skills", db_index=False)
    process = models.CharField(max_length=40)
    valid_from = models.DateField()
    valid_until = models.DateField(null=True, blank=True)
    continuity_months = models.PositiveSmallIntegerField(null=True, blank=True)
    source = models.CharField(max_length=200, blank=True, default="")

    objects = SkillQuerySet.as_manager()

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["person", "process", "valid_from"], name="skill_once_from_a_day"),
            models.CheckConstraint(
                condition=Q(valid_until=None) | Q(valid_until__gt=models.F("valid_from")),
                name="skill_until_after_from",
            ),
        ]

    def lapses_on(self, uses: Iterable[date]) -> date | None:
        """First day on which the skill is no longer valid; None when it never lapses.

        The days of use come in their order. One that came after this qualification had lapsed (under a later
        qualification, say) does not bring it back to life.
        """
        ends = []
        if self.continuity_months is not None:
            lapses = months_later(self.valid_from, self.continuity_months)
            for use in uses:
                if self.valid_from <= use < lapses:
                    lapses = months_later(use, self.continuity_months)
            ends.append(lapses)
        if self.valid_until is not None:
            ends.append(self.valid_until)
        return min(ends) if ends else None


class SkillUse(models.Model):
    """A day on which a person used a process. Work done while lapsed or entered late leaves none."""

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="skill_uses", db_index=False)
    process = models.CharField(max_length=40)
    on = models.DateField()
    source = models.CharField(max_length=120, blank=True, default="")

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["person", "process", "on"], name="skill_use_once_a_day")
        ]


class SignInTry(models.Model):
    """A wrong or right PIN or password, for throttling. Outside the ledger."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, null=True, db_index=False)
    terminal = models.ForeignKey("shop.Terminal", on_delete=models.CASCADE, null=True, db_index=False)
    at = models.DateTimeField()
    good = models.BooleanField()
    recorded = False

    class Meta:
        indexes: ClassVar[list[models.Index]] = [
            models.Index(fields=["person", "at"], name="sign_in_try_person_at"),
            models.Index(fields=["terminal", "at"], name="sign_in_try_terminal_at"),
        ]


class SignInQuerySet(models.QuerySet["SignIn"]):
    def standing(self) -> SignInQuerySet:
        return self.filter(ended_at=None)


class SignIn(models.Model):
    """A person at a terminal or a desk, from signing in to leaving. Outside the ledger.

    The browser holds a random token, this row only its hash, so that a sign-in can be ended here at once.
    When a key was last touched stands in the browser's signed cookie, so looking writes nothing.
    """

    token_hash = models.CharField(max_length=64, unique=True)
    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="sign_ins")
    terminal = models.ForeignKey("shop.Terminal", on_delete=models.CASCADE, null=True, related_name="sign_ins")
    begun_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    recorded = False

    objects = SignInQuerySet.as_manager()

    class Meta:
        indexes: ClassVar[list[models.Index]] = [
            models.Index(fields=["person"], condition=Q(ended_at=None), name="sign_in_standing")
        ]
