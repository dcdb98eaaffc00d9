"""The SQL that protects rows, as text, so that every app's migrations say it the same way.

1. A tenant's rows are seen and written only inside that company (row-level security, forced, failing closed).
2. An append-only table refuses UPDATE, DELETE and TRUNCATE, whoever asks.
3. A reference stays inside the company: foreign keys are composite over (company_id, id).
4. The application's role gets the rights named here and no others.
5. A new row of an append-only table is queued for the company's log in the same transaction.
"""

from collections.abc import Sequence

APPLICATION_ROLE = "rebuild_app"

CREATE_ROLE = f"""
DO $$ BEGIN
  IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = '{APPLICATION_ROLE}') THEN
    CREATE ROLE {APPLICATION_ROLE} LOGIN NOSUPERUSER NOCREATEDB NOCREATEROLE NOBYPASSRLS NOINHERIT;
  END IF;
EXCEPTION WHEN duplicate_object OR unique_violation THEN NULL;
END $$;
GRANT USAGE ON SCHEMA public TO {APPLICATION_ROLE};
REVOKE CREATE ON SCHEMA public FROM PUBLIC;
"""

REFUSE_CHANGE = """
CREATE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE EXCEPTION 'table % is append-only: % is refused', TG_TABLE_NAME, TG_OP
    USING ERRCODE = 'restrict_violation', HINT = 'Record a new row that says what changed.';
END $$;
"""

ENTERED_COMPANY = """
CREATE FUNCTION entered_company() RETURNS uuid LANGUAGE sql STABLE PARALLEL SAFE AS
$$ SELECT NULLIF(current_setting('rebuild.company', true), '')::uuid $$;
"""


def tenant_key(table: str) -> str:
    """Make (company_id, id) the key, so that an id says nothing about another company's rows."""
    return f"ALTER TABLE {table} DROP CONSTRAINT {table}_pkey, ADD PRIMARY KEY (company_id, id);\n"


def tenant_policy(table: str, company_column: str = "company_id") -> str:
    """Row-level security, forced: no company entered, no rows."""
    return f"""
ALTER TABLE {table} ENABLE ROW LEVEL SECURITY;
ALTER TABLE {table} FORCE ROW LEVEL SECURITY;
CREATE POLICY inside_company ON {table}
  USING ({company_column} = entered_company()) WITH CHECK ({company_column} = entered_company());
"""


def references(table: str, column: str, target: str) -> str:
    """A composite foreign key that cannot leave the company; checked at once."""
    return (
        f"ALTER TABLE {table} ADD CONSTRAINT {table}_{column}_inside_company "
        f"FOREIGN KEY (company_id, {column}) REFERENCES {target} (company_id, id);\n"
    )


def append_only(table: str) -> str:
    """Refuse every change, for every role, also under `session_replication_role = replica`."""
    return f"""
CREATE TRIGGER {table}_refuse_change BEFORE UPDATE OR DELETE ON {table}
  FOR EACH ROW EXECUTE FUNCTION refuse_change();
CREATE TRIGGER {table}_refuse_truncate BEFORE TRUNCATE ON {table}
  FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
ALTER TABLE {table} ENABLE ALWAYS TRIGGER {table}_refuse_change;
ALTER TABLE {table} ENABLE ALWAYS TRIGGER {table}_refuse_truncate;
"""


def logged(table: str) -> str:
    """Queue each new row for the company's log, in the same transaction."""
    return f"""
CREATE TRIGGER {table}_queue_for_log AFTER INSERT ON {table}
  REFERENCING NEW TABLE AS new_rows FOR EACH STATEMENT EXECUTE FUNCTION queue_for_log();
"""


def states_facts(table: str) -> str:
    """A new row changes what past work may count for: raise the company's facts version."""
    return f"""
CREATE TRIGGER {table}_raise_facts_version AFTER INSERT ON {table}
  REFERENCING NEW TABLE AS new_rows FOR EACH STATEMENT EXECUTE FUNCTION raise_facts_version();
"""


def may(table: str, *rights: str, update: Sequence[str] = ()) -> str:
    """Grant the application's role `rights`, and UPDATE on the named columns only."""
    granted = [*rights, *([f"UPDATE ({', '.join(update)})"] if update else [])]
    return f"REVOKE ALL ON {table} FROM PUBLIC; GRANT {', '.join(granted)} ON {table} TO {APPLICATION_ROLE};\n"


def statements(*parts: str) -> str:
    return "\n".join(parts)


def unprotected(table: str) -> str:
    """The way back: what the functions above put on a table, taken off again."""
    triggers = ("refuse_change", "refuse_truncate", "queue_for_log", "raise_facts_version")
    return f"""
DROP POLICY IF EXISTS inside_company ON {table};
ALTER TABLE {table} NO FORCE ROW LEVEL SECURITY;
ALTER TABLE {table} DISABLE ROW LEVEL SECURITY;
{"".join(f"DROP TRIGGER IF EXISTS {table}_{name} ON {table};" for name in triggers)}
REVOKE ALL ON {table} FROM {APPLICATION_ROLE};
"""


def owner_reads(table: str) -> str:
    """Let the owner's own functions find rows before a company is entered (authentication, the worker)."""
    return f"CREATE POLICY owner_reads ON {table} FOR SELECT TO CURRENT_USER USING (true);\n"
