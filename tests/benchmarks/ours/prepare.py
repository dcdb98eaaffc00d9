"""Make a company with its shop, people, keys, instruments and procedure, or more units with open jobs in it.

    python -m tests.benchmarks.ours.prepare company CLIENTS
    python -m tests.benchmarks.ours.prepare jobs COMPANY COUNT

Prints what the phones need as JSON, private keys included: they are made here and worth nothing elsewhere.
"""

import json
import os
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from shops.domain.access import Grant, Role
from shops.domain.jwk import read_public_jwk
from tests.benchmarks.work import INSTRUMENTS, KIT_LINES, kit_of

SCOPES = ["strip", "rebuild", "measure", "adjust"]
NOW = datetime.now(UTC)
LONG_AGO = NOW - timedelta(days=700)
PROCEDURE = Path(__file__).resolve().parents[3] / "jobs" / "procedures" / "pr-11-rev-4.yaml"


def grant_of(company: UUID) -> Grant:
    return Grant(company, company, "the benchmark", Role.ADMINISTRATOR)


def make_company(clients: int) -> dict[str, Any]:
    """One company; for each client two people, each with a phone and its key."""
    from jobs.services.publish_procedure import publish_procedure
    from shops.models.company import Company
    from shops.models.shop import Carrier, Shop
    from shops.queries.access import enter_company

    company = uuid4()
    enter_company(company)
    Company.objects.create(id=company, name="Brindlewick Coupling Rebuild", slug="brindlewick", created_at=LONG_AGO)
    shop = Shop.objects.create(id=uuid4(), company_id=company, code="A", name="Ashlock", time_zone="America/Chicago")
    Carrier.objects.create(id=uuid4(), company_id=company, name="Tarn Valley Haulage")
    make_instruments(company, shop)
    text = PROCEDURE.read_text().replace("2026-01-15T00:00:00-06:00", LONG_AGO.isoformat(timespec="seconds"))
    published = publish_procedure(grant=grant_of(company), text=text, now=NOW)
    pairs = [(make_phone(company, shop, at), make_phone(company, shop, at, verifies=True)) for at in range(clients)]
    tokens = [make_token(company, technician["technician"]) for technician, _ in pairs]
    return {"company": str(company), "procedure": published.digest, "phones": pairs, "tokens": tokens}


def make_instruments(company: UUID, shop: Any) -> None:
    from inspections.models.instrument import Calibration, Instrument

    for code, kind, unit, low, high in INSTRUMENTS:
        instrument = Instrument.objects.create(
            id=uuid4(), company_id=company, shop=shop, code=code, kind=kind, unit=unit,
            range_low=low, range_high=high, resolution="0.001", uncertainty="0.0102",
        )  # fmt: skip
        Calibration.objects.create(
            id=uuid4(), company_id=company, instrument=instrument, performed_at=LONG_AGO,
            due_at=NOW + timedelta(days=365), result="in_tolerance", certificate="C-1",
            recorded_at=LONG_AGO, recorded_by="the benchmark",
        )  # fmt: skip


def make_phone(company: UUID, shop: Any, number: int, *, verifies: bool = False) -> dict[str, str]:
    from shops.models.device_key import DeviceKey, EnrolmentCode
    from shops.models.technician import QualificationGrant, Technician

    initials = f"{'OK' if verifies else 'RM'}{number}"
    person = Technician.objects.create(
        id=uuid4(), company_id=company, shop=shop, initials=initials, display_name=initials
    )
    QualificationGrant.objects.create(
        id=uuid4(), company_id=company, technician=person, scopes=["verify", "measure"] if verifies else SCOPES,
        valid_from=LONG_AGO, evidence="Q-1", recorded_at=LONG_AGO, recorded_by="the benchmark",
    )  # fmt: skip
    code = EnrolmentCode.objects.create(
        id=uuid4(), company_id=company, technician=person, code_hash=uuid4().bytes,
        issued_at=LONG_AGO, expires_at=NOW, issued_by="the benchmark",
    )  # fmt: skip
    private = Ed25519PrivateKey.generate()
    jwk = public_jwk(private)
    thumbprint = read_public_jwk(jwk).thumbprint
    DeviceKey.objects.create(
        id=uuid4(), company_id=company, technician=person, enrolment_code=code, thumbprint=thumbprint,
        algorithm="Ed25519", jwk=jwk, proof="", device_name=initials, enrolled_at=LONG_AGO,
    )  # fmt: skip
    return {"technician": str(person.id), "kid": thumbprint, "private": private.private_bytes_raw().hex()}


def public_jwk(private: Ed25519PrivateKey) -> dict[str, str]:
    from base64 import urlsafe_b64encode

    x = urlsafe_b64encode(private.public_key().public_bytes_raw()).rstrip(b"=").decode()
    return {"kty": "OKP", "crv": "Ed25519", "x": x}


def make_token(company: UUID, technician: str) -> str:
    from shops.models.access import AccessToken
    from shops.queries.access import token_hash

    token = uuid4().hex + uuid4().hex
    AccessToken.objects.create(
        id=uuid4(), company_id=company, token_hash=token_hash(token), label="phone", role="technician",
        technician_id=technician, issued_at=LONG_AGO, expires_at=NOW + timedelta(days=1), issued_by="the benchmark",
    )  # fmt: skip
    return token


def make_jobs(company: UUID, count: int) -> list[str]:
    """Units with a coupling and an open job each; the jobs' ids."""
    from jobs.services.open_job import JobRequest, open_job
    from shops.models.shop import Carrier, Shop
    from shops.models.unit import Coupling, TopPlate, Unit
    from shops.queries.access import enter_company

    enter_company(company)
    shop, carrier = Shop.objects.get(), Carrier.objects.get()
    names = [uuid4() for _ in range(count)]
    inside = {"company_id": company}
    Unit.objects.bulk_create(
        Unit(id=name, carrier=carrier, number=name.hex, kind="tractor", **inside) for name in names
    )
    TopPlate.objects.bulk_create(TopPlate(id=name, casting_serial=name.hex, **inside) for name in names)
    Coupling.objects.bulk_create(
        Coupling(id=name, model="BW-T2", unit_id=name, top_plate_id=name, **inside) for name in names
    )
    make_kits(company, names, shop)
    for name in names:
        request = JobRequest(id=name, shop=shop.id, unit=name, procedure="PR-11")
        open_job(grant=grant_of(company), request=request, now=NOW)
    return [str(name) for name in names]


def make_kits(company: UUID, jobs: list[UUID], shop: Any) -> None:
    """A complete kit for each job, issued to it."""
    from jobs.models.kit import Kit, KitMovement

    by = {"company_id": company, "recorded_by": "the benchmark"}
    Kit.objects.bulk_create(
        Kit(id=job, serial=kit_of(str(job)), lot="LT-26-014", coupling="BW-T2", lines=KIT_LINES, received_at=NOW, **by)
        for job in jobs
    )
    KitMovement.objects.bulk_create(
        KitMovement(id=job, kit_id=job, kind="issued", shop=shop, job=job, moved_at=NOW, **by) for job in jobs
    )


def main() -> None:
    os.environ["DJANGO_SETTINGS_MODULE"] = "config.settings"
    import django
    from django.db import transaction

    django.setup()
    with transaction.atomic():
        if sys.argv[1] == "company":
            print(json.dumps(make_company(int(sys.argv[2]))))
        else:
            print(json.dumps(make_jobs(UUID(sys.argv[2]), int(sys.argv[3]))))


if __name__ == "__main__":
    main()
