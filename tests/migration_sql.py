"""The SQL of our migrations, for a linter: `python -m tests.migration_sql FOLDER` writes one file each.

Those of the first release build empty tables, so rules about locks on full ones are not asked of them: they go to
FOLDER/first. Every later migration goes to FOLDER/later and has to keep all the rules.
"""

import os
import sys
from pathlib import Path

APPS = ("shops", "inspections", "jobs")
LAST_OF_FIRST_RELEASE = {"shops": 5, "inspections": 3, "jobs": 20}


def write(folder: Path) -> None:
    from django.db import connection
    from django.db.migrations.executor import MigrationExecutor
    from django.db.migrations.loader import MigrationLoader

    loader = MigrationExecutor(connection).loader
    for app, name in sorted(loader.graph.nodes):
        if app in APPS:
            plan = [(loader.graph.nodes[(app, name)], False)]
            into = folder / ("first" if int(name[:4]) <= LAST_OF_FIRST_RELEASE[app] else "later")
            into.mkdir(parents=True, exist_ok=True)
            lines = MigrationLoader(connection).collect_sql(plan)
            text = "\n".join(line for line in lines if line not in {"BEGIN;", "COMMIT;"})
            (into / f"{app}-{name}.sql").write_text(text + "\n")


if __name__ == "__main__":
    import django

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    os.environ["REBUILD_DATABASE_ROLE"] = "owner"
    django.setup()
    write(Path(sys.argv[1]))
