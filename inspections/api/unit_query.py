"""The reader's unit, as a parameter."""

from typing import Any

from rest_framework import serializers

from inspections.domain.quantities import QuantityError, required_unit
from shops.api.bodies import Body


class UnitName(serializers.CharField):
    """A unit known here, by its symbol or another spelling; its symbol comes out."""

    default_error_messages = {"unknown_unit": "{message}"}

    def to_internal_value(self, data: Any) -> str:
        if not isinstance(data, str):
            self.fail("invalid")
        try:
            return required_unit(data).symbol
        except QuantityError as error:
            self.fail("unknown_unit", message=error.message)


class UnitQuery(Body):
    unit = UnitName(
        required=False,
        max_length=16,
        help_text="The reader's unit, such as mm: what measures the same thing is shown in it.",
    )
