"""What is sent and answered about people, their qualifications, phones and tokens."""

from typing import Any

from rest_framework import serializers

from shops.api.bodies import Body
from shops.api.fields import Choice, Identifier, Instant, Text
from shops.api.pages import PageQuery
from shops.api.registry_schemas import VERSION_HELP
from shops.domain.access import Role
from shops.domain.qualification import Scope

_ROLES = [role.value for role in Role]
_SCOPES = [scope.value for scope in Scope]
_MOST_IDS = 200


STATEMENT_HELP = (
    "The same as somebody signed it: compact JWS, typ `rebuild-registry+jws`, by an enrolled key, over `fact` (the "
    "table), `id` and each member. Kept in the log with the fact."
)


class TechnicianChange(Body):
    shop = Identifier(required=False, allow_null=True, help_text="Null: works for all shops.")
    display_name = Text(max_length=100)


class NewTechnician(TechnicianChange):
    id = Identifier()
    initials = Text(max_length=8, help_text="How the record names the person; unique in the company.")


class TechnicianQuery(PageQuery):
    shop = Identifier(required=False)


class TechnicianDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    shop = serializers.UUIDField(allow_null=True)
    initials = serializers.CharField()
    display_name = serializers.CharField()
    version = serializers.IntegerField(help_text=VERSION_HELP)


class NewQualification(Body):
    id = Identifier()
    scopes = serializers.ListField(child=Choice(_SCOPES), allow_empty=False, max_length=len(_SCOPES))
    valid_from = Instant()
    valid_to = Instant(required=False, allow_null=True, help_text="Null: until it is withdrawn.")
    evidence = Text(max_length=500, help_text="The record that shows it: training, test, certificate.")
    statement = Text(required=False, max_length=8000, help_text=STATEMENT_HELP)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        valid_to = attrs.get("valid_to")
        if valid_to is not None and valid_to <= attrs["valid_from"]:
            raise serializers.ValidationError({"valid_to": "This is not after valid_from."})
        return attrs


class QualificationQuery(PageQuery):
    at = Instant(required=False, help_text="Only what was in force at this moment.")


class QualificationDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    technician = serializers.UUIDField()
    scopes = serializers.ListField(child=serializers.ChoiceField(_SCOPES))
    valid_from = serializers.DateTimeField()
    valid_to = serializers.DateTimeField(allow_null=True)
    evidence = serializers.CharField()
    recorded_at = serializers.DateTimeField()
    recorded_by = serializers.CharField()
    withdrawn_from = serializers.DateTimeField(allow_null=True)
    withdrawal_reason = serializers.CharField(allow_null=True)


class NewWithdrawal(Body):
    id = Identifier()
    withdrawn_from = Instant()
    reason = Text(max_length=500)
    statement = Text(required=False, max_length=8000, help_text=STATEMENT_HELP)


class NewEnrolmentCode(Body):
    id = Identifier()
    technician = Identifier()
    expires_at = Instant(help_text="At most 72 hours from now.")


class EnrolmentCodeDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    technician = serializers.UUIDField()
    issued_at = serializers.DateTimeField()
    expires_at = serializers.DateTimeField()
    issued_by = serializers.CharField()
    used_at = serializers.DateTimeField(allow_null=True)


class IssuedCodeDocument(EnrolmentCodeDocument):
    code = serializers.CharField(allow_null=True, help_text="Shown once; null when it is asked for again.")


class NewDeviceKey(Body):
    id = Identifier()
    code = Text(max_length=40, help_text="As the lead read it out; small letters and dashes do not matter.")
    jwk = serializers.DictField(help_text="The public key: Ed25519 (RFC 8037) or P-256 (RFC 7518).")
    proof = Text(
        max_length=4000,
        help_text="Compact JWS, typ `rebuild-enrolment+jws`, kid the key's RFC 7638 thumbprint, signed by the "
        "key itself over the code and device_name as sent here.",
    )
    device_name = Text(max_length=100)


class DeviceKeyQuery(PageQuery):
    technician = Identifier(required=False)


class DeviceKeyDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    thumbprint = serializers.CharField()
    technician = serializers.UUIDField()
    algorithm = serializers.CharField()
    jwk = serializers.DictField()
    device_name = serializers.CharField()
    enrolled_at = serializers.DateTimeField()
    revoked_from = serializers.DateTimeField(allow_null=True)
    revocation_reason = serializers.CharField(allow_null=True)


class EnrolledKeyDocument(DeviceKeyDocument):
    token = serializers.CharField(help_text="The phone's access token, shown once.")
    token_expires_at = serializers.DateTimeField()


class NewKeyRevocation(Body):
    id = Identifier()
    revoked_from = Instant(help_text="From then on nothing that the key signs earns credit.")
    reason = Text(max_length=500)
    statement = Text(required=False, max_length=8000, help_text=STATEMENT_HELP)


class NewAccessToken(Body):
    id = Identifier()
    label = Text(max_length=100, help_text="Who or what holds it.")  # type: ignore[assignment] # a field named so
    role = Choice(_ROLES)
    technician = Identifier(required=False, allow_null=True, help_text="The person who holds it, if one does.")
    shops = serializers.ListField(child=Identifier(), required=False, max_length=_MOST_IDS, help_text="Empty: all.")
    carriers = serializers.ListField(child=Identifier(), required=False, max_length=_MOST_IDS, help_text="Empty: all.")
    records_from = Instant(required=False, allow_null=True, help_text="Only records from then on.")
    records_to = Instant(required=False, allow_null=True, help_text="Only records until then.")
    expires_at = Instant(help_text="At most 400 days from now.")


class AccessTokenDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    label = serializers.CharField()  # type: ignore[assignment] # a field named so
    role = serializers.ChoiceField(_ROLES)
    technician = serializers.UUIDField(allow_null=True)
    shops = serializers.ListField(child=serializers.UUIDField(), help_text="Empty: all.")
    carriers = serializers.ListField(child=serializers.UUIDField(), help_text="Empty: all.")
    records_from = serializers.DateTimeField(allow_null=True)
    records_to = serializers.DateTimeField(allow_null=True)
    issued_at = serializers.DateTimeField()
    expires_at = serializers.DateTimeField()
    issued_by = serializers.CharField()
    revoked_at = serializers.DateTimeField(allow_null=True)
    revocation_reason = serializers.CharField(allow_null=True)


class IssuedTokenDocument(AccessTokenDocument):
    token = serializers.CharField(allow_null=True, help_text="Shown once; null when it is asked for again.")


class NewTokenRevocation(Body):
    id = Identifier()
    reason = Text(max_length=500)


class CompanyDocument(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    name = serializers.CharField()
    slug = serializers.CharField()


class MeDocument(serializers.Serializer[Any]):
    token_id = serializers.UUIDField()
    label = serializers.CharField()  # type: ignore[assignment] # a field named so
    role = serializers.ChoiceField(_ROLES)
    technician = serializers.UUIDField(allow_null=True)
    company = CompanyDocument()
    shops = serializers.ListField(child=serializers.UUIDField(), help_text="Empty: all.")
    carriers = serializers.ListField(child=serializers.UUIDField(), help_text="Empty: all.")
    records_from = serializers.DateTimeField(allow_null=True)
    records_to = serializers.DateTimeField(allow_null=True)
    expires_at = serializers.DateTimeField()
