"""Row-level security, append-only triggers, the gate's foreign key, the log's queue and rights of the record."""

from django.db import migrations

from shops.domain.row_protection import (
    append_only,
    logged,
    may,
    references,
    statements,
    states_facts,
    tenant_key,
    tenant_policy,
    unprotected,
)

APPEND_ONLY = (
    "procedure_revisions",
    "claims",
    "claim_ends",
    "entries",
    "verification_outcomes",
    "releases",
    "follow_up_completions",
    "release_suspensions",
    "suspension_liftings",
    "release_revocations",
    "acknowledgements",
    "condemnations",
    "unit_holds",
    "unit_hold_clearings",
    "kits",
    "kit_movements",
    "checkpoints",
)
LOG_TABLES = ("log_leaves", "log_nodes")
LOGGED = (
    "qualification_grants",
    "qualification_withdrawals",
    "enrolment_codes",
    "device_keys",
    "key_revocations",
    "access_tokens",
    "access_revocations",
    "access_log",
    "calibrations",
    "instrument_withdrawals",
    "instrument_returns",
    "check_outs",
    "check_ins",
    *(table for table in APPEND_ONLY if table != "checkpoints"),
)
FACTS = (
    "procedure_revisions",
    "kits",
    "kit_movements",
    "release_suspensions",
    "unit_holds",
    "unit_hold_clearings",
    "condemnations",
)
REFERENCES = (
    ("jobs", "shop_id", "shops"),
    ("jobs", "unit_id", "units"),
    ("jobs", "coupling_id", "couplings"),
    ("jobs", "top_plate_id", "top_plates"),
    ("jobs", "procedure_id", "procedure_revisions"),
    ("claims", "job_id", "jobs"),
    ("claim_ends", "claim_id", "claims"),
    ("entries", "job_id", "jobs"),
    ("entries", "shop_id", "shops"),
    ("entries", "unit_id", "units"),
    ("entries", "technician_id", "technicians"),
    ("verification_outcomes", "job_id", "jobs"),
    ("verification_outcomes", "entry_id", "entries"),
    ("verification_outcomes", "adjustment", "entries"),
    ("releases", "job_id", "jobs"),
    ("releases", "unit_id", "units"),
    ("releases", "entry_id", "entries"),
    ("follow_up_completions", "release_id", "releases"),
    ("follow_up_completions", "job_id", "jobs"),
    ("follow_up_completions", "entry_id", "entries"),
    ("release_suspensions", "release_id", "releases"),
    ("suspension_liftings", "suspension_id", "release_suspensions"),
    ("release_revocations", "release_id", "releases"),
    ("acknowledgements", "unit_id", "units"),
    ("condemnations", "top_plate_id", "top_plates"),
    ("condemnations", "job_id", "jobs"),
    ("condemnations", "entry_id", "entries"),
    ("condemnations", "concurring_entry_id", "entries"),
    ("unit_holds", "unit_id", "units"),
    ("unit_hold_clearings", "hold_id", "unit_holds"),
    ("kit_movements", "kit_id", "kits"),
    ("kit_movements", "shop_id", "shops"),
)
WITH_TENANT_KEY = (*APPEND_ONLY, "jobs")
TENANT_TABLES = (*WITH_TENANT_KEY, *LOG_TABLES, "log_queue", "entry_credits")

QUEUE_FOR_LOG = """
CREATE FUNCTION queue_for_log() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  INSERT INTO log_queue (company_id, table_name, row_id)
    SELECT company_id, TG_TABLE_NAME, id FROM new_rows;
  RETURN NULL;
END $$;
"""
READ_BY = (
    ("jobs", "unit_id, opened_at", "jobs_by_unit"),
    ("release_suspensions", "release_id", "release_suspensions_by_release"),
    ("unit_holds", "unit_id", "unit_holds_by_unit"),
    ("couplings", "unit_id", "couplings_by_unit"),
)
# Whoever moves a coupling or a top plate, over HTTP or not, changes what the units' releases are for.
COUPLING_MOVES = """
CREATE FUNCTION raise_availability_of_units() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  UPDATE units SET availability_version = availability_version + 1
    WHERE company_id = NEW.company_id AND id IN (NEW.unit_id, CASE WHEN TG_OP = 'UPDATE' THEN OLD.unit_id END);
  RETURN NULL;
END $$;
CREATE TRIGGER couplings_raise_availability AFTER INSERT OR UPDATE OF unit_id, top_plate_id ON couplings
  FOR EACH ROW EXECUTE FUNCTION raise_availability_of_units();
"""
GATE = """
ALTER TABLE releases ADD CONSTRAINT releases_gate
  FOREIGN KEY (company_id, job_id, verification_id, verification_passed)
  REFERENCES verification_outcomes (company_id, job_id, id, passed);
"""

# Their company is their job's, or the row's that they stand for; a check of its own each time would only cost.
COMPANY_BY_REFERENCE = ("entries", "entry_credits", "log_queue", "log_leaves", "log_nodes")
DROP_COMPANY_CHECKS = f"""
DO $$ DECLARE found record; BEGIN
  FOR found IN SELECT conname, conrelid::regclass AS relation FROM pg_constraint
    WHERE contype = 'f' AND confrelid = 'companies'::regclass
      AND conrelid::regclass::text IN ({", ".join(f"'{table}'" for table in COMPANY_BY_REFERENCE)})
  LOOP
    EXECUTE format('ALTER TABLE %s DROP CONSTRAINT %I', found.relation, found.conname);
  END LOOP;
END $$;
"""

FORWARD = statements(
    "SET LOCAL lock_timeout = '5s';",
    "SET CONSTRAINTS ALL IMMEDIATE;",
    DROP_COMPANY_CHECKS,
    QUEUE_FOR_LOG,
    *(tenant_key(table) for table in WITH_TENANT_KEY),
    "ALTER TABLE entry_credits DROP CONSTRAINT entry_credits_pkey, ADD PRIMARY KEY (company_id, entry_id);",
    *(tenant_policy(table) for table in TENANT_TABLES),
    *(append_only(table) + may(table, "SELECT", "INSERT") for table in (*APPEND_ONLY, *LOG_TABLES)),
    may(
        "jobs",
        "SELECT",
        "INSERT",
        update=(
            "procedure_id",
            "shop_id",
            "state",
            "head_position",
            "chain_head",
            "version",
            "facts_version",
            "summary",
        ),
    ),
    may("entry_credits", "SELECT", "INSERT", update=("credit", "finding_codes", "findings")),
    may("log_queue", "SELECT", "INSERT", "DELETE"),
    "GRANT USAGE ON SEQUENCE log_queue_id_seq TO rebuild_app;",
    *(references(*reference) for reference in REFERENCES),
    "CREATE INDEX entry_credits_with_findings ON entry_credits (company_id, entry_id) WHERE finding_codes <> '{}';",
    GATE,
    *(f"CREATE INDEX {name} ON {table} (company_id, {columns});" for table, columns, name in READ_BY),
    COUPLING_MOVES,
    *(logged(table) for table in LOGGED),
    *(states_facts(table) for table in FACTS),
)
BACKWARD = statements(
    *(
        f"ALTER TABLE {table} ADD CONSTRAINT {table}_company FOREIGN KEY (company_id) REFERENCES companies (id)"
        " DEFERRABLE INITIALLY DEFERRED;"
        for table in COMPANY_BY_REFERENCE
    ),
    *(f"ALTER TABLE {table} DROP CONSTRAINT {table}_{column}_inside_company;" for table, column, _ in REFERENCES),
    "ALTER TABLE releases DROP CONSTRAINT releases_gate;",
    "DROP INDEX entry_credits_with_findings;",
    *(f"DROP INDEX {name};" for _, _, name in READ_BY),
    "DROP TRIGGER couplings_raise_availability ON couplings; DROP FUNCTION raise_availability_of_units();",
    *(f"DROP TRIGGER IF EXISTS {table}_queue_for_log ON {table};" for table in LOGGED),
    *(unprotected(table) for table in TENANT_TABLES),
    *(f"ALTER TABLE {table} DROP CONSTRAINT {table}_pkey, ADD PRIMARY KEY (id);" for table in WITH_TENANT_KEY),
    "ALTER TABLE entry_credits DROP CONSTRAINT entry_credits_pkey, ADD PRIMARY KEY (entry_id);",
    "DROP FUNCTION queue_for_log();",
)


class Migration(migrations.Migration):
    dependencies = [("jobs", "0001_tables"), ("inspections", "0002_protect_rows"), ("shops", "0002_protect_rows")]
    operations = [migrations.RunSQL(FORWARD, BACKWARD)]
