"""What a data base's owner can put beside the tables, or in their way: functions, triggers, rules, other relations."""

from collections.abc import Iterator
from hashlib import sha256
from typing import Any, Final

from django.apps import apps
from django.db import connection

from jobs.domain.record_fault import Fault, FaultCode
from shops.domain.row_protection import APPLICATION_ROLE
from shops.models.tenant_row import InsideCompany

FUNCTIONS: Final = {  # SHA-256 of what stands between the dollar signs in the migrations
    "authenticate": "2ec02251b73400673d4ad40930dec1ad3ce2b3a1a29157508541dfef1de73353",
    "company_ids": "3d5461ef396db3fc19b63acad0abbe5f1bff7f7e0fc6754c386b815139482e63",
    "enter_by_enrolment_code": "960ee0994cc777aec2a2246f2ad4cc615f0fc22e0ee3e783efec49ebca6f8816",
    "entered_company": "12c591a8f0327b0630d5f8c84b67c25440b73ffbc921d6e5156353cc83d7dc75",
    "hold_for_condemned_casting": "650feea574b59f24b7717961f30553688c69248ae2532446b9fb9af1ac5e632a",
    "queue_for_log": "aed0ba44dae8c03df79e2a9687f44172c7fd1b0873e125c6634cd05da0dd43fc",
    "raise_availability_of_units": "221056564032fa706b7d7b23215caed4c50aa53b7f3f054469c55dc0d1cb3a23",
    "raise_facts_version": "79327ca86c633ae6f05c7546b11f3aaefac9dc369700240a82ef71e79aae6b08",
    "refuse_change": "32e56d1f89bd0428e786fcc22455c8b76b0e9f629217edc2c00e996614a654ec",
    "tell_availability": "7203eda8e9a488cb5662fd433e8097e42d45e1e9c584ab51f4973ea1bb203ee7",
}
_OF_FACTS: Final = (
    "calibrations",
    "condemnations",
    "device_forks",
    "device_keys",
    "instrument_returns",
    "instrument_withdrawals",
    "instruments",
    "key_revocations",
    "kit_movements",
    "kits",
    "procedure_revisions",
    "qualification_grants",
    "qualification_withdrawals",
    "recall_decisions",
    "recall_outcomes",
    "release_suspensions",
    "technicians",
    "unit_hold_clearings",
    "unit_holds",
)
_TRIGGERS: Final = {
    **{f"{table}_raise_facts_version": (table, "raise_facts_version") for table in _OF_FACTS},
    "couplings_raise_availability": ("couplings", "raise_availability_of_units"),
    "couplings_hold_condemned": ("couplings", "hold_for_condemned_casting"),
    "units_tell_registration": ("units", "tell_availability"),
    "units_tell_availability": ("units", "tell_availability"),
}
_ELSEWHERE: Final = frozenset({"entry_credits_job_id_inside_company", "releases_verification_id_inside_company"})
"""What another constraint holds: an entry's credit is in the entry's job, and a release's verification in the gate."""
_GATE: Final = "releases_gate"
_BODIES: Final = "SELECT proname, prosrc FROM pg_proc WHERE pronamespace = 'public'::regnamespace"
_TRIGGERS_THERE: Final = """
SELECT t.tgname, c.relname, f.pronamespace = 'public'::regnamespace, f.proname,
  t.tgenabled IN ('O', 'A')
    AND (t.tgqual IS NULL OR t.tgname IN ('units_tell_availability', 'couplings_hold_condemned'))
FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid JOIN pg_proc f ON f.oid = t.tgfoid
WHERE NOT t.tgisinternal AND c.relnamespace = 'public'::regnamespace
"""
_RULES: Final = "SELECT tablename, rulename FROM pg_rules WHERE schemaname = 'public'"
_CONSTRAINTS: Final = """
SELECT conname FROM pg_constraint WHERE connamespace = 'public'::regnamespace AND convalidated
UNION SELECT c.relname FROM pg_index i JOIN pg_class c ON c.oid = i.indexrelid
WHERE c.relnamespace = 'public'::regnamespace AND i.indisvalid AND i.indisunique
"""
_OTHER_RELATIONS: Final = """
SELECT name FROM unnest(%s::text[]) AS name LEFT JOIN pg_class c ON c.oid = to_regclass('public.' || name)
WHERE to_regclass(name) IS DISTINCT FROM c.oid OR c.relkind IS DISTINCT FROM 'r'
  OR EXISTS (SELECT FROM pg_inherits h WHERE h.inhparent = c.oid)
"""
_SETTING: Final = "SELECT 1 WHERE current_setting('session_replication_role') <> 'origin'"
_MEMBER: Final = """
SELECT g.rolname FROM pg_auth_members m JOIN pg_roles g ON g.oid = m.roleid JOIN pg_roles r ON r.oid = m.member
WHERE r.rolname = %s
"""


def schema_faults() -> Iterator[Fault]:
    """Everything of the schema that is not the migrations', or not there any more."""
    yield from _function_faults()
    yield from _trigger_faults()
    for table, rule in _rows(_RULES, []):
        yield _fault(table, f"rule {rule} is none of the migrations'")
    tables, constraints = _expected()
    there = {row[0] for row in _rows(_CONSTRAINTS, [])}
    for table, constraint in constraints:
        if constraint not in there:
            yield _fault(table, f"constraint {constraint} is gone, or holds for new rows alone")
    for (table,) in _rows(_OTHER_RELATIONS, [tables]):
        yield _fault(table, "its name means another relation than the table, or the table has heirs")
    if _rows(_SETTING, []):
        yield _fault("", "session_replication_role keeps triggers from firing")
    for (role,) in _rows(_MEMBER, [APPLICATION_ROLE]):
        yield _fault("", f"{APPLICATION_ROLE} may take on the role {role}")


def _function_faults() -> Iterator[Fault]:
    there = [(name, sha256(body.encode()).hexdigest()) for name, body in _rows(_BODIES, [])]
    for name in sorted({name for name, _ in there} | FUNCTIONS.keys()):
        if [digest for one, digest in there if one == name] != [FUNCTIONS.get(name)]:
            yield _fault("", f"function {name} is not the one of the migrations")


def _trigger_faults() -> Iterator[Fault]:
    """Those that protect a table are asked for by name elsewhere; here, the others, and what is none of ours."""
    found = set()
    for name, table, is_ours, function, fires in _rows(_TRIGGERS_THERE, []):
        wanted = _TRIGGERS.get(name)
        if not is_ours or function not in FUNCTIONS or (wanted is None and not name.startswith(f"{table}_")):
            yield _fault(table, f"trigger {name} is none of the migrations'")
        elif wanted == (table, function) and fires:
            found.add(name)
    for name, (table, _) in _TRIGGERS.items():
        if name not in found:
            yield _fault(table, f"trigger {name} is gone or switched off")


def _expected() -> tuple[list[str], list[tuple[str, str]]]:
    """The tables of the record, and the constraints that hold them together, each with its table."""
    models = [model for app in ("shops", "inspections", "jobs") for model in apps.get_app_config(app).get_models()]
    tables, constraints = list[str](), [("releases", _GATE)]
    for options in (model._meta for model in models):  # noqa: SLF001 (Django documents it: the Model _meta API)
        fields = [field for field in options.concrete_fields if isinstance(field, InsideCompany)]
        named = [f"{options.db_table}_{field.column}_inside_company" for field in fields]
        named += [str(one.name) for one in options.constraints]
        constraints += [(options.db_table, name) for name in named if name not in _ELSEWHERE]
        tables.append(options.db_table)
    return tables, constraints


def _fault(table: str, message: str) -> Fault:
    return Fault(FaultCode.TRIGGER_MISSING, table, None, message)


def _rows(sql: str, parameters: list[Any]) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(sql, parameters)
        return list(cursor.fetchall())
