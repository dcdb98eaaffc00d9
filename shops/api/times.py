"""Times of what has happened: they cannot lie ahead."""

from datetime import datetime, timedelta

from shops.domain.errors import BadInput, FieldProblem

CLOCK_SKEW = timedelta(minutes=5)


def refuse_future(time: datetime, now: datetime, pointer: str) -> None:
    """Raises BadInput for a time further ahead than clocks differ."""
    if time > now + CLOCK_SKEW:
        detail = "This is in the future."
        raise BadInput(problems=[FieldProblem(pointer, detail, "Send when it happened.")])
