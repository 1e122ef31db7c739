from shop.models.finding import find_item
from shop.models.items import (
    Drum,
    Heat,
    HeatStatus,
    Item,
    ItemKind,
    Lot,
    Part,
    PartKind,
    Piece,
    Place,
    Tracking,
    Where,
)
from shop.models.partners import Customer, Paper, Supplier
from shop.models.people import Badge, Person, Role, RoleHeld, SignIn, SignInTry, Skill, SkillUse
from shop.models.stations import Shift, Station, Terminal, shift_start

__all__ = [
    "Badge",
    "Customer",
    "Drum",
    "Heat",
    "HeatStatus",
    "Item",
    "ItemKind",
    "Lot",
    "Paper",
    "Part",
    "PartKind",
    "Person",
    "Piece",
    "Place",
    "Role",
    "RoleHeld",
    "Shift",
    "SignIn",
    "SignInTry",
    "Skill",
    "SkillUse",
    "Station",
    "Supplier",
    "Terminal",
    "Tracking",
    "Where",
    "find_item",
    "shift_start",
]
