"""What docs/bundle-format.md tells a stranger holds: its recipe runs, its members, tables and limits are the format's."""

import json
import re
import subprocess
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest

from jobs.domain import bundle, bundle_selection
from jobs.queries.bundle_rows import WHERE
from tests.bundles.museum import GOOD, good

DOCUMENT = (Path(__file__).resolve().parents[2] / "docs" / "bundle-format.md").read_text()
RECIPE = re.search(r"## By hand.*?```sh\n(.*?)```", DOCUMENT, re.DOTALL)


def run_recipe(folder: Path, path: Path) -> subprocess.CompletedProcess[str]:
    assert RECIPE is not None
    command = ["sh", "-e", "-c", RECIPE[1]]
    environment = {"BUNDLE": str(path), "PATH": "/usr/local/bin:/usr/bin:/bin"}
    return subprocess.run(command, cwd=folder, env=environment, capture_output=True, text=True, check=False)


def test_openssl_verifies_an_entry_by_the_recipe(tmp_path: Path) -> None:
    done = run_recipe(tmp_path, GOOD)
    assert done.returncode == 0, done.stderr
    assert "Signature Verified Successfully" in done.stdout
    named, said = re.search(r"(\S+) is the key's name; the header says (\S+)", done.stdout).groups()  # type: ignore[union-attr]
    assert named == said
    first, second = good().entries[0][1], good().entries[1][1]
    digests = re.findall(r"^([0-9a-f]{64}) \*", done.stdout, re.MULTILINE)
    assert digests == [first.previous.hex(), first.digest.hex(), second.previous.hex()]


def test_openssl_refuses_an_entry_that_was_changed(tmp_path: Path) -> None:
    members = bundle.bundle_members(good())
    token = members["entries/000001.jws"]
    at = token.index(b".") + 30
    changed = token[:at] + (b"A" if token[at : at + 1] != b"A" else b"B") + token[at + 1 :]
    (tmp_path / "changed.zip").write_bytes(bundle.write_zip({**members, "entries/000001.jws": changed}))
    done = run_recipe(tmp_path, tmp_path / "changed.zip")
    assert done.returncode != 0
    assert "Signature Verified Successfully" not in done.stdout


def test_every_table_of_a_bundle_is_told() -> None:
    told = DOCUMENT.split("Tables: ")[1].split(". Of people")[0]
    assert set(re.findall(r"`(\w+)`", told)) == set(WHERE)


def test_the_format_and_its_limits_are_told() -> None:
    assert f'"format": "{bundle.FORMAT}", "version": {bundle.VERSION}' in DOCUMENT
    assert (bundle.FILE_LIMIT, bundle.MEMBER_LIMIT, bundle.TOTAL_LIMIT) == (64 << 20, 64 << 20, 256 << 20)
    assert "64 MiB the file and\neach member, 256 MiB all members together, 20,000 members" in DOCUMENT
    assert bundle.MEMBERS_LIMIT == 20_000
    assert (bundle.EVIDENCE_LIMIT, bundle_selection.EVIDENCE_TOGETHER) == (40 << 20, 512 << 20)
    assert (
        "take 40 MiB at most, in the order of the entries (of several bundles in one file 512 MiB together" in DOCUMENT
    )


def test_several_bundles_their_method_and_their_limits_are_told() -> None:
    assert f'"format": "{bundle_selection.FORMAT}", "version": {bundle_selection.VERSION}' in DOCUMENT
    assert f'"method": "{bundle_selection.METHOD}"' in DOCUMENT.replace("\n    ", " ")
    assert (bundle_selection.FILE_LIMIT, bundle_selection.MEMBERS_LIMIT) == (1 << 30, 1_000)
    assert bundle_selection.UNPACKED_LIMIT == 4 << 30
    assert "1 GiB the file, 1,000 members, 64 MiB each, and 4 GiB all that the bundles in it unpack to" in DOCUMENT
    assert bundle_selection.SAMPLE_LIMIT == 200


@pytest.mark.parametrize("name", [*bundle.REQUIRED, bundle.CHECKPOINT, bundle.RECORD])
def test_every_member_is_told(name: str) -> None:
    assert f"| `{name}` |" in DOCUMENT


def test_claims_and_leaves_have_the_members_that_are_told() -> None:
    members = bundle.bundle_members(good())
    claims: dict[str, Any] = json.loads(members["claims.json"])
    assert all(f'"{name}"' in DOCUMENT for name in [*claims, *claims["readings"][0], *claims["availability"]])
    assert all(f'"{name}"' in DOCUMENT for name in json.loads(members["log/leaves.json"])[0])
    assert sha256(members["opening.json"]).digest() == good().entries[0][1].previous
