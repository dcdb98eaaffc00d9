"""Where evidence files are kept: a local folder by default, a bucket that speaks S3 by setting."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

BUCKET: Final = "storages.backends.s3.S3Storage"  # of django-storages, the extra `s3`
_OF_THE_BUCKET: Final = {
    "endpoint_url": "REBUILD_EVIDENCE_S3_ENDPOINT",
    "region_name": "REBUILD_EVIDENCE_S3_REGION",
    "access_key": "REBUILD_EVIDENCE_S3_ACCESS_KEY",
    "secret_key": "REBUILD_EVIDENCE_S3_SECRET_KEY",
    "location": "REBUILD_EVIDENCE_S3_PREFIX",
}


def evidence_storage(environment: Mapping[str, str], folder: Path) -> dict[str, Any]:
    """The entry of STORAGES: the bucket of REBUILD_EVIDENCE_S3_BUCKET, else REBUILD_EVIDENCE_FOLDER, else `folder`."""
    bucket = environment.get("REBUILD_EVIDENCE_S3_BUCKET")
    if bucket:
        told = {option: environment[name] for option, name in _OF_THE_BUCKET.items() if environment.get(name)}
        fixed = {"bucket_name": bucket, "default_acl": None, "file_overwrite": True, "querystring_auth": True}
        return {"BACKEND": BUCKET, "OPTIONS": {**fixed, **told}}
    location = environment.get("REBUILD_EVIDENCE_FOLDER") or str(folder)
    return {"BACKEND": "config.durable_folder.DurableFolder", "OPTIONS": {"location": location}}
