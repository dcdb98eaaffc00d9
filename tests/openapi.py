"""The committed OpenAPI document: `python -m tests.openapi` writes it; a test and CI compare."""

import os
from pathlib import Path

DOCUMENT = Path(__file__).resolve().parent.parent / "docs" / "openapi.yaml"


def generated() -> bytes:
    from config.docs import schema_yaml

    return schema_yaml()


if __name__ == "__main__":
    import django

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    django.setup()
    DOCUMENT.write_bytes(generated())
    print(f"wrote {DOCUMENT}")
