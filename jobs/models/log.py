from django.db import models

from shops.models.tenant_row import CompanyKey, InsideCompany, TenantRow


class LogQueue(models.Model):
    """Rows of append-only tables that wait for their place in the company's log."""

    id = models.BigAutoField(primary_key=True)
    company = CompanyKey()
    table_name = models.TextField()
    row_id = models.UUIDField()

    class Meta:
        db_table = "log_queue"
        indexes = [models.Index(fields=["company", "id"], name="log_queue_in_order")]


class LogLeaf(models.Model):
    """Append-only: one row's place in the company's log, and the leaf that stands for it."""

    pk = models.CompositePrimaryKey("company_id", "index")
    company = CompanyKey()
    index = models.BigIntegerField()
    table_name = models.TextField()
    row_id = models.UUIDField()
    leaf_hash = models.BinaryField()

    class Meta:
        db_table = "log_leaves"
        constraints = [models.UniqueConstraint(fields=["company", "table_name", "row_id"], name="log_leaves_one_place")]


class LogNode(models.Model):
    """Append-only: the hash of a complete subtree, so that proofs read few rows."""

    pk = models.CompositePrimaryKey("company_id", "level", "index")
    company = CompanyKey()
    level = models.IntegerField()
    index = models.BigIntegerField()
    node_hash = models.BinaryField()

    class Meta:
        db_table = "log_nodes"


class Checkpoint(TenantRow):
    """Append-only: a signed statement of the log's size and root."""

    size = models.BigIntegerField()
    root = models.BinaryField()
    note = models.TextField()
    signed_at = models.DateTimeField()

    class Meta:
        db_table = "checkpoints"
        constraints = [models.UniqueConstraint(fields=["company", "size"], name="checkpoints_one_size")]


class WitnessKey(TenantRow):
    """Append-only: a key whose cosignatures of the company's checkpoints are kept. Who trusts it is the auditor's."""

    vkey = models.TextField()  # C2SP verifier key of type 04
    recorded_at = models.DateTimeField()
    recorded_by = models.TextField()

    class Meta:
        db_table = "witness_keys"
        constraints = [models.UniqueConstraint(fields=["company", "vkey"], name="witness_keys_one_key")]


class Cosignature(TenantRow):
    """Append-only: a witness's signature line under a checkpoint."""

    checkpoint = InsideCompany(Checkpoint)
    witness = InsideCompany(WitnessKey)
    line = models.TextField()
    cosigned_at = models.DateTimeField()  # the witness's second
    received_at = models.DateTimeField()

    class Meta:
        db_table = "cosignatures"
        constraints = [
            models.UniqueConstraint(fields=["company", "checkpoint", "witness"], name="cosignatures_one_a_witness")
        ]
