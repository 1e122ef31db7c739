"""What the house says when it does not do what was asked: one plain sentence for the person who meets it."""


class Refusal(Exception):
    """Nothing was saved. The text says what was refused, where, and what to do now."""

    status = 422

    def __init__(self, text: str, *, field: str = "", where: str = "") -> None:
        super().__init__(text)
        self.text = text
        self.field = field
        self.where = where


class Conflict(Refusal):
    """Somebody else is at work there, or the state has moved on; trying again may succeed."""

    status = 409
