"""Roles, row-level security, append-only triggers and rights of the tables of who and what."""

from django.db import migrations

from shops.domain.row_protection import (
    CREATE_ROLE,
    ENTERED_COMPANY,
    REFUSE_CHANGE,
    append_only,
    may,
    owner_reads,
    references,
    statements,
    states_facts,
    tenant_key,
    tenant_policy,
    unprotected,
)

APPEND_ONLY = (
    "qualification_grants",
    "qualification_withdrawals",
    "enrolment_codes",
    "device_keys",
    "key_revocations",
    "access_tokens",
    "access_revocations",
    "access_log",
)
CHANGING = {
    "shops": ("name", "time_zone", "length_unit", "version"),
    "carriers": ("name", "version"),
    "technicians": ("shop_id", "display_name", "version"),
    "units": ("carrier_id", "number", "vin", "vin_check_digit_ok", "version", "availability_version"),
    "top_plates": ("version",),
    "couplings": ("unit_id", "top_plate_id", "version"),
}
FACTS = ("technicians", "qualification_grants", "qualification_withdrawals", "device_keys", "key_revocations")
REFERENCES = (
    ("technicians", "shop_id", "shops"),
    ("qualification_grants", "technician_id", "technicians"),
    ("qualification_withdrawals", "grant_id", "qualification_grants"),
    ("enrolment_codes", "technician_id", "technicians"),
    ("device_keys", "technician_id", "technicians"),
    ("device_keys", "enrolment_code_id", "enrolment_codes"),
    ("key_revocations", "key_id", "device_keys"),
    ("units", "carrier_id", "carriers"),
    ("couplings", "unit_id", "units"),
    ("couplings", "top_plate_id", "top_plates"),
    ("access_tokens", "technician_id", "technicians"),
    ("access_revocations", "token_id", "access_tokens"),
    ("access_log", "token_id", "access_tokens"),
)

RAISE_FACTS_VERSION = """
CREATE FUNCTION raise_facts_version() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER
SET search_path = public AS $$
BEGIN
  UPDATE companies SET facts_version = facts_version + 1
    WHERE id IN (SELECT DISTINCT company_id FROM new_rows);
  RETURN NULL;
END $$;
"""

# Finds a token by its hash and enters its company for this transaction. No row: unknown, revoked or expired.
AUTHENTICATE = """
CREATE FUNCTION authenticate(presented bytea, at timestamptz)
RETURNS TABLE (id uuid, company uuid, label text, role text, technician uuid, shops uuid[], carriers uuid[],
               records_from timestamptz, records_to timestamptz, facts_version bigint)
LANGUAGE plpgsql SECURITY DEFINER SET search_path = public AS $$
BEGIN
  SELECT t.id, t.company_id, t.label, t.role, t.technician_id, t.shops, t.carriers, t.records_from, t.records_to,
         c.facts_version
    INTO id, company, label, role, technician, shops, carriers, records_from, records_to, facts_version
    FROM access_tokens t JOIN companies c ON c.id = t.company_id
    WHERE t.token_hash = presented AND t.expires_at > at
      AND NOT EXISTS (SELECT FROM access_revocations r
                      WHERE r.company_id = t.company_id AND r.token_id = t.id AND r.revoked_at <= at);
  PERFORM set_config('rebuild.company', COALESCE(company::text, ''), true);
  IF company IS NOT NULL THEN RETURN NEXT; END IF;
END $$;

CREATE FUNCTION enter_by_enrolment_code(presented bytea) RETURNS uuid
LANGUAGE plpgsql SECURITY DEFINER SET search_path = public AS $$
DECLARE found uuid;
BEGIN
  SELECT company_id INTO found FROM enrolment_codes WHERE code_hash = presented;
  PERFORM set_config('rebuild.company', COALESCE(found::text, ''), true);
  RETURN found;
END $$;

CREATE FUNCTION company_ids() RETURNS SETOF uuid
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public AS $$ SELECT id FROM companies ORDER BY id $$;
"""
OWNER_FUNCTIONS = ("authenticate(bytea, timestamptz)", "enter_by_enrolment_code(bytea)", "company_ids()")
TENANT_TABLES = (*APPEND_ONLY, *CHANGING)

FORWARD = statements(
    "SET LOCAL lock_timeout = '5s';",
    CREATE_ROLE,
    REFUSE_CHANGE,
    ENTERED_COMPANY,
    RAISE_FACTS_VERSION,
    tenant_policy("companies", "id"),
    owner_reads("companies"),
    may("companies", "SELECT", "INSERT"),
    *(tenant_key(table) for table in TENANT_TABLES),
    *(tenant_policy(table) for table in TENANT_TABLES),
    *(append_only(table) + may(table, "SELECT", "INSERT") for table in APPEND_ONLY),
    *(may(table, "SELECT", "INSERT", update=columns) for table, columns in CHANGING.items()),
    *(states_facts(table) for table in FACTS),
    *(references(*reference) for reference in REFERENCES),
    *(owner_reads(table) for table in ("access_tokens", "access_revocations", "enrolment_codes")),
    AUTHENTICATE,
    *(
        f"REVOKE ALL ON FUNCTION {name} FROM PUBLIC; GRANT EXECUTE ON FUNCTION {name} TO rebuild_app;"
        for name in OWNER_FUNCTIONS
    ),
)
BACKWARD = statements(
    *(f"DROP FUNCTION {name};" for name in OWNER_FUNCTIONS),
    *(
        f"DROP POLICY owner_reads ON {table};"
        for table in ("companies", "access_tokens", "access_revocations", "enrolment_codes")
    ),
    *(f"ALTER TABLE {table} DROP CONSTRAINT {table}_{column}_inside_company;" for table, column, _ in REFERENCES),
    *(unprotected(table) for table in (*TENANT_TABLES, "companies")),
    *(f"ALTER TABLE {table} DROP CONSTRAINT {table}_pkey, ADD PRIMARY KEY (id);" for table in TENANT_TABLES),
    "DROP FUNCTION raise_facts_version(); DROP FUNCTION entered_company(); DROP FUNCTION refuse_change();",
)


class Migration(migrations.Migration):
    dependencies = [("shops", "0001_tables")]
    operations = [migrations.RunSQL(FORWARD, BACKWARD)]
