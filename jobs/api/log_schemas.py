"""What the log's addresses take and answer, and the examples of both."""

from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter
from rest_framework import serializers

from jobs.domain.log_leaf import LOGGED_TABLES
from shops.api.bodies import Body
from shops.api.fields import Choice, Identifier, Whole

BIGGEST = 2**63 - 1
MOST_LEAVES = 1000

NOTE = (
    "rebuild-record/brindlewick\n3\nsTCK1jPjBXSRC4nj5eaS0tP4dxDPiwtOJMtsbynbhA8=\n\n— rebuild-record/brindlewick "
    "C/iWKSrIFsCWD8ezvaLIB23jHeoA4pHRLB6IjkSCM7Dru/0K0UqBU4zb5OlV/NTmgsWdpedeAMCdibgYQGQ8+b3q+wY=\n"
)
ROOT = "b1308ad633e30574910b89e3e5e692d2d3f87710cf8b0b4e24cb6c6f29db840f"
LEAF_HASH = "4141fc2158f937ffb0d8d132f4ba8b0d8bd7be115e1adf0e19346ccaa420cfee"
BEFORE = "d201f9612013aadd078a5748831a963e1e7c1ea25f94d653fbfa69cf98ddacb3"
AFTER = "0251a69433a9973a4333bcf7e86e0d81d286fe4b57636e2f0aecc9f8bc56f856"
ROW = "019514a2-7c00-7000-8000-000000000412"
VKEY = "rebuild-record/brindlewick+0bf89629+AepKbGPinFIKvvVQexMuxfmVR3auvr57kkIe6mkURtIs"
CHECKPOINT = {"size": 3, "root": ROOT, "signed_at": "2026-03-02T20:05:00.120000Z", "note": NOTE}
LEAF = {"index": 1, "table": "kits", "row": ROW, "leaf_hash": LEAF_HASH}
KEY = {"number": 1, "vkey": VKEY, "change": None, "added_at": "2026-03-02T13:00:00.000000Z"}


def _whole(minimum: int = 0, maximum: int = BIGGEST, **more: Any) -> Whole:
    return Whole(required=False, min_value=minimum, max_value=maximum, **more)


class CheckpointsQuery(Body):
    size = _whole(help_text="Only the checkpoint of exactly this size.")
    covering = _whole(help_text="Only the first checkpoint that contains the leaf at this index.")
    cursor = serializers.CharField(required=False, max_length=1000, help_text="`next` of the page before.")
    limit = _whole(1, 200, default=50)


class InclusionQuery(Body):
    """Either `index`, or `table` and `row`."""

    table = Choice(choices=LOGGED_TABLES, required=False, help_text="Table of the row.")
    row = Identifier(required=False, help_text="Id of the row: of the entry, the kit, the release ...")
    index = _whole(help_text="Index of the leaf, instead of table and row.")
    size = _whole(1, help_text="Size of the tree; the latest checkpoint's if left out.")


class ConsistencyQuery(Body):
    first = Whole(min_value=0, max_value=BIGGEST, help_text="Size of the older checkpoint: yours.")
    second = _whole(help_text="Size of the newer one; the latest checkpoint's if left out.")


class LeavesQuery(Body):
    limit = _whole(1, MOST_LEAVES, default=200, help_text="How many leaves.")
    content = serializers.BooleanField(
        required=False, default=False, help_text="Whether to answer what each hash is over."
    )

    def get_fields(self) -> dict[str, Any]:
        """`from` is a Python keyword, so it cannot be written as the others are."""
        return {"from": _whole(default=0, help_text="Index of the first leaf."), **super().get_fields()}


class CheckpointSchema(serializers.Serializer[Any]):
    size = serializers.IntegerField(help_text="How many leaves the log had.")
    root = serializers.CharField(help_text="Root of the Merkle tree, hex.")  # type: ignore[assignment] # shadows no field
    signed_at = serializers.DateTimeField()
    note = serializers.CharField(help_text="The C2SP signed note: what counts. The other members are its reading.")


class LeafSchema(serializers.Serializer[Any]):
    """A row's place."""

    index = serializers.IntegerField()
    table = serializers.CharField(allow_null=True, help_text="Null for a token narrowed to a part of the record.")
    row = serializers.UUIDField(allow_null=True)
    leaf_hash = serializers.CharField(help_text="SHA-256(00 || content), hex.")


class LeafWithContentSchema(LeafSchema):
    content = serializers.CharField(
        required=False, allow_null=True, help_text="Canonical JSON of the row as it stands; null: the row is gone."
    )


class LeavesSchema(serializers.Serializer[Any]):
    items = LeafWithContentSchema(many=True)
    next = serializers.IntegerField(allow_null=True, help_text="`from` of the next page; null at the end.")


class InclusionSchema(LeafSchema):
    size = Whole()
    proof = serializers.ListField(
        child=serializers.CharField(), help_text="Siblings from the leaf upwards, hex (RFC 9162, 2.1.3)."
    )
    checkpoint = serializers.CharField(allow_null=True, help_text="The signed note of that size, if there is one.")


class ConsistencySchema(serializers.Serializer[Any]):
    first = serializers.IntegerField()
    second = serializers.IntegerField()
    proof = serializers.ListField(child=serializers.CharField(), help_text="Hashes, hex (RFC 9162, 2.1.4).")
    checkpoint = serializers.CharField(allow_null=True, help_text="The signed note of `second`, if there is one.")


class LogKeySchema(serializers.Serializer[Any]):
    number = serializers.IntegerField()
    vkey = serializers.CharField(help_text="C2SP verifier key.")
    change = serializers.CharField(
        allow_null=True, help_text="Signed note by which the key before handed over; null for the first."
    )
    added_at = serializers.DateTimeField()


class LogKeysSchema(serializers.Serializer[Any]):
    origin = serializers.CharField(help_text="The log's name, first line of every checkpoint.")
    vkey = serializers.CharField(help_text="The key that signs now.")
    keys = LogKeySchema(many=True)


def parameters_of(query: type[Body]) -> list[OpenApiParameter]:
    """The query string's parameters as the schema shows them."""
    return [
        OpenApiParameter(
            name, _type_of(field), required=field.required, description=str(field.help_text or ""), enum=_values(field)
        )
        for name, field in query().get_fields().items()
    ]


def _type_of(field: Any) -> OpenApiTypes:
    if isinstance(field, serializers.IntegerField):
        return OpenApiTypes.INT
    if isinstance(field, serializers.BooleanField):
        return OpenApiTypes.BOOL
    return OpenApiTypes.UUID if isinstance(field, serializers.UUIDField) else OpenApiTypes.STR


def _values(field: Any) -> list[str] | None:
    return list(field.choices) if isinstance(field, serializers.ChoiceField) else None
