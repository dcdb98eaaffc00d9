"""Builds a company of the invented world over HTTP. Doing it again changes nothing."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any, Protocol
from uuid import UUID, uuid4

from jobs.demo.phone import Phone
from jobs.demo.world import CALIBRATED_AT, CompanyData, InstrumentData, PersonData

CALIBRATION_INTERVAL = timedelta(days=365)
TOKEN_LIFE = timedelta(days=30)
CODE_LIFE = timedelta(hours=1)


class Post(Protocol):
    """Posts JSON to a path under /v1 with some token, and answers the document; raises for a refusal."""

    def __call__(self, path: str, body: Mapping[str, Any]) -> dict[str, Any]: ...


def build_company(post: Post, company: CompanyData, *, calibrated_at: datetime = CALIBRATED_AT) -> None:
    """Everything of `company` but its tokens and phones. `post` carries an administrator's token."""
    for shop in company.shops:
        post(
            "shops",
            {
                "id": str(shop.id),
                "code": shop.code,
                "name": shop.name,
                "time_zone": shop.time_zone,
                "length_unit": shop.length_unit,
            },
        )
    for carrier in company.carriers:
        post("carriers", {"id": str(carrier.id), "name": carrier.name})
    for person in company.people:
        _build_person(post, company, person)
    _build_units(post, company)
    for instrument in company.instruments:
        _build_instrument(post, company, instrument, calibrated_at)


def issue_token(
    post: Post,
    company: CompanyData,
    *,
    label: str,
    role: str,
    now: datetime,
    shops: tuple[str, ...] = (),
    carriers: tuple[str, ...] = (),
    technician: UUID | None = None,
) -> str:
    """A new token's text; shops by their codes, carriers by their names, none meaning all."""
    body = {
        "id": str(uuid4()),
        "label": label,
        "role": role,
        "technician": technician and str(technician),
        "shops": [str(company.shop(code).id) for code in shops],
        "carriers": [str(company.carrier(name).id) for name in carriers],
        "expires_at": (now + TOKEN_LIFE).isoformat(),
    }
    return str(post("access_tokens", body)["token"])


def person_token(post: Post, company: CompanyData, person: PersonData, now: datetime) -> str:
    """The token that a person works with, of the person's role and shop."""
    shops = (person.shop,) if person.shop else ()
    return issue_token(
        post, company, label=person.initials, role=person.role, now=now, shops=shops, technician=person.id
    )


def enrol_phone(post: Post, post_openly: Post, person: PersonData, phone: Phone, now: datetime) -> str:
    """Enrol `phone` with a code that `post` issues (a lead or administrator); its token."""
    asked = {
        "id": str(uuid4()),
        "technician": str(person.id),
        "expires_at": (now + CODE_LIFE).isoformat(),
    }
    code = str(post("enrolment_codes", asked)["code"])
    name = f"{person.initials}'s phone"
    body = {
        "id": str(uuid4()),
        "code": code,
        "jwk": dict(phone.jwk.canonical),
        "proof": phone.proof(code, name),
        "device_name": name,
    }
    return str(post_openly("device_keys", body)["token"])


def _build_person(post: Post, company: CompanyData, person: PersonData) -> None:
    post(
        "technicians",
        {
            "id": str(person.id),
            "shop": str(company.shop(person.shop).id) if person.shop else None,
            "initials": person.initials,
            "display_name": person.display_name,
        },
    )
    for place, held in enumerate(person.held):
        grant = {
            "id": str(person.grant_id(place)),
            "scopes": list(held.scopes),
            "valid_from": held.valid_from.isoformat(),
            "valid_to": held.valid_to and held.valid_to.isoformat(),
            "evidence": held.evidence,
        }
        post(f"technicians/{person.id}/qualifications", grant)


def _build_units(post: Post, company: CompanyData) -> None:
    for unit in company.units:
        post(
            "units",
            {
                "id": str(unit.id),
                "carrier": str(company.carrier(unit.carrier).id),
                "number": unit.number,
                "vin": unit.vin,
                "kind": unit.kind,
            },
        )
        post("top_plates", {"id": str(unit.top_plate_id), "casting_serial": unit.casting_serial})
        post(
            "couplings",
            {
                "id": str(unit.coupling_id),
                "model": unit.model,
                "unit": str(unit.id),
                "top_plate": str(unit.top_plate_id),
            },
        )


def _build_instrument(post: Post, company: CompanyData, instrument: InstrumentData, calibrated_at: datetime) -> None:
    post(
        "instruments",
        {
            "id": str(instrument.id),
            "shop": str(company.shop(instrument.shop).id),
            "code": instrument.code,
            "kind": instrument.kind,
            "unit": instrument.unit,
            "range_low": instrument.range_low,
            "range_high": instrument.range_high,
            "resolution": instrument.resolution,
            "uncertainty": instrument.uncertainty,
        },
    )
    right = {"reference": instrument.checked_at, "indicated": instrument.checked_at}
    post(
        f"instruments/{instrument.id}/calibrations",
        {
            "id": str(instrument.calibration_id(calibrated_at)),
            "performed_at": calibrated_at.isoformat(),
            "due_at": (calibrated_at + CALIBRATION_INTERVAL).isoformat(),
            "result": "in_tolerance",
            "as_found": [right],
            "certificate": f"WI-{calibrated_at:%Y-%m-%d}-{instrument.code}",
        },
    )
